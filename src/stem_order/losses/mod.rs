//! What the studio has learned of each material's losses (C2): counts from receiving and the bench, when they begin to
//! count, and what the studio fixed itself. The need reads it, so it knows neither placed orders nor receiving; their
//! tables are only read. May import `ground`, `price_list`, `studio` and the stem order's `allowance`.

pub mod forms;
pub mod learned;
pub mod pages;
pub mod store;

use crate::ground::dates::Day;
use crate::ground::ids::MaterialId;
use crate::ground::quantity::Share;

/// What the studio made of a material's counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LossRule {
    /// Counts saves, so that a stale one is noticed; 0 where nothing was ever said.
    pub version: i64,
    /// From which day on counts speak; none is from the first.
    pub counted_from: Option<Day>,
    /// A loss fixed by the studio, for which the counts are left out.
    pub overruled: Option<Share>,
}

/// A rule with its material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RuleOf {
    /// Which material.
    pub material: MaterialId,
    /// What was said of it.
    pub rule: LossRule,
}
