//! The overview of the days, one day's sheet, and all sheets for one print.

use askama::Template;

use super::super::pails::{PailDay, PailLine, PailRule, in_water, pails};
use super::super::plan::{Conflict, PrepDay, PrepSheets, PrepStep, PrepTask, arrivals, sheets};
use super::super::store;
use super::super::ticks::pages::Hand;
use super::super::ticks::sheet::{Sheet, SheetLine};
use super::asked::{PrepQuery, Span, ids};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::stem_order::store::LoadError;
use crate::stem_order::store::planning::OrderError;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::forms::{FieldErrors, Query};
use crate::web::path::Path;

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
    errors: FieldErrors,
}

#[derive(Template)]
#[template(path = "prep/sheets.html")]
struct SheetsPage {
    shell: Shell,
    span: Span,
    days: Vec<(PrepDay, Sheet)>,
    conflicts: Vec<Conflict>,
    open_counts: Vec<String>,
    /// Where what is short is ordered.
    stem_order: String,
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
        format!("{} {} at {} a pail: {}", line.stems, line.name, line.a_pail, line.pails)
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

    fn tasks(&self, day: &PrepDay) -> String {
        let counts =
            day.steps.iter().map(|step| format!("{} {}", step.step.label().to_lowercase(), step.tasks.len()));
        counts.collect::<Vec<_>>().join(", ")
    }
}

impl SheetsPage {
    fn overview(&self) -> String {
        address("", self.span)
    }

    /// What a task's tick says aloud.
    fn spoken(&self, step: &PrepStep, task: &PrepTask) -> String {
        format!("Done: {}, {}", step.step.label(), task.what)
    }

    fn one(&self) -> bool {
        self.days.len() == 1
    }

    /// The cautions of a day in one paragraph.
    fn cautions(&self, day: &PrepDay) -> Vec<(&'static str, &'static str)> {
        day.cautions.iter().map(|caution| (caution.name(), caution.sentence())).collect()
    }
}

fn stem_order(events: &[(i64, String, Day)]) -> String {
    let events: Vec<String> = events.iter().map(|(id, ..)| format!("event={id}")).collect();
    format!("/stem-order?{}", events.join("&"))
}

fn address(sheet: &str, span: Span) -> String {
    let sheet = if sheet.is_empty() { String::new() } else { format!("/{sheet}") };
    format!("/prep{sheet}?from={}&to={}", span.from, span.to)
}

pub(super) async fn overview(mut visit: Visit, Query(query): Query<PrepQuery>) -> Answer {
    let (span, errors) = query.span(&mut visit).await?;
    let Loaded { sheets, events, pails, rule } = load(&mut visit, span).await?;
    let shell = visit.shell(Section::Prep, "Prep");
    let shown = OverviewPage { shell, query, span, sheets, events, pails, rule, errors };
    if shown.errors.is_empty() { page(&shown) } else { refused(&shown) }
}

pub(super) async fn one_sheet(
    mut visit: Visit,
    hand: Hand,
    Path(day): Path<String>,
    Query(query): Query<PrepQuery>,
) -> Answer {
    let day: Day = day.parse().map_err(|_| Trouble::NotFound("prep sheet"))?;
    let (span, _) = query.span(&mut visit).await?;
    let Loaded { sheets, events, .. } = load(&mut visit, span).await?;
    let sheet = sheets.day(day).cloned().ok_or(Trouble::NotFound("prep sheet: nothing is done that day"))?;
    let title = format!("Prep, {}", visit.studio.weekday(day));
    let conflicts = sheets.conflicts.into_iter().filter(|conflict| conflict.day == day).collect();
    let asked = Asked { span, back: address(&day.to_string(), span), title, stem_order: stem_order(&events) };
    show(&mut visit, &hand, asked, PrepSheets { days: vec![sheet], conflicts, ..sheets }).await
}

pub(super) async fn all_sheets(mut visit: Visit, hand: Hand, Query(query): Query<PrepQuery>) -> Answer {
    let (span, _) = query.span(&mut visit).await?;
    let Loaded { sheets, events, .. } = load(&mut visit, span).await?;
    let title = "Prep, all days".into();
    let asked = Asked { span, back: address("sheets", span), title, stem_order: stem_order(&events) };
    show(&mut visit, &hand, asked, sheets).await
}

/// Which sheets are shown, and where.
struct Asked {
    span: Span,
    back: String,
    title: String,
    stem_order: String,
}

async fn show(visit: &mut Visit, hand: &Hand, asked: Asked, sheets: PrepSheets) -> Answer {
    let PrepSheets { days: planned, conflicts, open_counts } = sheets;
    let Asked { span, back, title, stem_order } = asked;
    let mut days = Vec::with_capacity(planned.len());
    for day in planned {
        let ticks = hand.sheet(visit, (sheet_key(day.day), back.clone()), lines(&day)).await?;
        days.push((day, ticks));
    }
    let shell = visit.shell(Section::Prep, title);
    page(&SheetsPage { shell, span, days, conflicts, open_counts, stem_order })
}

/// The key of a day's sheet for its ticks.
fn sheet_key(day: Day) -> String {
    format!("prep-{day}")
}

fn lines(day: &PrepDay) -> Vec<SheetLine> {
    let tasks = day.steps.iter().flat_map(|step| &step.tasks);
    tasks.map(|task| SheetLine::counted(&*task.key, task.count, "done")).collect()
}

/// What the pages show.
struct Loaded {
    sheets: PrepSheets,
    events: Vec<(i64, String, Day)>,
    pails: Vec<PailDay>,
    rule: PailRule,
}

async fn load(visit: &mut Visit, span: Span) -> Result<Loaded, Trouble> {
    let ids = ids(&mut visit.connection, span).await?;
    let loaded = store::load(&mut visit.connection, &visit.studio, &ids, visit.now).await;
    let inputs = loaded.map_err(|error| match error {
        OrderError::Load(LoadError::Weekend(cause)) => Trouble::Conflict(cause.to_string()),
        other => other.into(),
    })?;
    let sheets =
        sheets(&inputs, &visit.studio.formats).map_err(|error| Trouble::Conflict(error.to_string()))?;
    let events = inputs.weekend.events.iter().map(|at| (at.event.id.0, at.event.name.clone(), at.event.day));
    let rule = store::pail_rule(&mut visit.connection).await?;
    let pails = pails(&in_water(&inputs.weekend, &arrivals(&inputs), &rule), &rule);
    Ok(Loaded { sheets, events: events.collect(), pails, rule })
}
