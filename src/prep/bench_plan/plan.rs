//! The bench plan of some events: who does what on which day. Tasks with their windows, spread over the shifts with least
//! overtime and as late as is safe, made whole, with the designer's pins; what does not fit is named.
//!
//! Where nobody has said who works when, every task stands on its usual day (the day before, or the day itself), hours are
//! shown and nothing is called overtime.
//!
//! May import: this room's calculations, this stage's plan and event work, types of the rooms before, `ground`, `rust_decimal`,
//! `jiff` civil times.

use std::collections::BTreeMap;

use jiff::civil::Time;
use rust_decimal::Decimal;

use super::conflicts::{PlanConflict, Told};
use super::pins::{Lot, Pin, Pinned, pinned};
use super::shifts::{Shifts, hours_words};
use super::solve::{Posed, Solved};
use super::spells::{CrewJob, DayRoom, crew_jobs};
use super::tasks::{MINUTE, Task, Work, tasks};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::prep::Step;
use crate::prep::plan::{PrepInputs, Serves};
use crate::recipes::explosion::ExplosionError;

/// The bench plan.
#[derive(Debug, Clone)]
pub struct BenchPlan {
    /// Whether anybody has said who works when.
    pub known: bool,
    /// The tasks.
    pub work: Work,
    /// The tasks as the pins cut them.
    pub lots: Vec<Lot>,
    /// What crews do at fixed times.
    pub jobs: Vec<CrewJob>,
    /// How many pieces of each task are done on which day.
    pub placed: Vec<BTreeMap<Day, i64>>,
    /// Every day from the first task to the last return.
    pub days: Vec<PlanDay>,
    /// What becomes of the pins, in their order.
    pub pins: Vec<PinStanding>,
    /// To which days pieces of each task may be pinned.
    pub pin_days: Vec<Vec<Day>>,
    /// Overtime of whole pieces and crews, in thousandths of a person-minute.
    pub overtime: i64,
    /// The least overtime of any plan with these pins, were pieces divisible.
    pub least: i64,
    /// What does not fit.
    pub conflicts: Vec<PlanConflict>,
}

/// A day of the plan. Work in thousandths of a person-minute.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlanDay {
    /// Which.
    pub day: Day,
    /// Its shift and what crews take.
    pub room: DayRoom,
    /// Work at the bench: conditioning, dressing, making.
    pub bench: [i64; 3],
    /// Overtime, of the bench and of crews.
    pub over: i64,
}

/// A pin and what it costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PinStanding {
    /// The pin.
    pub pin: Pin,
    /// How many pieces it holds, or why it was dropped.
    pub held: Result<i64, String>,
    /// Overtime more (less where negative) than the plan without this pin.
    pub costs: i64,
}

impl PlanDay {
    /// All work of the day within and beyond its shift; what crews do outside it is apart.
    #[must_use]
    pub fn work(&self) -> i64 {
        self.bench.iter().sum::<i64>() + self.room.crew + self.room.crew_over
    }
}

impl BenchPlan {
    /// On which days a task is done, by its key.
    #[must_use]
    pub fn days_of(&self, key: &str) -> Vec<(Day, i64)> {
        let task = self.work.tasks.iter().position(|task| task.key == key);
        task.map_or_else(Vec::new, |at| self.placed[at].iter().map(|(day, count)| (*day, *count)).collect())
    }

    /// From which day to which the pieces that a delivery serves are made; as usual where the plan has none of them.
    #[must_use]
    pub fn making_of(&self, serves: &Serves) -> (Day, Day) {
        let own = self.work.tasks.iter().zip(&self.placed).filter(|(task, _)| {
            task.events == [serves.event] && task.makes.is_some_and(|recipe| serves.recipes.contains(&recipe))
        });
        let days = || own.clone().flat_map(|(_, days)| days.keys().copied());
        days().min().zip(days().max()).unwrap_or((serves.make_day, serves.make_day))
    }

    /// Minutes of making by day, for the event at a place of the weekend.
    #[must_use]
    pub fn making(&self, event: usize) -> BTreeMap<Day, Decimal> {
        let mut minutes: BTreeMap<Day, Decimal> = BTreeMap::new();
        let made = self.work.tasks.iter().zip(&self.placed);
        for (task, days) in made.filter(|(task, _)| task.makes.is_some() && task.events == [event]) {
            for (day, count) in days {
                let own = Decimal::new(super::tasks::work(*count, task.unit), 3);
                let sum = minutes.entry(*day).or_default();
                *sum = sum.saturating_add(own);
            }
        }
        minutes
    }
}

/// Work in words, rounded up to the minute: `6 h 35 min`.
#[must_use]
pub fn words(work: i64) -> String {
    hours_words(work.saturating_add(MINUTE - 1) / MINUTE)
}

/// The plan of a weekend.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn plan(inputs: &PrepInputs, formats: &Formats) -> Result<BenchPlan, ExplosionError> {
    let work = tasks(inputs)?;
    let jobs = crew_jobs(&work.times, &work.worked);
    let shifts = &inputs.bench.shifts;
    let pins = &inputs.bench.pins;
    let Pinned { lots, held } = pinned(&work.tasks, pins, formats);
    let solve = |pins: &[Pin]| {
        Posed::new(&work.tasks, &pinned(&work.tasks, pins, formats).lots, shifts, &jobs).solve()
    };
    let solved = Posed::new(&work.tasks, &lots, shifts, &jobs).solve();
    let costs = |at: usize| {
        let without: Vec<Pin> =
            pins.iter().enumerate().filter(|(own, _)| *own != at).map(|(_, p)| p.clone()).collect();
        if shifts.are_known() { solved.overtime() - solve(&without).overtime() } else { 0 }
    };
    let standing = |(at, (pin, held)): (usize, (&Pin, Result<i64, String>))| {
        let costs = if held.is_ok() { costs(at) } else { 0 };
        PinStanding { pin: pin.clone(), held, costs }
    };
    let pins = pins.iter().zip(held).enumerate().map(standing).collect();
    let told = Told { inputs, work: &work, lots: &lots, jobs: &jobs, solved: &solved, formats };
    let conflicts = told.conflicts();
    let placed = placed(&work, shifts, &lots, &solved);
    let days = days(&work, shifts, &placed, &solved);
    let (overtime, least) = if shifts.are_known() { (solved.overtime(), solved.least()) } else { (0, 0) };
    let known = shifts.are_known();
    let pin_days = pin_days(&work, &lots);
    Ok(BenchPlan { known, work, lots, jobs, placed, days, pins, pin_days, overtime, least, conflicts })
}

fn pin_days(work: &Work, lots: &[Lot]) -> Vec<Vec<Day>> {
    let may = |(at, task): (usize, &Task)| {
        if task.can_be_pinned() { super::pins::days(&work.tasks, lots, at) } else { Vec::new() }
    };
    work.tasks.iter().enumerate().map(may).collect()
}

/// Pieces of each task by day; without shifts on their usual days, but where pinned.
fn placed(work: &Work, shifts: &Shifts, lots: &[Lot], solved: &Solved) -> Vec<BTreeMap<Day, i64>> {
    let mut placed = vec![BTreeMap::new(); work.tasks.len()];
    for (lot, days) in lots.iter().zip(&solved.days) {
        let own: &mut BTreeMap<Day, i64> = &mut placed[lot.task];
        if !shifts.are_known() && lot.pin.is_none() {
            *own.entry(usual(&work.tasks[lot.task], lot)).or_default() += lot.count;
            continue;
        }
        for (day, count) in days {
            *own.entry(solved.posed.spells.day(*day)).or_default() += count;
        }
    }
    placed
}

/// A task's usual day, but where what is pinned before or after it leaves it no such day.
fn usual(task: &Task, lot: &Lot) -> Day {
    let mut day = task.usual;
    if lot.latest < task.latest {
        let last = Day(lot.latest.date());
        day = day.min(if lot.latest.time() == Time::midnight() { last.plus(-1) } else { last });
    }
    if lot.earliest > task.earliest { day.max(Day(lot.earliest.date())) } else { day }
}

fn days(work: &Work, shifts: &Shifts, placed: &[BTreeMap<Day, i64>], solved: &Solved) -> Vec<PlanDay> {
    let mut bench: BTreeMap<Day, [i64; 3]> = BTreeMap::new();
    for (task, days) in work.tasks.iter().zip(placed) {
        let kind = match task.step {
            Step::Condition => 0,
            Step::Dress => 1,
            Step::Cut | Step::Make => 2,
        };
        for (day, count) in days {
            let sum = &mut bench.entry(*day).or_default()[kind];
            *sum = sum.saturating_add(super::tasks::work(*count, task.unit));
        }
    }
    let spells = &solved.posed.spells;
    let known = shifts.are_known();
    let day = |(number, room): (i64, &DayRoom)| {
        let day = spells.day(number);
        let over = if known { solved.over.get(&number).copied().unwrap_or(0) + room.crew_over } else { 0 };
        PlanDay { day, room: *room, bench: bench.remove(&day).unwrap_or_default(), over }
    };
    let mut days: Vec<PlanDay> = (0_i64..).zip(&spells.days).map(day).collect();
    let rest =
        bench.into_iter().map(|(day, bench)| PlanDay { day, room: DayRoom::default(), bench, over: 0 });
    days.extend(rest);
    days.sort_by_key(|day| day.day);
    days
}
