//! The work of some events as tasks that can be divided into whole pieces, each with its window and why.
//!
//! - *Condition* what arrives on a day: on that day.
//! - *Dress* a vessel: from a week before the event to when the pieces that stand in it must be done, before them.
//! - *Make* a part or a piece: not earlier than its holding life before the event, not before its slowest flower is ready;
//!   by the evening before the event where it holds a day or more (that is what "safe" means here: nothing that could be
//!   done is left for the event's own morning), else by the time loading begins; an installation, which is built at the
//!   venue, by the time all must stand. A pin may move work up to loading.
//! - Parts before what they go into; personal flowers last.
//! - *Cutting* has no task: its minutes are in the recipes', and it goes along with its making exactly. Each day's cutting list
//!   is laid out from the pieces that are made on that day, so nothing is cut before its keeping time.
//!
//! Holding life: 24 hours and more are whole days before the event's day, as the stem order has it; less are hours before the
//! guests come. All of that is common practice, no published source.
//!
//! May import: types and calculations of the rooms before, this stage's plan and event work, `rust_decimal`, `jiff`.

use std::collections::BTreeMap;

use jiff::civil::DateTime;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::conditioning::conditioned;
use super::making::made;
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::prep::Step;
use crate::prep::event_work::{EventTimes, Worked, times};
use crate::prep::plan::{Delivery, PrepInputs, arrivals, said};
use crate::recipes::explosion::ExplosionError;

/// Thousandths of a person-minute in a minute.
pub const MINUTE: i64 = 1_000;
/// No single task is reckoned with more work than this, however large a number was typed.
const MOST_WORK: i64 = 1_000_000_000_000;

/// Work of one kind, divisible into whole pieces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// The same as on the day's sheets.
    pub key: String,
    /// What kind of work.
    pub step: Step,
    /// For which events, by their places in the weekend.
    pub events: Vec<usize>,
    /// What.
    pub what: String,
    /// For which place, event or pieces.
    pub wanted_for: String,
    /// How many pieces.
    pub count: i64,
    /// Work of one piece, in thousandths of a person-minute.
    pub unit: i64,
    /// Not earlier.
    pub earliest: DateTime,
    /// Not later, to be safe.
    pub latest: DateTime,
    /// Not later at all: as far as a pin may move it.
    pub at_most: DateTime,
    /// Why not earlier.
    pub earliest_why: String,
    /// Why not later.
    pub latest_why: String,
    /// From when its holding life allows it.
    pub holds_from: DateTime,
    /// From when each of its flowers is ready.
    pub ready: Vec<(MaterialId, DateTime)>,
    /// Where it stands where nobody has said who works when.
    pub usual: Day,
    /// Tasks that are done before it, by their places.
    pub after: Vec<usize>,
    /// By how many minutes its window falls short, where it is empty.
    pub short_by: Option<i64>,
    /// By which recipe, where pieces are made.
    pub makes: Option<RecipeId>,
}

/// The work of a weekend.
#[derive(Debug, Clone)]
pub struct Work {
    /// Its tasks: what goes first where windows are alike stands first.
    pub tasks: Vec<Task>,
    /// What each event takes beside the making.
    pub worked: Vec<Worked>,
    /// The clock of each event's day.
    pub times: Vec<EventTimes>,
    /// What arrives.
    pub arrivals: Vec<Delivery>,
}

impl Task {
    /// All of its work.
    #[must_use]
    pub fn work(&self) -> i64 {
        work(self.count, self.unit)
    }

    /// Whether it may be moved to other days.
    #[must_use]
    pub fn can_be_pinned(&self) -> bool {
        self.step != Step::Condition && self.short_by.is_none()
    }
}

/// Work of so many pieces.
pub(super) fn work(count: i64, unit: i64) -> i64 {
    count.saturating_mul(unit).clamp(0, MOST_WORK)
}

/// A decimal number of minutes in thousandths, rounded up.
pub(super) fn thousandths(minutes: Decimal) -> i64 {
    (minutes * Decimal::from(MINUTE)).ceil().to_i64().unwrap_or(MOST_WORK).clamp(0, MOST_WORK)
}

/// The tasks of a weekend.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn tasks(inputs: &PrepInputs) -> Result<Work, ExplosionError> {
    tasks_of(inputs, arrivals(inputs))
}

/// The tasks of a weekend, did these flowers arrive for it.
pub(super) fn tasks_of(inputs: &PrepInputs, arrivals: Vec<Delivery>) -> Result<Work, ExplosionError> {
    let (worked, times): (Vec<Worked>, Vec<EventTimes>) = (0..inputs.weekend.events.len())
        .map(|at| {
            let (event, worked) = (&inputs.weekend.events[at].event, worked(inputs, at));
            let times = times(event, &worked);
            (worked, times)
        })
        .unzip();
    let mut tasks = conditioned(inputs, &arrivals);
    let made = made(inputs, &arrivals, &times)?;
    append(&mut tasks, made);
    settle(&mut tasks);
    Ok(Work { tasks, worked, times, arrivals })
}

/// What an event takes beside the making, by its counted pieces.
fn worked(inputs: &PrepInputs, at: usize) -> Worked {
    let event = &inputs.weekend.events[at];
    let pieces = event.counts.iter().fold(0_i64, |sum, (_, count)| sum.saturating_add(*count));
    inputs.bench.works.get(&event.event.id).copied().unwrap_or_default().worked(pieces)
}

/// Adds tasks whose places begin at 0.
fn append(tasks: &mut Vec<Task>, more: Vec<Task>) {
    let from = tasks.len();
    tasks.extend(more.into_iter().map(|mut task| {
        task.after.iter_mut().for_each(|place| *place += from);
        task
    }));
}

/// What comes before other work is done no later, what comes after no earlier; what cannot be made by the time that is safe may
/// be left for the event's morning; then windows that are empty are opened to their last day, and named. A task's befores stand
/// before it, so one walk each way is enough.
fn settle(tasks: &mut [Task]) {
    for at in 0..tasks.len() {
        let starts = tasks[at].after.iter().map(|before| (tasks[*before].earliest, *before));
        if let Some((earliest, before)) = starts.max().filter(|(earliest, _)| *earliest > tasks[at].earliest)
        {
            tasks[at].earliest = earliest;
            let why = tasks[before].earliest_why.clone();
            tasks[at].earliest_why = why;
        }
    }
    for at in (0..tasks.len()).rev() {
        let at_most = tasks[at].at_most;
        for before in tasks[at].after.clone() {
            tasks[before].at_most = tasks[before].at_most.min(at_most);
        }
    }
    tasks.iter_mut().for_each(leave_for_the_morning);
    for at in (0..tasks.len()).rev() {
        let latest = tasks[at].latest;
        let why = format!("before {}", tasks[at].what);
        for before in tasks[at].after.clone() {
            let before = &mut tasks[before];
            if latest < before.latest {
                before.latest = latest;
                before.latest_why.clone_from(&why);
            }
        }
    }
    tasks.iter_mut().for_each(open);
}

/// What is ready only after the time that is safe may be made up to loading.
fn leave_for_the_morning(task: &mut Task) {
    if task.earliest < task.latest || task.at_most <= task.latest {
        return;
    }
    let why = if task.earliest < task.at_most { "it is not ready sooner; " } else { "" };
    task.latest_why = format!("{why}loading begins {}", said(task.at_most));
    task.latest = task.at_most;
}

/// An empty window becomes its last day up to its end.
fn open(task: &mut Task) {
    if task.earliest < task.latest {
        return;
    }
    let late = task.earliest.duration_since(task.latest).as_mins();
    task.short_by = Some(late.max(1));
    let midnight = task.latest.date().to_datetime(jiff::civil::Time::midnight());
    task.earliest = if midnight < task.latest { midnight } else { hours_before(midnight, 24) };
    task.at_most = task.latest;
}

pub(super) fn hours_before(moment: DateTime, hours: i64) -> DateTime {
    crate::prep::plan::hours_after(moment, -hours)
}

/// How many of which vessel, part or piece there are, by key: for reading placements.
#[must_use]
pub fn by_key(tasks: &[Task]) -> BTreeMap<&str, usize> {
    tasks.iter().enumerate().map(|(at, task)| (task.key.as_str(), at)).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Hours count from Thursday's midnight.
    fn hour(hours: i64) -> DateTime {
        hours_before(jiff::civil::date(2026, 5, 14).at(0, 0, 0, 0), -hours)
    }

    fn task((earliest, latest, at_most): (i64, i64, i64), after: &[usize]) -> Task {
        Task {
            key: String::new(),
            step: Step::Make,
            events: vec![0],
            what: "Bowl".into(),
            wanted_for: String::new(),
            count: 1,
            unit: MINUTE,
            earliest: hour(earliest),
            latest: hour(latest),
            at_most: hour(at_most),
            earliest_why: String::new(),
            latest_why: "it holds 24 h".into(),
            holds_from: hour(earliest),
            ready: Vec::new(),
            usual: Day(jiff::civil::date(2026, 5, 15)),
            after: after.to_vec(),
            short_by: None,
            makes: None,
        }
    }

    fn settled(mut tasks: Vec<Task>) -> Vec<Task> {
        settle(&mut tasks);
        tasks
    }

    #[test]
    fn what_is_ready_on_the_events_morning_is_made_then() {
        // Safe by Friday's midnight (48), ready Saturday 06:00 (54), loading 09:00 (57).
        let made = &settled(vec![task((54, 48, 57), &[])])[0];
        assert_eq!((made.short_by, made.earliest, made.latest), (None, hour(54), hour(57)));
        assert_eq!(made.latest_why, "it is not ready sooner; loading begins Sat 09:00");
        // Ready only after loading it cannot be made at all, and is late by what it is late for loading.
        let late = &settled(vec![task((58, 48, 57), &[])])[0];
        assert_eq!((late.short_by, late.latest), (Some(60), hour(57)));
        assert_eq!(late.latest_why, "loading begins Sat 09:00");
    }

    #[test]
    fn a_part_that_is_late_is_still_made_before_what_it_goes_into() {
        // The part is ready Saturday 06:00, so the piece waits for it, and both are left for the morning.
        let both = settled(vec![task((54, 48, 57), &[]), task((30, 48, 57), &[0])]);
        assert_eq!((both[1].earliest, both[1].latest, both[1].short_by), (hour(54), hour(57), None));
        // A part that may be left until loading goes into a piece that must be done before.
        let part = &settled(vec![task((30, 24, 57), &[]), task((30, 48, 48), &[0])])[0];
        assert_eq!((part.latest, part.short_by), (hour(48), None));
    }

    proptest! {
        /// Only what is ready after it must be loaded is impossible, and parts begin and end no later than their wholes.
        #[test]
        fn windows_are_open_where_they_can_be(
            windows in prop::collection::vec((0_i64..60, 1_i64..60, 0_i64..12, any::<bool>()), 1..7),
        ) {
            let follows = |at: usize| at > 0 && windows[at].3;
            let tasks = windows.iter().enumerate().map(|(at, (earliest, latest, later, _))| {
                let after: Vec<usize> = if follows(at) { vec![at - 1] } else { Vec::new() };
                task((*earliest, *latest, latest + later), &after)
            });
            let tasks: Vec<Task> = tasks.collect();
            let (mut ready, mut end): (Vec<i64>, Vec<i64>) =
                windows.iter().map(|(earliest, latest, later, _)| (*earliest, latest + later)).unzip();
            for at in (1..windows.len()).filter(|at| follows(*at)) {
                ready[at] = ready[at].max(ready[at - 1]);
            }
            for at in (1..windows.len()).rev().filter(|at| follows(*at)) {
                end[at - 1] = end[at - 1].min(end[at]);
            }
            let settled = settled(tasks);
            for (at, made) in settled.iter().enumerate() {
                prop_assert!(made.earliest < made.latest && made.latest <= hour(end[at]));
                prop_assert_eq!(made.short_by.is_some(), ready[at] >= end[at]);
            }
            let fits = |at: usize| settled[at].short_by.is_none();
            for at in (1..settled.len()).filter(|at| follows(*at) && fits(*at) && fits(at - 1)) {
                let (part, whole) = (&settled[at - 1], &settled[at]);
                prop_assert!(part.earliest <= whole.earliest && part.latest <= whole.latest);
            }
        }
    }
}
