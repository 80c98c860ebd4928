//! A year by month.

use std::borrow::Borrow;

use askama::Template;
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::Deserialize;

use super::ink::Ink;
use crate::close_out::chart::{Chart, chart};
use crate::close_out::season::{Counted, Fate, Month, months, year};
use crate::close_out::store::season::{self as store, Named, Reason};
use crate::ground::dates::{Day, MONTHS_SHORT};
use crate::ground::formats::read_whole;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};
use crate::web::forms::Query;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct SeasonQuery {
    year: String,
}

#[derive(Template)]
#[template(path = "close_out/season.html")]
struct SeasonPage {
    shell: Shell,
    year: i64,
    /// The years that may be chosen, the latest first.
    years: Vec<i64>,
    months: [Month; 12],
    whole: Month,
    /// The events that were won, by day.
    won: Vec<Named>,
    /// What was said when quotes were declined.
    reasons: Vec<Reason>,
    ink: Ink,
}

/// One chart with its table.
struct View {
    id: &'static str,
    title: &'static str,
    /// What is counted and from where, in a sentence.
    about: &'static str,
    chart: Option<Chart>,
    /// The chart in words.
    words: String,
    /// What each bar of a month is.
    series: Vec<&'static str>,
    /// The figure at a bar's head, as written.
    heads: Vec<(i64, i64, String)>,
    columns: Vec<&'static str>,
    rows: Vec<(String, Vec<String>)>,
    sum: Vec<String>,
}

impl SeasonPage {
    fn is_empty(&self) -> bool {
        self.years.is_empty()
    }

    fn views(&self) -> Vec<View> {
        vec![self.events(), self.money(), self.lost(), self.stems(), self.quotes()]
    }

    /// Draws and tabulates the months by what is asked of each.
    fn view(
        &self,
        view: View,
        series: &[fn(&Month) -> i64],
        as_money: bool,
        cells: impl Fn(&Month) -> Vec<String>,
    ) -> View {
        let figures: Vec<[i64; 12]> = series.iter().map(|of| self.months.map(|month| of(&month))).collect();
        let chart = chart(&figures);
        let written = |figure: i64| {
            if as_money {
                // Whole units are enough at a bar; the table has the cents.
                let units = Decimal::new(figure, self.ink.0.minor_digits());
                self.ink.0.number(units, 0)
            } else {
                self.ink.0.number(Decimal::from(figure), 0)
            }
        };
        let heads =
            chart.iter().flat_map(|chart| &chart.figures).map(|(x, y, figure)| (*x, *y, written(*figure)));
        // Of equal months the first.
        let best =
            (0..12).rev().max_by_key(|at| figures.iter().map(|row| row[*at]).sum::<i64>()).unwrap_or(0);
        let words = format!(
            "{} in {}, by month: {} in all, most in {}. The table below has every figure.",
            view.title,
            self.year,
            cells(&self.whole).first().cloned().unwrap_or_default(),
            MONTHS_SHORT[best]
        );
        let rows = MONTHS_SHORT.iter().zip(&self.months);
        View {
            heads: heads.collect(),
            chart,
            words,
            rows: rows.map(|(name, month)| ((*name).to_owned(), cells(month))).collect(),
            sum: cells(&self.whole),
            ..view
        }
    }

    fn events(&self) -> View {
        let view = blank(
            "events",
            "Events",
            "By the event's day. Won are those with an accepted quote, and those that were closed.",
            (vec!["Won", "Still open"], vec!["Won", "Still open", "Called off", "Closed out"]),
        );
        self.view(view, &[|month| month.held, |month| month.open], false, |month| {
            [month.held, month.open, month.cancelled, month.closed_out].map(count).to_vec()
        })
    }

    fn money(&self) -> View {
        let view = blank(
            "turnover",
            "Turnover and gross margin",
            "Without tax. Turnover and margin are those of the close-out; before one, those of the accepted quote, however much of it is invoiced. What was called off brings what was invoiced less credits. Events without any cost are left out of the margin.",
            (vec!["Turnover", "Gross margin"], vec!["Turnover", "Gross margin", "Margin of that"]),
        );
        self.view(view, &[|month| month.turnover.minor(), |month| month.margin.minor()], true, |month| {
            let share = crate::close_out::per_million(month.margin, month.margin_of);
            let share = share.map(|share| format!("{} %", self.ink.0.number(Decimal::new(share, 4), 1)));
            vec![
                self.ink.money(month.turnover),
                self.ink.money(month.margin),
                share.unwrap_or_else(|| "–".into()),
            ]
        })
    }

    fn lost(&self) -> View {
        let view = blank(
            "lost",
            "Lost enquiries",
            "By the day of the event that did not come about. The book knows whether a quote had gone out; what was said when a quote was declined stands below.",
            (vec!["After a quote", "Before any quote"], vec!["Lost", "After a quote", "Before any quote"]),
        );
        self.view(view, &[|month| month.lost_quoted, |month| month.lost_unquoted], false, |month| {
            [month.lost(), month.lost_quoted, month.lost_unquoted].map(count).to_vec()
        })
    }

    fn stems(&self) -> View {
        let view = blank(
            "stems",
            "Stems wasted",
            "By the day on which they were counted, lost or thrown away. Thrown away are left-overs and stock that were written off.",
            (
                vec!["Dead when they came", "Lost at the bench", "Thrown away"],
                vec![
                    "Wasted",
                    "Dead when they came",
                    "Lost at the bench",
                    "Thrown away",
                    "Of stems that came",
                ],
            ),
        );
        let series: [fn(&Month) -> i64; 3] =
            [|month| month.tally.lost, |month| month.tally.bench, |month| month.tally.thrown];
        self.view(view, &series, false, |month| {
            let tally = month.tally;
            [month.wasted(), tally.lost, tally.bench, tally.thrown, tally.came].map(count).to_vec()
        })
    }

    fn quotes(&self) -> View {
        let view = blank(
            "quotes",
            "Quotes won of sent",
            "By the day on which a quote first went out; won are those of which a version was accepted since.",
            (vec!["Sent", "Won"], vec!["Sent", "Won", "Of a hundred"]),
        );
        self.view(view, &[|month| month.tally.sent, |month| month.tally.won], false, |month| {
            let (sent, won) = (month.tally.sent, month.tally.won);
            let share = (sent > 0).then(|| {
                format!("{} %", self.ink.0.number(Decimal::from(won * 100) / Decimal::from(sent), 0))
            });
            vec![count(sent), count(won), share.unwrap_or_else(|| "–".into())]
        })
    }

    /// By what the margin is reckoned, where the accepted quote is part of it: both do not hold the same cost.
    fn reckoned_by(&self) -> Option<String> {
        let Month { closed_out, by_quote, .. } = self.whole;
        let events = |count: i64| if count == 1 { "1 event".to_owned() } else { format!("{count} events") };
        let quoted = "the cost of the pieces. Loading, driving, setting up, striking, conditioning and wholesale delivery are not in it, so less of it will be left";
        (by_quote > 0).then(|| match closed_out {
            0 => format!("By the accepted quote, {}: {quoted}.", events(by_quote)),
            _ => format!(
                "By the close-out, {}: all that it cost. By the accepted quote, {}: {quoted}.",
                events(closed_out),
                events(by_quote)
            ),
        })
    }

    /// How many are in the turnover but not in the margin.
    fn without_cost(&self) -> usize {
        self.won.iter().filter(|one| one.counted.cost.is_none()).count()
    }

    fn margin_of(&self, counted: &Counted) -> String {
        counted
            .cost
            .map_or_else(|| "–".into(), |cost| self.ink.margin(counted.turnover - cost, counted.turnover))
    }

    /// By what an event is reckoned.
    fn by(counted: &Counted) -> &'static str {
        match (counted.closed_out, counted.is_by_quote()) {
            (true, _) => "Close-out",
            (_, true) => "Accepted quote",
            _ => "What was invoiced",
        }
    }
}

fn count(number: i64) -> String {
    number.to_string()
}

fn blank(
    id: &'static str,
    title: &'static str,
    about: &'static str,
    (series, columns): (Vec<&'static str>, Vec<&'static str>),
) -> View {
    View {
        id,
        title,
        about,
        series,
        columns,
        chart: None,
        words: String::new(),
        heads: Vec::new(),
        rows: Vec::new(),
        sum: Vec::new(),
    }
}

impl View {
    /// The style of a bar: tones that can be told apart, in print too.
    fn tone(series: impl Borrow<usize>) -> usize {
        [1, 4, 6].get(*series.borrow()).copied().unwrap_or(2)
    }
}

pub(super) async fn show(mut visit: Visit, Query(query): Query<SeasonQuery>) -> Answer {
    let years = store::years(&mut visit.connection).await?;
    let this_year = i64::from(visit.today.0.year());
    let asked = read_whole(query.year.trim()).filter(|year| (1..=9_999).contains(year));
    let latest = years.iter().copied().find(|year| *year <= this_year).or(years.first().copied());
    let year_asked = asked.or(latest).unwrap_or(this_year);
    let edge = |month: i8, day: i8| {
        let year = i16::try_from(year_asked).unwrap_or(2_000);
        Day(Date::new(year, month, day).unwrap_or(Date::MIN))
    };
    let span = (edge(1, 1), edge(12, 31));
    let events = store::events(&mut visit.connection, span).await?;
    let tallies = store::tallies(&mut visit.connection, span).await?;
    let reasons = store::reasons(&mut visit.connection, span).await?;
    let counted: Vec<Counted> = events.iter().map(|event| event.counted).collect();
    let months = months(&counted, &tallies);
    page(&SeasonPage {
        shell: visit.shell(Section::Events, format!("Season {year_asked}")),
        year: year_asked,
        years,
        whole: year(&months),
        months,
        won: events.into_iter().filter(|event| event.counted.fate == Fate::Held).collect(),
        reasons,
        ink: Ink(visit.studio.formats),
    })
}
