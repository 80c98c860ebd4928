//! Everything that an order could be made of: the need, the whole market, the moment, and what was ordered before. A choice
//! poses it narrower.
//!
//! May import the stage's own need, market, plan and placed orders.

use super::pins::{Pin, narrowed};
use crate::ground::formats::Formats;
use crate::stem_order::buying_plan::{Plan, Reason};
use crate::stem_order::calendar::{Deliveries, LocalTime};
use crate::stem_order::change::beside::beside;
use crate::stem_order::change::coming::Coming;
use crate::stem_order::placing::PlacedDelivery;
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
    /// What was ordered before, line by line; nothing if nothing was.
    pub lines: &'a [Coming],
    /// Everything that comes in those days, other events' too.
    pub deliveries: &'a [PlacedDelivery],
}

impl Space<'_> {
    /// The problem that some choices leave, beside what was ordered before.
    #[must_use]
    pub fn posed(&self, pins: &[Pin]) -> Posed {
        let posed = self.posed_anew(pins);
        if self.lines.is_empty() {
            return posed;
        }
        beside(self, posed, &self.lines.iter().collect::<Vec<_>>(), self.deliveries)
    }

    /// The same as if nothing had been ordered.
    #[must_use]
    pub fn posed_anew(&self, pins: &[Pin]) -> Posed {
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
