//! A row of the week's page: so many of a task on one day, in words.

use super::super::plan::words;
use super::super::tasks::{Task, work};
use crate::ground::dates::{Day, TimeOfDay};

/// A task on one day.
pub(super) struct Row<'a> {
    pub(super) task: &'a Task,
    pub(super) at: usize,
    pub(super) day: Day,
    pub(super) count: i64,
}

impl Row<'_> {
    /// `8 of 14`, or `14`.
    pub(super) fn counted(&self) -> String {
        if self.count < self.task.count {
            format!("{} of {}", self.count, self.task.count)
        } else {
            self.count.to_string()
        }
    }

    pub(super) fn work(&self) -> String {
        words(work(self.count, self.task.unit))
    }

    /// `Thu 14, 22:00 to the end of Fri 15`; `all Thu 14`.
    pub(super) fn window(&self) -> String {
        let (from, until) = (self.task.earliest, self.task.latest);
        let (first, last) = (dated(Day(from.date())), Day(until.date()));
        let starts =
            if is_midnight(from) { first.clone() } else { format!("{first}, {}", TimeOfDay(from.time())) };
        if !is_midnight(until) {
            return format!("{starts} to {}, {}", dated(last), TimeOfDay(until.time()));
        }
        let ends = dated(last.plus(-1));
        if first == ends && is_midnight(from) {
            format!("all {first}")
        } else {
            format!("{starts} to the end of {ends}")
        }
    }

    /// The same for all its rows, to name fields apart.
    pub(super) fn field(&self) -> String {
        format!("{}-{}", self.at, self.day)
    }

    /// What one of them takes.
    pub(super) fn each(&self) -> String {
        let minutes = rust_decimal::Decimal::new(self.task.unit, 3).normalize();
        format!("{} × {minutes} minutes", self.count)
    }
}

/// `Thu 14`: windows reach over a week.
fn dated(day: Day) -> String {
    format!("{} {}", day.weekday_short(), day.0.day())
}

/// Midnight is where a day begins and the one before it ends.
fn is_midnight(moment: jiff::civil::DateTime) -> bool {
    moment.time() == jiff::civil::Time::midnight()
}
