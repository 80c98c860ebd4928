//! Whether a week can be done, before it is sold: hours needed against hours of the shifts, and the least overtime of any plan.
//! Deliveries, windows, crews and shifts are those of the bench plan's page; pins are left out, since any plan may do without.
//!
//! May import: this room's calculations, this stage's plan.

use super::pins::free;
use super::plan::words;
use super::shifts::Shifts;
use super::solve::Posed;
use super::spells::crew_jobs;
use super::spread::least_overtime;
use super::tasks::{MINUTE, tasks};
use crate::ground::dates::Day;
use crate::prep::plan::PrepInputs;
use crate::recipes::explosion::ExplosionError;

/// A week's work against its shifts, in thousandths of a person-minute.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct WeekFit {
    /// Work at the bench and of crews within the shifts.
    pub work: i64,
    /// Room of the shifts from Monday to Sunday.
    pub room: i64,
    /// The least overtime of any plan.
    pub over: i64,
}

impl WeekFit {
    /// Whether there is overtime of a minute and more.
    #[must_use]
    pub fn is_overfull(&self) -> bool {
        self.over >= MINUTE
    }

    /// `62 h of work, 80 h of shifts, 3 h 20 min of overtime at the least`.
    #[must_use]
    pub fn words(&self) -> String {
        let over = if self.is_overfull() {
            format!("{} of overtime at the least", words(self.over))
        } else {
            "no overtime".into()
        };
        format!("{} of work, {} of shifts, {over}", words(self.work), words(self.room))
    }
}

/// How the week that begins on a Monday fits.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn week_fit(inputs: &PrepInputs, monday: Day) -> Result<WeekFit, ExplosionError> {
    let work = tasks(inputs)?;
    let shifts = &inputs.bench.shifts;
    let jobs = crew_jobs(&work.times, &work.worked);
    let posed = Posed::new(&work.tasks, &free(&work.tasks), shifts, &jobs);
    let bench: i64 = work.tasks.iter().map(super::tasks::Task::work).sum();
    let crews: i64 = posed.spells.days.iter().map(|day| day.crew + day.crew_over).sum();
    let over = least_overtime(&posed.spells.spells, &posed.loads()) + posed.crew_over();
    Ok(WeekFit { work: bench + crews, room: room(shifts, monday), over })
}

fn room(shifts: &Shifts, monday: Day) -> i64 {
    (0..7).map(|later| shifts.day(monday.plus(later)).minutes.saturating_mul(MINUTE)).sum()
}
