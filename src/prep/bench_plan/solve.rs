//! One answer to one week: lots and shifts as a transport problem, spread, then made whole.
//!
//! May import: this room's calculations.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::DateTime;

use super::pins::Lot;
use super::shifts::Shifts;
use super::spells::{CrewJob, Spells};
use super::spread::{Load, Spread, spread};
use super::tasks::Task;
use super::whole::{Days, Pieces, overtime, whole};

/// A week's problem.
#[derive(Debug, Clone)]
pub(super) struct Posed {
    pub(super) spells: Spells,
    pub(super) pieces: Vec<Pieces>,
}

/// Its answer.
#[derive(Debug, Clone)]
pub(super) struct Solved {
    pub(super) posed: Posed,
    pub(super) spread: Spread,
    /// Whole pieces of each lot by day.
    pub(super) days: Days,
    /// Overtime at the bench by day.
    pub(super) over: BTreeMap<i64, i64>,
}

impl Posed {
    pub(super) fn new(tasks: &[Task], lots: &[Lot], shifts: &Shifts, jobs: &[CrewJob]) -> Posed {
        // Also where crews begin and end: hands that are out at one time are not there at another.
        let windows = lots.iter().flat_map(|lot| [lot.earliest, lot.latest]);
        let edges: BTreeSet<DateTime> =
            windows.chain(jobs.iter().flat_map(|job| [job.from, job.until])).collect();
        let spells = Spells::cut(shifts, jobs, &edges);
        let places =
            |task: usize| lots.iter().enumerate().filter(move |(_, lot)| lot.task == task).map(|(at, _)| at);
        let pieces = lots.iter().map(|lot| {
            let (first, last) = spells.within(lot.earliest, lot.latest).unwrap_or_default();
            let task = &tasks[lot.task];
            let after = task.after.iter().flat_map(|before| places(*before)).collect();
            Pieces { first, last, count: lot.count, unit: task.unit, after }
        });
        Posed { pieces: pieces.collect(), spells }
    }

    pub(super) fn loads(&self) -> Vec<Load> {
        self.pieces.iter().map(Pieces::load).collect()
    }

    /// What crews need beyond the shifts while they are at work at once.
    pub(super) fn crew_over(&self) -> i64 {
        self.spells.days.iter().map(|day| day.crew_over).sum()
    }

    pub(super) fn solve(self) -> Solved {
        let spread = spread(&self.spells.spells, &self.loads());
        let days = whole(&self.spells.spells, &self.pieces, &spread);
        let over = overtime(&self.spells.spells, &self.pieces, &days);
        Solved { posed: self, spread, days, over }
    }
}

impl Solved {
    /// Overtime of whole pieces, crews' too.
    pub(super) fn overtime(&self) -> i64 {
        self.over.values().sum::<i64>() + self.posed.crew_over()
    }

    /// The least overtime of any plan, were pieces divisible; crews' too.
    pub(super) fn least(&self) -> i64 {
        self.spread.total_overtime() + self.posed.crew_over()
    }
}
