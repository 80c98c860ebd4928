//! A day's sheet, all sheets, a station's or a sheet a station, and the recipe cards of a day: for paper and tablet.

use askama::Template;

use super::super::plan::{Conflict, PrepDay, PrepSheets, PrepStep, PrepTask};
use super::super::stations::{Station, part, stations};
use super::asked::{PrepQuery, Span};
use super::days::{Loaded, address, load, sheet_key, stem_order};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::recipes::RecipeBook;
use crate::recipes::pages::card::Card;
use crate::studio::visit::{Section, Shell, Visit};
use crate::ticks::pages::Hand;
use crate::ticks::sheet::{Sheet, SheetLine};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::Query;
use crate::web::path::Path;

/// What asks for a sheet a station.
const EACH: &str = "each";

#[derive(Template)]
#[template(path = "prep/sheets.html")]
struct SheetsPage {
    shell: Shell,
    span: Span,
    /// As it was asked for: nothing, a station's code, `each`.
    station: String,
    days: Vec<DaySheets>,
    conflicts: Vec<Conflict>,
    open_counts: Vec<String>,
    /// Where what is short is ordered.
    stem_order: String,
}

/// A day's sheets, with one set of ticks.
struct DaySheets {
    day: PrepDay,
    ticks: Sheet,
    /// The whole day, one station's part, or one a station: each with its name.
    parts: Vec<(&'static str, PrepDay)>,
}

#[derive(Template)]
#[template(path = "prep/cards.html")]
struct CardsPage {
    shell: Shell,
    /// The day's sheet.
    back: String,
    /// The day, beside each recipe's name.
    when: String,
    cards: Vec<Card>,
}

impl SheetsPage {
    fn overview(&self) -> String {
        address("", self.span)
    }

    /// The day, with its hours where they are known.
    fn when(&self, day: &PrepDay) -> String {
        let when = self.shell.weekday(day.day);
        if day.minutes == 0 { when } else { format!("{when}, {} of work", day.hours()) }
    }

    /// What a task's tick says aloud.
    fn spoken(&self, step: &PrepStep, task: &PrepTask) -> String {
        format!("Done: {}, {}", step.step.label(), task.what)
    }

    /// The one day that is shown, if it is one.
    fn one(&self) -> Option<&PrepDay> {
        self.days.first().filter(|_| self.days.len() == 1).map(|day| &day.day)
    }

    /// The day's stations: where, what it is called, whether it is shown.
    fn stations(&self, day: &PrepDay) -> Vec<(String, String, bool)> {
        let link = |code: &str, name: String| {
            (with_station(address(&day.day.to_string(), self.span), code), name, self.station == code)
        };
        let own = stations(day).into_iter().map(|station| {
            let tasks = part(day, station).steps.iter().map(|step| step.tasks.len()).sum::<usize>();
            link(station.code(), format!("{} ({tasks})", station.label()))
        });
        let all = link("", "All".into());
        [all].into_iter().chain(own).chain([link(EACH, "A sheet a station".into())]).collect()
    }

    fn cards(&self, day: &PrepDay) -> String {
        let station = if self.station == EACH { "" } else { &self.station };
        with_station(address(&format!("{}/cards", day.day), self.span), station)
    }
}

pub(super) async fn one_day(
    mut visit: Visit,
    hand: Hand,
    Path(day): Path<String>,
    Query(query): Query<PrepQuery>,
) -> Answer {
    let (day, span) = (read(&day)?, query.span(&mut visit).await?.0);
    let mut loaded = load(&mut visit, span).await?;
    let sheet = day_of(&loaded.sheets, day)?;
    let conflicts = loaded.sheets.conflicts.iter().filter(|conflict| conflict.day == day).cloned().collect();
    let title = match Station::from_code(&query.station) {
        Some(station) => format!("{}, {}", station.label(), visit.studio.weekday(day)),
        None => format!("Prep, {}", visit.studio.weekday(day)),
    };
    loaded.sheets = PrepSheets { days: vec![sheet], conflicts, ..loaded.sheets };
    show(&mut visit, &hand, (title, day.to_string()), (span, query.station), loaded).await
}

pub(super) async fn all_days(mut visit: Visit, hand: Hand, Query(query): Query<PrepQuery>) -> Answer {
    let (span, _) = query.span(&mut visit).await?;
    let loaded = load(&mut visit, span).await?;
    let name = ("Prep, all days".to_owned(), "sheets".to_owned());
    show(&mut visit, &hand, name, (span, query.station), loaded).await
}

async fn show(
    visit: &mut Visit,
    hand: &Hand,
    (title, path): (String, String),
    (span, station): (Span, String),
    loaded: Loaded,
) -> Answer {
    let back = with_station(address(&path, span), &station);
    let mut days = Vec::with_capacity(loaded.sheets.days.len());
    for day in loaded.sheets.days {
        let parts = parts(&day, &station)?;
        let lines = parts.iter().flat_map(|(_, part)| lines(part)).collect();
        let ticks = hand.sheet(visit, (sheet_key(day.day), back.clone()), lines).await?;
        days.push(DaySheets { day, ticks, parts });
    }
    let PrepSheets { conflicts, open_counts, .. } = loaded.sheets;
    let (shell, stem_order) = (visit.shell(Section::Prep, title), stem_order(&loaded.events));
    page(&SheetsPage { shell, span, station, days, conflicts, open_counts, stem_order })
}

fn with_station(address: String, station: &str) -> String {
    if station.is_empty() { address } else { format!("{address}&station={station}") }
}

/// What is shown of a day: all of it, each station's part, or one station's, empty where that has nothing to do.
fn parts(day: &PrepDay, station: &str) -> Result<Vec<(&'static str, PrepDay)>, Trouble> {
    let of = |station: Station| (station.label(), part(day, station));
    match station {
        "" => Ok(vec![("Prep sheet", day.clone())]),
        EACH => Ok(stations(day).into_iter().map(of).collect()),
        code => {
            let station = Station::from_code(code).ok_or(Trouble::NotFound("station"))?;
            Ok(stations(day).into_iter().filter(|works| *works == station).map(of).collect())
        }
    }
}

/// What is ticked on a day's sheet.
pub(super) fn lines(day: &PrepDay) -> Vec<SheetLine> {
    let tasks = day.steps.iter().flat_map(|step| &step.tasks);
    tasks.map(|task| SheetLine::counted(&*task.key, task.count, "done")).collect()
}

/// The recipe cards of what is made on a day, each with how many, for what.
pub(super) async fn cards(
    mut visit: Visit,
    Path(day): Path<String>,
    Query(query): Query<PrepQuery>,
) -> Answer {
    let (day, span) = (read(&day)?, query.span(&mut visit).await?.0);
    let loaded = load(&mut visit, span).await?;
    let sheet = day_of(&loaded.sheets, day)?;
    let parts = parts(&sheet, &query.station)?;
    let formats = visit.studio.formats;
    let cards = parts.iter().flat_map(|(_, part)| cards_of(part, &loaded.book, formats)).collect();
    let when = visit.studio.weekday(day);
    let shell = visit.shell(Section::Prep, format!("Recipe cards, {when}"));
    page(&CardsPage {
        shell,
        back: with_station(address(&day.to_string(), span), &query.station),
        when,
        cards,
    })
}

/// One card a recipe, in the order in which they are made.
fn cards_of(day: &PrepDay, book: &RecipeBook, formats: Formats) -> Vec<Card> {
    let mut cards: Vec<Card> = Vec::new();
    for task in day.steps.iter().flat_map(|step| &step.tasks) {
        let Some(recipe) = task.makes.and_then(|makes| book.recipes.get(&makes.recipe)) else { continue };
        let made = (task.count, task.wanted_for.clone());
        match cards.iter_mut().find(|card| card.id == recipe.id) {
            Some(card) => card.made.push(made),
            None => cards.push(Card { made: vec![made], ..Card::of(recipe, book, formats) }),
        }
    }
    cards
}

fn read(day: &str) -> Result<Day, Trouble> {
    day.parse().map_err(|_| Trouble::NotFound("prep sheet"))
}

fn day_of(sheets: &PrepSheets, day: Day) -> Result<PrepDay, Trouble> {
    sheets.day(day).cloned().ok_or(Trouble::NotFound("prep sheet: nothing is done that day"))
}
