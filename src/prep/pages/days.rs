//! The overview of the days: what is done on each, how far it is, how stems stand in pails.

use std::collections::HashMap;
use std::sync::Arc;

use askama::Template;

use super::super::bench_plan;
use super::super::freshness::lives::{EventLives, lives};
use super::super::pails::beside::beside;
use super::super::pails::{PailDay, PailLine, PailRule, in_water, pails};
use super::super::plan::{PrepDay, PrepSheets};
use super::super::store;
use super::asked::{PrepQuery, Span, ids};
use super::order_trouble;
use super::sheets::lines;
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::recipes::RecipeBook;
use crate::recipes::explosion::ExplosionError;
use crate::studio::visit::{Section, Shell, Visit};
use crate::ticks::sheet::tally;
use crate::ticks::{self, Ticks};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::forms::{FieldErrors, Query};

#[derive(Template)]
#[template(path = "prep/overview.html")]
struct OverviewPage {
    shell: Shell,
    query: PrepQuery,
    span: Span,
    sheets: PrepSheets,
    events: Vec<(i64, String, Day)>,
    pails: Vec<PailDay>,
    rule: PailRule,
    /// What is ticked, by sheet.
    ticks: HashMap<String, Ticks>,
    lives: Vec<EventLives>,
    errors: FieldErrors,
}

impl OverviewPage {
    fn address(&self, sheet: &str) -> String {
        address(sheet, self.span)
    }

    /// Where what is short is ordered.
    fn stem_order(&self) -> String {
        stem_order(&self.events)
    }

    /// The first and the last day as the form holds them: as typed where they were refused.
    fn typed(&self) -> (String, String) {
        if self.errors.is_empty() {
            return (self.span.from.to_string(), self.span.to.to_string());
        }
        (self.query.from.clone(), self.query.to.clone())
    }

    /// The day's work as a share of the fullest day's, in hundredths of the bar.
    fn share(&self, day: &PrepDay) -> i64 {
        let most = self.sheets.days.iter().map(|day| day.minutes).max().unwrap_or(0).max(1);
        day.minutes.saturating_mul(100) / most
    }

    /// `107 Rose at 30 a pail: 4`.
    fn pail_words(&self, line: &PailLine) -> String {
        let why = line.why.label();
        let why = if why.is_empty() { String::new() } else { format!(" ({why})") };
        format!("{} {}{why} at {} a pail: {}", line.stems, line.name, line.a_pail, line.pails)
    }

    fn litres(&self, day: &PailDay) -> String {
        self.shell.formats.number(day.litres, 1)
    }

    /// Each day on which more pails stand than the cooler holds.
    fn too_full(&self) -> Vec<String> {
        let Some(holds) = self.rule.cooler else { return Vec::new() };
        let over = self.pails.iter().filter_map(|day| Some((day, day.too_many.filter(|many| *many > 0)?)));
        let words = over.map(|(day, many)| {
            let when = self.shell.weekday(day.day);
            format!(
                "{when}: {} pails, the cooler holds {holds}. {many} stand elsewhere, somewhere cool.",
                day.pails
            )
        });
        words.collect()
    }

    /// `14 of 37 done`; nothing before the first tick.
    fn done(&self, day: &PrepDay) -> Option<String> {
        self.ticks.get(&sheet_key(day.day)).map(|ticks| tally(&lines(day), ticks))
    }

    fn tasks(&self, day: &PrepDay) -> String {
        let counts =
            day.steps.iter().map(|step| format!("{} {}", step.step.label().to_lowercase(), step.tasks.len()));
        counts.collect::<Vec<_>>().join(", ")
    }
}

pub(super) fn stem_order(events: &[(i64, String, Day)]) -> String {
    let events: Vec<String> = events.iter().map(|(id, ..)| format!("event={id}")).collect();
    format!("/stem-order?{}", events.join("&"))
}

pub(super) fn address(sheet: &str, span: Span) -> String {
    let sheet = if sheet.is_empty() { String::new() } else { format!("/{sheet}") };
    format!("/prep{sheet}?from={}&to={}", span.from, span.to)
}

pub(super) async fn overview(mut visit: Visit, Query(query): Query<PrepQuery>) -> Answer {
    let (span, errors) = query.span(&mut visit).await?;
    let Loaded { sheets, events, pails, rule, lives, .. } = load(&mut visit, span).await?;
    let keys: Vec<String> = sheets.days.iter().map(|day| sheet_key(day.day)).collect();
    let ticks = ticks::store::ticks_of(&mut visit.connection, &keys).await?;
    let shell = visit.shell(Section::Prep, "Prep");
    let shown = OverviewPage { shell, query, span, sheets, events, pails, rule, ticks, lives, errors };
    if shown.errors.is_empty() { page(&shown) } else { refused(&shown) }
}

/// The key of a day's sheet for its ticks.
pub(super) fn sheet_key(day: Day) -> String {
    format!("prep-{day}")
}

/// What the pages show.
pub(super) struct Loaded {
    pub(super) sheets: PrepSheets,
    pub(super) events: Vec<(i64, String, Day)>,
    pub(super) book: RecipeBook,
    pails: Vec<PailDay>,
    rule: PailRule,
    lives: Vec<EventLives>,
}

pub(super) async fn load(visit: &mut Visit, span: Span) -> Result<Loaded, Trouble> {
    let ids = ids(&mut visit.connection, span.weeks()).await?;
    let loaded = store::load(&mut visit.connection, &visit.studio, &ids, visit.now).await;
    let inputs = loaded.map_err(order_trouble)?;
    let formats = visit.studio.formats;
    let senseless = |error: ExplosionError| Trouble::Conflict(error.to_string());
    let plan = bench_plan::store::planned(&inputs, formats).await.map_err(senseless)?;
    let sheets = bench_plan::store::sheets(&inputs, formats).await.map_err(senseless)?;
    let sheets = Arc::unwrap_or_clone(sheets);
    let events = inputs.weekend.events.iter().map(|at| (at.event.id.0, at.event.name.clone(), at.event.day));
    let rule = store::pail_rule(&mut visit.connection).await?;
    let known = store::standing_beside(&mut visit.connection, &inputs).await?;
    let mut standing = in_water(&inputs, &plan, &rule);
    standing.extend(beside(&inputs, &known, visit.today, &rule));
    let pails = pails(&standing, &rule);
    let (events, lives) = (events.collect(), lives(&inputs, &plan));
    Ok(Loaded { sheets, events, book: inputs.weekend.book.clone(), pails, rule, lives })
}
