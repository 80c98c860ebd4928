//! The bench plan of a week: the strip of days with hours against capacity, what does not fit, the days' tasks, the pins.

use std::sync::Arc;

use askama::Template;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::super::BenchPlan;
use super::super::conflicts::{PlanConflict, Way};
use super::super::forms::PinForm;
use super::super::milestones::{Kind, Milestone, milestones};
use super::super::pins::Lot;
use super::super::plan::{PinStanding, PlanDay, words};
use super::super::shifts::Shifts;
use super::super::spells::DayRoom;
use super::super::tasks::MINUTE;
use super::rows::Row;
use crate::events;
use crate::ground::choice::Choice;
use crate::ground::dates::{Day, MONTHS_SHORT, TimeOfDay};
use crate::ground::ids::EventId;
use crate::prep::bench_plan;
use crate::prep::pages::asked::PrepQuery;
use crate::prep::plan::{PrepInputs, said};
use crate::prep::store;
use crate::price_list;
use crate::stem_order::closed_days;
use crate::stem_order::store::LoadError;
use crate::stem_order::store::planning::OrderError;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::{FieldErrors, Query};

/// The bar of a day is drawn so wide.
const BAR: i64 = 100;

/// What stands in the address.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct PlanQuery {
    week: String,
}

impl PlanQuery {
    /// The Monday of the week asked for; else of the present week, or of the next event's where this has none.
    pub(super) async fn monday(&self, visit: &mut Visit) -> Result<Day, Trouble> {
        let asked = self.week.parse::<Day>().ok().filter(|day| (1990..=2200).contains(&day.0.year()));
        if let Some(day) = asked {
            return Ok(day.monday());
        }
        Ok(PrepQuery::default().span(visit).await?.0.from.monday())
    }
}

pub(super) fn week_path(monday: Day) -> String {
    format!("/prep/plan?week={monday}")
}

/// Everything that the plan of the week's events is computed from.
pub(super) async fn of_week(visit: &mut Visit, monday: Day) -> Result<Arc<PrepInputs>, Trouble> {
    let ids = ids(&mut visit.connection, monday).await?;
    let loaded = store::load(&mut visit.connection, &visit.studio, &ids, visit.now).await;
    loaded.map_err(|error| match error {
        OrderError::Load(LoadError::Weekend(cause)) => Trouble::Conflict(cause.to_string()),
        other => other.into(),
    })
}

async fn ids(connection: &mut SqliteConnection, monday: Day) -> Result<Vec<EventId>, sqlx::Error> {
    let events = events::store::open_between(connection, monday, monday.plus(6)).await?;
    Ok(events.into_iter().map(|event| event.id).collect())
}

#[derive(Template)]
#[template(path = "prep/plan.html")]
pub(super) struct PlanPage {
    shell: Shell,
    monday: Day,
    plan: Arc<BenchPlan>,
    events: Vec<(EventId, String)>,
    milestones: Vec<Milestone>,
    shifts: Shifts,
    pin: RefusedPin,
}

/// A pin that was refused, as typed; nothing where none was.
#[derive(Default)]
pub(super) struct RefusedPin {
    /// The row in which it was typed.
    field: String,
    form: PinForm,
    errors: FieldErrors,
}

impl RefusedPin {
    /// At the row in which it was typed, or at the first of its task.
    pub(super) fn new(plan: &BenchPlan, form: PinForm, errors: &FieldErrors) -> RefusedPin {
        let at = plan.work.tasks.iter().position(|task| task.key == form.task).unwrap_or_default();
        let days = plan.placed.get(at);
        let typed =
            form.row.parse::<Day>().ok().filter(|day| days.is_some_and(|days| days.contains_key(day)));
        let day = typed.or_else(|| days?.keys().next().copied());
        let field = day.map_or_else(String::new, |day| format!("{at}-{day}"));
        let mut own = FieldErrors::default();
        for (name, message) in errors.list() {
            own.add(format!("{name}-{field}"), message.clone());
        }
        RefusedPin { field, form, errors: own }
    }
}

/// A kind of work with its tasks of a day.
type StepRows<'a> = (&'static str, Vec<Row<'a>>);

impl PlanPage {
    pub(super) async fn new(
        visit: &mut Visit,
        monday: Day,
        inputs: &PrepInputs,
        plan: Arc<BenchPlan>,
    ) -> Result<PlanPage, Trouble> {
        let suppliers = price_list::store::suppliers(&mut visit.connection).await?;
        let closed = closed_days::store::closed_days(&mut visit.connection).await?;
        let milestones = milestones(inputs, &plan.work, &suppliers, &closed);
        let events = inputs.weekend.events.iter().map(|at| (at.event.id, at.event.name.clone())).collect();
        let shell = visit.shell(Section::Prep, "Bench plan");
        let (shifts, pin) = (inputs.bench.shifts.clone(), RefusedPin::default());
        Ok(PlanPage { shell, monday, plan, events, milestones, shifts, pin })
    }

    /// The same with a pin that was refused.
    pub(super) fn refusing(self, pin: RefusedPin) -> PlanPage {
        PlanPage { pin, ..self }
    }

    /// Days to which pieces of a row's task may be pinned, where there is a choice.
    fn pin_days(&self, row: &Row<'_>) -> &[Day] {
        self.plan.pin_days.get(row.at).map_or(&[], Vec::as_slice)
    }

    fn is_pinned(&self, row: &Row<'_>) -> bool {
        let here = |lot: &&Lot| lot.task == row.at && Day(lot.earliest.date()) == row.day;
        self.plan.lots.iter().filter(here).any(|lot| lot.pin.is_some())
    }

    fn is_refused(&self, row: &Row<'_>) -> bool {
        self.pin.field == row.field()
    }

    /// How many stand in a row's field: as typed where that was refused.
    fn pin_count(&self, row: &Row<'_>) -> String {
        if self.is_refused(row) { self.pin.form.count.clone() } else { row.count.to_string() }
    }

    fn is_chosen(&self, row: &Row<'_>, day: Day) -> bool {
        if self.is_refused(row) { self.pin.form.day == day.to_string() } else { day == row.day }
    }

    fn pin_error(&self, row: &Row<'_>, name: &str) -> Option<&str> {
        self.pin.errors.of(&format!("{name}-{}", row.field()))
    }

    fn until(&self) -> String {
        self.shell.weekday(self.monday.plus(6))
    }

    /// The week's days, and others on which something is done.
    fn strip(&self) -> Vec<PlanDay> {
        let week = (0..7).map(|later| self.monday.plus(later));
        let shift = |day| self.shifts.day(day).minutes.saturating_mul(MINUTE);
        let room = |day| DayRoom { shift: shift(day), ..DayRoom::default() };
        let blank = |day| PlanDay { day, room: room(day), bench: [0; 3], over: 0 };
        let known = |day| self.plan.days.iter().find(|own| own.day == day).copied();
        let mut days: Vec<PlanDay> = week.map(|day| known(day).unwrap_or_else(|| blank(day))).collect();
        let busy = |day: &&PlanDay| day.work() + day.room.outside > 0 || !self.rows(day.day).is_empty();
        let others = self.plan.days.iter().filter(|day| !days.iter().any(|own| own.day == day.day));
        let others: Vec<PlanDay> = others.filter(busy).copied().collect();
        days.extend(others);
        days.sort_by_key(|day| day.day);
        days
    }

    fn month(&self, day: &PlanDay) -> &'static str {
        MONTHS_SHORT[usize::from(day.day.month_index())]
    }

    /// `6 h 30 min of 8 h`, or only the hours.
    fn hours(&self, day: &PlanDay) -> String {
        if !self.plan.known {
            return words(day.work());
        }
        format!("{} of {}", words(day.work()), words(day.room.shift))
    }

    fn shift_words(&self, day: &PlanDay) -> String {
        self.shifts.words(day.day)
    }

    fn over(&self, day: &PlanDay) -> Option<String> {
        (day.over >= MINUTE).then(|| words(day.over))
    }

    fn outside(&self, day: &PlanDay) -> Option<String> {
        (self.plan.known && day.room.outside >= MINUTE).then(|| words(day.room.outside))
    }

    /// The work behind a day's hours, by kind.
    fn kinds(&self, day: &PlanDay) -> Vec<(&'static str, String)> {
        let [condition, dress, make] = day.bench;
        let crew = day.room.crew + day.room.crew_over;
        let all =
            [("Condition", condition), ("Dress", dress), ("Make", make), ("Load, drive, set, strike", crew)];
        all.into_iter().filter(|(_, work)| *work > 0).map(|(name, work)| (name, words(work))).collect()
    }

    /// The bar: kind of part, from where, how wide; then where the shift ends.
    fn bar(&self, day: &PlanDay) -> Vec<(&'static str, i64, i64)> {
        let most = self.plan.days.iter().map(|day| day.work().max(day.room.shift)).max().unwrap_or(0).max(1);
        let wide =
            |work: i64| i64::try_from(i128::from(work) * i128::from(BAR) / i128::from(most)).unwrap_or(BAR);
        let [condition, dress, make] = day.bench;
        let crew = day.room.crew + day.room.crew_over;
        let (mut bar, mut from) = (vec![("track", 0, wide(day.room.shift))], 0_i64);
        for (part, work) in [("part-1", crew), ("part-2", condition), ("part-4", dress), ("part-3", make)] {
            let (begins, ends) = (wide(from), wide(from + work));
            from += work;
            if ends > begins {
                bar.push((part, begins, ends - begins));
            }
        }
        if day.over >= MINUTE {
            let begins = wide((from - day.over).max(0));
            bar.push(("over", begins, (wide(from) - begins).max(1)));
        }
        bar
    }

    fn rows(&self, day: Day) -> Vec<Row<'_>> {
        let placed = self.plan.work.tasks.iter().enumerate().zip(&self.plan.placed);
        placed.filter_map(|((at, task), days)| Some(Row { task, at, day, count: *days.get(&day)? })).collect()
    }

    /// Days with their tasks by kind of work.
    fn days(&self) -> Vec<(PlanDay, Vec<StepRows<'_>>)> {
        let steps = |day: Day| {
            let mut steps = Vec::new();
            for step in crate::prep::Step::ALL {
                let rows: Vec<Row<'_>> =
                    self.rows(day).into_iter().filter(|row| row.task.step == *step).collect();
                if !rows.is_empty() {
                    steps.push((step.label(), rows));
                }
            }
            steps
        };
        let days = self.strip().into_iter().map(|day| (day, steps(day.day)));
        days.filter(|(day, steps)| !steps.is_empty() || !self.jobs(day).is_empty()).collect()
    }

    /// What crews do on a day: from when to when, what, for whom, person-hours.
    fn jobs(&self, day: &PlanDay) -> Vec<(String, &'static str, &str, String)> {
        let own = self.plan.jobs.iter().filter(|job| Day(job.from.date()) == day.day);
        let told = own.map(|job| {
            let name = self.events.get(job.event).map_or("", |(_, name)| name.as_str());
            let crew = self.plan.work.worked.get(job.event).map_or(1, |worked| worked.crew);
            let hours = format!("{} by {crew}", words(job.minutes.saturating_mul(MINUTE)));
            let when = format!("{} to {}", TimeOfDay(job.from.time()), said(job.until));
            (when, job.what, name, hours)
        });
        told.collect()
    }

    /// Fixed moments of a day: kind, time, words.
    fn moments(&self, day: &PlanDay) -> Vec<(&'static str, String, &str)> {
        let own = self.milestones.iter().filter(|milestone| Day(milestone.at.date()) == day.day);
        let told = own.map(|milestone| {
            let kind = match milestone.kind {
                Kind::OrderBy => "deadline",
                Kind::Delivery => "",
                Kind::Event => "event",
            };
            let time = TimeOfDay(milestone.at.time());
            let time = match (milestone.timed, milestone.kind) {
                (false, _) => String::new(),
                (true, Kind::OrderBy) => format!("by {time}"),
                (true, _) => time.to_string(),
            };
            (kind, time, milestone.words.as_str())
        });
        told.collect()
    }

    /// What a pin holds or why it was dropped, what it costs.
    fn pin_words(&self, standing: &PinStanding) -> (String, String) {
        let name = self.plan.work.tasks.iter().find(|task| task.key == standing.pin.task);
        let name = name.map_or("work that is gone", |task| &task.what);
        let what = match &standing.held {
            Ok(count) => format!("{count} × {name} on {}", self.shell.weekday(standing.pin.day)),
            Err(why) => format!("Dropped: {why}"),
        };
        let costs = match standing.costs {
            _ if !self.plan.known || standing.held.is_err() => String::new(),
            costs if costs >= MINUTE => format!("{} more overtime than without it", words(costs)),
            costs if costs <= -MINUTE => format!("{} less overtime than without it", words(-costs)),
            _ => "no overtime more or less".into(),
        };
        (what, costs)
    }

    /// Where a conflict is mended.
    fn mend_path(&self, conflict: &PlanConflict, way: &Way) -> String {
        match way {
            Way::Shifts => "/shifts".into(),
            Way::StemOrder => {
                let events: Vec<String> = self.events.iter().map(|(id, _)| format!("event={id}")).collect();
                format!("/stem-order?{}", events.join("&"))
            }
            Way::Pins => format!("#day-{}", conflict.day),
            Way::EventWork(at) => {
                self.events.get(*at).map_or_else(|| "/events".into(), |(id, _)| format!("/events/{id}/work"))
            }
        }
    }

    fn overtime(&self) -> Option<String> {
        (self.plan.known && self.plan.overtime >= MINUTE).then(|| words(self.plan.overtime))
    }

    fn least(&self) -> String {
        words(self.plan.least)
    }

    fn assumed(&self) -> Vec<String> {
        let typed =
            self.plan.work.worked.iter().zip(&self.events).filter(|(worked, _)| !worked.assumed.is_empty());
        typed.map(|(worked, (_, name))| format!("{name}: {}", worked.assumed.join(", "))).collect()
    }
}

pub(super) async fn show(mut visit: Visit, Query(query): Query<PlanQuery>) -> Answer {
    let monday = query.monday(&mut visit).await?;
    let inputs = of_week(&mut visit, monday).await?;
    let plan = bench_plan::store::planned(&inputs, visit.studio.formats).await;
    let plan = plan.map_err(|error| Trouble::Conflict(error.to_string()))?;
    page(&PlanPage::new(&mut visit, monday, &inputs, plan).await?)
}
