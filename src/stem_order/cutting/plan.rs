//! A plan while it is being made: patterns as counts a size, with how often each is cut.

use std::collections::BTreeMap;

/// Patterns with their times; a pattern is one count a size, in the order of the job's sizes.
#[derive(Clone, Default)]
pub(super) struct Plan {
    patterns: BTreeMap<Vec<u32>, u32>,
}

impl Plan {
    pub(super) fn patterns(&self) -> &BTreeMap<Vec<u32>, u32> {
        &self.patterns
    }

    /// Stock pieces used.
    pub(super) fn stock(&self) -> u32 {
        self.patterns.values().sum()
    }

    pub(super) fn add(&mut self, cuts: Vec<u32>, times: u32) {
        *self.patterns.entry(cuts).or_insert(0) += times;
    }

    pub(super) fn join(mut self, other: &Self) -> Self {
        for (cuts, times) in &other.patterns {
            self.add(cuts.clone(), *times);
        }
        self
    }

    /// Cuts up to `times` of `cuts` out of what is left, without what is not needed any more.
    pub(super) fn take(&mut self, cuts: &[u32], times: u32, left: &mut [u32]) {
        let wanted: Vec<u32> = cuts.iter().zip(&*left).map(|(c, l)| *c.min(l)).collect();
        let repeats = repeats(&wanted, left).min(times);
        if repeats == 0 {
            return;
        }
        for (l, c) in left.iter_mut().zip(&wanted) {
            *l -= c * repeats;
        }
        self.add(wanted, repeats);
        if repeats < times {
            self.take(cuts, times - repeats, left);
        }
    }

    /// Fewer stock pieces, then fewer different patterns.
    pub(super) fn is_better_than(&self, other: &Self) -> bool {
        (self.stock(), self.patterns.len()) < (other.stock(), other.patterns.len())
    }
}

/// How often a pattern can be cut whole out of what is left; 0 for the empty pattern.
pub(super) fn repeats(cuts: &[u32], left: &[u32]) -> u32 {
    cuts.iter().zip(left).filter(|(c, _)| **c > 0).map(|(c, l)| l / c).min().unwrap_or(0)
}
