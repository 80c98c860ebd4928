//! Everything that an order could be made of: the need, the whole market and the moment. A choice poses it narrower.
//!
//! May import the room's own need, market and plan.

use super::pins::{Pin, narrowed};
use crate::ground::formats::Formats;
use crate::stem_order::buying_plan::{Plan, Reason};
use crate::stem_order::calendar::{Deliveries, LocalTime};
use crate::stem_order::posed::{Market, Posed, pose};
use crate::stem_order::weekend::Weekend;

/// What an order could be made of.
#[derive(Debug, Clone, Copy)]
pub struct Space<'a> {
    /// The need.
    pub weekend: &'a Weekend,
    /// Everything that can be bought.
    pub market: &'a Market,
    /// On which deliveries.
    pub asked: Deliveries,
    /// When it is planned.
    pub now: LocalTime,
    /// How the studio writes.
    pub formats: &'a Formats,
}

impl Space<'_> {
    /// The problem that some choices leave.
    #[must_use]
    pub fn posed(&self, pins: &[Pin]) -> Posed {
        if pins.is_empty() {
            return pose(self.weekend, self.market, self.asked, self.now);
        }
        pose(self.weekend, &narrowed(self.market, pins), self.asked, self.now)
    }
}

/// Stems that a plan does without.
#[must_use]
pub fn missing(plan: &Plan) -> i64 {
    plan.unmet.iter().map(|unmet| unmet.stems).sum()
}

/// Whether a plan was stopped before it came to any answer.
#[must_use]
pub fn undecided(plan: &Plan) -> bool {
    plan.unmet.iter().any(|unmet| unmet.reason == Reason::NotDecidedInTime)
}
