//! How many stems each cell should have: branch and bound over ranges of purchases, with the smoothed component
//! as the bound. A smoothed answer names stems for every cell; buying at least so many is a purchase, and where
//! its cost and the smoothed cost differ most, the cell gets either less than that step or at least that step.
//! Imports the smoothing.

use super::cell::NEVER;
use super::labels::Bundle;
use super::smooth::{Network, Smoothed};

/// Ranges after which only whole units of cost count, and ties are left as they are.
const FINE_RANGES: usize = 1_000;

pub(super) struct Split {
    pub(super) cost: i64,
    pub(super) bound: i64,
    /// Stems of the step bought for every cell; empty if none below the ceiling was found.
    pub(super) steps: Vec<i64>,
}

/// Which bundles of each cell are still allowed: from the first up to before the second.
#[derive(Clone)]
struct Ranges {
    bound: i64,
    of: Vec<(usize, usize)>,
}

/// Looks at so many ranges at `most`, then the answer is given with the bound so far.
pub(super) fn split(
    network: &Network,
    bundles: &[Vec<Bundle>],
    ceiling: i64,
    unit: i64,
    most: usize,
    may_go_on: &mut dyn FnMut() -> bool,
) -> Split {
    if network.is_empty() {
        // Nothing is left to share out: every slot at its least.
        let cost = bundles.iter().map(|b| b[0].cost).sum();
        return Split { cost, bound: cost, steps: vec![0; bundles.len()] };
    }
    let mut best = Split { cost: ceiling, bound: NEVER, steps: Vec::new() };
    let mut open = NEVER;
    let mut waiting = vec![Ranges { bound: 0, of: bundles.iter().map(|b| (0, b.len())).collect() }];
    let mut looked = 0;
    while let Some(mut ranges) = waiting.pop() {
        if ranges.bound >= best.cost {
            continue;
        }
        if looked > FINE_RANGES && ranges.bound / unit >= best.cost / unit {
            open = open.min(ranges.bound);
            continue;
        }
        looked += 1;
        if looked > most || (looked % 16 == 0 && !may_go_on()) {
            open = open.min(ranges.bound);
            looked = most;
            continue;
        }
        let allowed: Vec<&[Bundle]> = bundles.iter().zip(&ranges.of).map(|(b, r)| &b[r.0..r.1]).collect();
        let smoothed = network.smooth(&allowed);
        ranges.bound = ranges.bound.max(smoothed.cost);
        if ranges.bound >= best.cost {
            continue;
        }
        let (cost, steps, furthest) = round_up(&smoothed, &allowed);
        if cost < best.cost {
            best = Split {
                cost,
                bound: NEVER,
                steps: steps.iter().zip(&allowed).map(|(&s, b)| b[s].stems).collect(),
            };
        }
        if ranges.bound < best.cost {
            divide(&ranges, furthest, steps[furthest], &smoothed, &allowed, &mut waiting);
        }
    }
    if best.steps.is_empty() {
        best.cost = NEVER;
    }
    best.bound = open.min(best.cost.min(ceiling));
    best
}

/// The purchase that has at least the smoothed stems everywhere, its step in every cell, and the cell where it
/// costs most more than smoothed.
fn round_up(smoothed: &Smoothed, allowed: &[&[Bundle]]) -> (i64, Vec<usize>, usize) {
    let mut cost = 0;
    let mut steps = Vec::with_capacity(allowed.len());
    let (mut furthest, mut most) = (0, -1);
    for (cell, bundles) in allowed.iter().enumerate() {
        let wanted = smoothed.stems(cell);
        let step = bundles.partition_point(|b| b.stems < wanted);
        let extra = bundles[step].cost - smoothed.spent(cell);
        if extra > most {
            (furthest, most) = (cell, extra);
        }
        cost += bundles[step].cost;
        steps.push(step);
    }
    (cost, steps, furthest)
}

/// Less than the step in one range, the step or more in the other; the nearer one is looked at first.
fn divide(
    ranges: &Ranges,
    cell: usize,
    step: usize,
    smoothed: &Smoothed,
    allowed: &[&[Bundle]],
    waiting: &mut Vec<Ranges>,
) {
    if step == 0 {
        return;
    }
    let (first, end) = ranges.of[cell];
    let (mut less, mut more) = (ranges.clone(), ranges.clone());
    less.of[cell] = (first, first + step);
    more.of[cell] = (first + step, end);
    let wanted = smoothed.stems(cell);
    let bundles = allowed[cell];
    let up_first = bundles[step].stems - wanted <= wanted - bundles[step - 1].stems;
    if up_first {
        waiting.extend([less, more]);
    } else {
        waiting.extend([more, less]);
    }
}
