//! The bench plan (C7): who works when, what is done on which day within its window, what does not fit and what would mend it,
//! what the designer pins to a day. The days' sheets follow it. May import the stages before prep, and prep's own rooms.

mod conditioning;
pub mod conflicts;
mod flow;
pub mod forms;
mod making;
pub mod milestones;
pub mod overfull;
pub mod pages;
pub mod pins;
pub mod plan;
pub mod shifts;
mod solve;
pub mod spells;
pub mod spread;
pub mod store;
pub mod tasks;
pub mod week_fit;
pub mod whole;

use std::collections::HashMap;

pub use making::DRESS_MINUTES;
pub use plan::{BenchPlan, plan};

use self::pins::Pin;
use self::shifts::Shifts;
use super::event_work::EventWork;
use crate::ground::ids::EventId;

/// What the bench plan is made from, beside the prep plan's own.
#[derive(Debug, Clone, Default)]
pub struct BenchInputs {
    /// Who works when.
    pub shifts: Shifts,
    /// What was typed of events' work beside the making.
    pub works: HashMap<EventId, EventWork>,
    /// Work that the designer pinned to a day.
    pub pins: Vec<Pin>,
    /// Person-minutes of dressing a vessel, where somebody said so.
    pub dress_minutes: Option<i64>,
}
