//! Work that the designer pins to a day: which pieces of a task, within the task's window up to loading.
//!
//! A pin whose task is gone, or whose day no longer fits, is dropped with a word; one of more pieces than there are keeps what
//! there is. What comes before pinned work is due by its day, what comes after begins no sooner.
//!
//! May import: this room's tasks, this stage's plan, `ground`, `jiff` civil times.

use jiff::civil::{DateTime, Time};

use super::tasks::Task;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::BenchPinId;
use crate::prep::plan::said;

/// No window has more days than this to choose from.
const MOST_DAYS: i64 = 31;

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

/// What one more pin would hold, or why it would not; a pin of the same task and day it takes the place of.
pub fn tried(tasks: &[Task], pins: &[Pin], new: &Pin, formats: &Formats) -> Result<i64, String> {
    let others: Vec<Pin> =
        pins.iter().filter(|pin| (&pin.task, pin.day) != (&new.task, new.day)).cloned().collect();
    with(tasks, &pinned(tasks, &others, formats).lots, (pins.len(), new)).map(|(_, count)| count)
}

/// The days to which pieces of a task may be pinned beside the pins that there are: those on which that leaves all other work its
/// window, and those to which some are pinned already.
#[must_use]
pub fn days(tasks: &[Task], lots: &[Lot], task: usize) -> Vec<Day> {
    let of = &tasks[task];
    let (first, last) = (Day(of.earliest.date()), Day(of.at_most.date()));
    let holds = |day: &Day| {
        let own = |lot: &Lot| lot.task == task && lot.pin.is_some() && Day(lot.earliest.date()) == *day;
        let pin = Pin { id: BenchPinId(0), task: of.key.clone(), day: *day, count: 1 };
        lots.iter().any(own) || with(tasks, lots, (0, &pin)).is_ok()
    };
    (0..=last.days_after(first).min(MOST_DAYS)).map(|later| first.plus(later)).filter(holds).collect()
}

fn with(tasks: &[Task], lots: &[Lot], (place, pin): (usize, &Pin)) -> Result<(Vec<Lot>, i64), String> {
    let at = tasks.iter().position(|task| task.key == pin.task).ok_or("it is not made any more")?;
    let (earliest, latest) = stretch(&tasks[at], pin.day).ok_or("the day no longer lies in its window")?;
    let mut lots = lots.to_vec();
    let rest = lots.iter().position(|lot| lot.task == at && lot.pin.is_none());
    let rest = rest.ok_or("all of it is pinned already, take a pin out first")?;
    let count = pin.count.min(lots[rest].count);
    lots[rest].count -= count;
    if lots[rest].count == 0 {
        lots.remove(rest);
    }
    lots.insert(rest, Lot { task: at, count, earliest, latest, pin: Some(place) });
    settle(tasks, &mut lots);
    match lots.iter().find(|lot| lot.earliest >= lot.latest) {
        None => Ok((lots, count)),
        Some(shut) => Err(no_time(&tasks[shut.task], shut)),
    }
}

/// `that leaves no time for Low bowl, not before Fri 22:00 and not after Fri 18:00`.
fn no_time(task: &Task, lot: &Lot) -> String {
    let (earliest, latest) = (said(lot.earliest), said(lot.latest));
    format!("that leaves no time for {}, not before {earliest} and not after {latest}", task.what)
}

/// What comes before is due by the end of what comes after, and what comes after begins no sooner. A task's befores stand before
/// it, so one walk each way is enough; tasks whose window was empty bind nothing.
pub(super) fn settle(tasks: &[Task], lots: &mut [Lot]) {
    let mut of: Vec<Vec<usize>> = vec![Vec::new(); tasks.len()];
    for (at, lot) in lots.iter().enumerate() {
        of[lot.task].push(at);
    }
    let bound = |task: &usize| tasks[*task].short_by.is_none();
    let mut begins: Vec<Option<DateTime>> = vec![None; tasks.len()];
    for at in (0..tasks.len()).filter(bound) {
        let floor = tasks[at].after.iter().filter_map(|before| begins[*before]).max();
        for lot in &of[at] {
            lots[*lot].earliest = floor.map_or(lots[*lot].earliest, |floor| floor.max(lots[*lot].earliest));
        }
        begins[at] = of[at].iter().map(|lot| lots[*lot].earliest).max();
    }
    let mut due: Vec<Option<DateTime>> = vec![None; tasks.len()];
    for at in (0..tasks.len()).rev().filter(bound) {
        for lot in &of[at] {
            lots[*lot].latest = due[at].map_or(lots[*lot].latest, |due| due.min(lots[*lot].latest));
        }
        let Some(end) = of[at].iter().map(|lot| lots[*lot].latest).min() else { continue };
        for before in &tasks[at].after {
            due[*before] = Some(due[*before].map_or(end, |due| due.min(end)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::tasks::MINUTE;
    use super::*;
    use crate::prep::Step;
    use crate::studio::Studio;

    fn hour(hours: i64) -> DateTime {
        crate::prep::plan::hours_after(jiff::civil::date(2026, 5, 14).at(0, 0, 0, 0), hours)
    }

    /// Four that may be made from Thursday to the end of Friday, or on Saturday up to loading at nine.
    fn task(key: &str, after: &[usize]) -> Task {
        Task {
            key: key.into(),
            step: Step::Make,
            events: vec![0],
            what: key.into(),
            wanted_for: String::new(),
            count: 4,
            unit: MINUTE,
            earliest: hour(0),
            latest: hour(48),
            at_most: hour(57),
            earliest_why: String::new(),
            latest_why: String::new(),
            holds_from: hour(0),
            ready: Vec::new(),
            usual: Day(jiff::civil::date(2026, 5, 15)),
            after: after.to_vec(),
            short_by: None,
            makes: None,
        }
    }

    fn pin(task: &str, day: i8, count: i64) -> Pin {
        Pin { id: BenchPinId(0), task: task.into(), day: Day(jiff::civil::date(2026, 5, day)), count }
    }

    #[test]
    fn only_days_that_hold_are_offered() {
        let tasks = [task("base", &[]), task("bowl", &[0])];
        let formats = Studio::new_book().formats;
        let offered = |pins: &[Pin], at: usize| -> Vec<i8> {
            days(&tasks, &pinned(&tasks, pins, &formats).lots, at).iter().map(|day| day.0.day()).collect()
        };
        // A base is made by when its bowls must be; bowls may be left for Saturday's morning.
        assert_eq!((offered(&[], 0), offered(&[], 1)), (vec![14, 15], vec![14, 15, 16]));
        // Bowls on Thursday: no base may be pinned to Friday.
        assert_eq!(offered(&[pin("bowl", 14, 4)], 0), [14]);
        let no = tried(&tasks, &[pin("bowl", 14, 4)], &pin("base", 15, 1), &formats).unwrap_err();
        assert!(no.starts_with("that leaves no time for "), "{no}");
        // All pinned to Friday: another day only once that is taken out; Friday again takes the pin's place.
        let all = [pin("bowl", 15, 4)];
        assert_eq!(offered(&all, 1), [15]);
        assert!(tried(&tasks, &all, &pin("bowl", 16, 1), &formats).unwrap_err().contains("pinned already"));
        assert_eq!(tried(&tasks, &all, &pin("bowl", 15, 2), &formats), Ok(2));
        assert_eq!(tried(&tasks, &[pin("bowl", 15, 3)], &pin("bowl", 16, 9), &formats), Ok(1));
    }

    #[test]
    fn what_is_before_a_pin_is_due_by_it_and_what_is_after_begins_no_sooner() {
        let tasks = [task("base", &[]), task("bowl", &[0])];
        let formats = Studio::new_book().formats;
        let lots = pinned(&tasks, &[pin("bowl", 14, 1)], &formats).lots;
        assert_eq!((lots[0].earliest, lots[0].latest), (hour(0), hour(24)));
        let lots = pinned(&tasks, &[pin("base", 15, 1)], &formats).lots;
        assert!(lots.iter().filter(|lot| lot.task == 1).all(|lot| lot.earliest == hour(24)), "{lots:?}");
    }
}
