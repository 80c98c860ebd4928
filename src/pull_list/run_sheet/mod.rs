//! The event's day: who drives where when, what stands where, who took it over, what comes down and what comes back.
//!
//! **Invariants.** Hand-overs and returns are rows that are never rewritten: the latest counts, a correction is a new one. Each
//! carries its form's key: sent twice, kept once; the same form sent with something else is a correction. What went out is written down with what came back, as it was called then.
//!
//! May import the stages before this one and this stage's own rooms.

pub mod clashes;
pub mod day;
pub mod forms;
pub mod pages;
pub mod phones;
pub mod rounds;
pub mod store;
pub mod strike;

use crate::ground::dates::{Day, TimeOfDay};
use crate::ground::ids::EventId;

/// That an event was handed over at the venue.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandOver {
    /// Which event.
    pub event: EventId,
    /// To whom.
    pub to: String,
    /// On which day.
    pub on: Day,
    /// At what time.
    pub at: TimeOfDay,
    /// What was changed, what is missing.
    pub remarks: String,
}

/// What came back with the van after an event.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VanReturn {
    /// Which event.
    pub event: EventId,
    /// When it was counted.
    pub on: Day,
    /// By whom; empty where nobody said.
    pub by: String,
    /// What became of the flowers.
    pub flowers: String,
    /// What to remember.
    pub note: String,
    /// Each thing that went out.
    pub lines: Vec<ReturnLine>,
}

/// How many of a thing went out and came back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReturnLine {
    /// What.
    pub what: String,
    /// How many went out.
    pub went: i64,
    /// How many are back.
    pub back: i64,
}

impl VanReturn {
    /// What is still out, in words: `2 × Grey crate, 1 × Snips`; empty where all is back.
    #[must_use]
    pub fn still_out(&self) -> String {
        let out = self.lines.iter().filter(|line| line.back < line.went);
        out.map(|line| format!("{} × {}", line.went - line.back, line.what)).collect::<Vec<_>>().join(", ")
    }
}
