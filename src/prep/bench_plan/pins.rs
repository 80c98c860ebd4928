//! Work that the designer pins to a day: which pieces of a task, within the task's window up to loading.
//!
//! A pin whose task is gone, or whose day no longer fits, is dropped with a word; one of more pieces than there are keeps what
//! there is. What comes before pinned work is due by its day, what comes after begins no sooner.
//!
//! May import: this room's tasks, `ground`, `jiff` civil times.

use jiff::civil::{DateTime, Time};

use super::tasks::Task;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::BenchPinId;

/// A task pinned to a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pin {
    /// Its identity.
    pub id: BenchPinId,
    /// Which task.
    pub task: String,
    /// To which day.
    pub day: Day,
    /// How many of its pieces.
    pub count: i64,
}

/// Pieces of a task with one window.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    /// Which task, by its place.
    pub task: usize,
    /// How many.
    pub count: i64,
    /// Not earlier.
    pub earliest: DateTime,
    /// Not later.
    pub latest: DateTime,
    /// Pinned by which pin, by its place.
    pub pin: Option<usize>,
}

/// What becomes of the pins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pinned {
    /// The lots, by task.
    pub lots: Vec<Lot>,
    /// For each pin: how many pieces it holds, or why it was dropped.
    pub held: Vec<Result<i64, String>>,
}

/// Tasks cut into lots by pins, each pin taken in turn where the windows of all work stay open.
#[must_use]
pub fn pinned(tasks: &[Task], pins: &[Pin], formats: &Formats) -> Pinned {
    let mut lots = free(tasks);
    let mut held = Vec::new();
    for (at, pin) in pins.iter().enumerate() {
        match with(tasks, &lots, (at, pin)) {
            Ok((with_pin, count)) => {
                lots = with_pin;
                held.push(Ok(count));
            }
            Err(why) => held.push(Err(format!("{}, {}: {why}", words(tasks, pin), formats.weekday(pin.day)))),
        }
    }
    Pinned { lots, held }
}

fn words(tasks: &[Task], pin: &Pin) -> String {
    let name = tasks.iter().find(|task| task.key == pin.task).map_or("work that is gone", |task| &task.what);
    format!("{} × {name}", pin.count)
}

/// Every task as one lot.
#[must_use]
pub fn free(tasks: &[Task]) -> Vec<Lot> {
    let lot = |(at, task): (usize, &Task)| Lot {
        task: at,
        count: task.count,
        earliest: task.earliest,
        latest: task.latest,
        pin: None,
    };
    tasks.iter().enumerate().map(lot).collect()
}

/// The stretch of a day to which a task may be pinned.
#[must_use]
pub fn stretch(task: &Task, day: Day) -> Option<(DateTime, DateTime)> {
    let midnight = day.0.to_datetime(Time::midnight());
    let night = day.plus(1).0.to_datetime(Time::midnight());
    let (from, until) = (task.earliest.max(midnight), task.at_most.min(night));
    (task.can_be_pinned() && from < until).then_some((from, until))
}

fn with(tasks: &[Task], lots: &[Lot], (place, pin): (usize, &Pin)) -> Result<(Vec<Lot>, i64), String> {
    let at = tasks.iter().position(|task| task.key == pin.task).ok_or("it is not made any more")?;
    let (earliest, latest) = stretch(&tasks[at], pin.day).ok_or("the day no longer lies in its window")?;
    let mut lots = lots.to_vec();
    let rest = lots.iter().position(|lot| lot.task == at && lot.pin.is_none());
    let rest = rest.ok_or("all of it is pinned already")?;
    let count = pin.count.min(lots[rest].count);
    lots[rest].count -= count;
    if lots[rest].count == 0 {
        lots.remove(rest);
    }
    lots.insert(rest, Lot { task: at, count, earliest, latest, pin: Some(place) });
    settle(tasks, &mut lots);
    let open = |lot: &Lot| lot.earliest < lot.latest;
    if lots.iter().all(open) {
        Ok((lots, count))
    } else {
        Err("what goes before or after it does not fit then".into())
    }
}

/// What comes before is due by the end of what comes after, and what comes after begins no sooner.
fn settle(tasks: &[Task], lots: &mut [Lot]) {
    let of = |lots: &[Lot], task: usize| {
        lots.iter().filter(move |lot| lot.task == task).cloned().collect::<Vec<_>>()
    };
    let forced = |task: usize| tasks[task].short_by.is_some();
    for (at, task) in tasks.iter().enumerate().filter(|(at, _)| !forced(*at)) {
        let before = task.after.iter().filter(|before| !forced(**before));
        let Some(floor) = before.flat_map(|before| of(lots, *before)).map(|lot| lot.earliest).max() else {
            continue;
        };
        for lot in lots.iter_mut().filter(|lot| lot.task == at) {
            lot.earliest = lot.earliest.max(floor);
        }
    }
    for at in (0..tasks.len()).rev().filter(|at| !forced(*at)) {
        let Some(due) = of(lots, at).iter().map(|lot| lot.latest).min() else { continue };
        for before in tasks[at].after.iter().filter(|before| !forced(**before)) {
            for lot in lots.iter_mut().filter(|lot| lot.task == *before) {
                lot.latest = lot.latest.min(due);
            }
        }
    }
}
