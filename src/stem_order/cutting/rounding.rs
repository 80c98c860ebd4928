//! From fractions to whole stock pieces: fix the whole parts, relax what is left, and again until nothing is left.

use super::effort::Effort;
use super::greedy;
use super::job::Job;
use super::plan::Plan;
use super::relaxation::{Relaxed, relax};

/// Replaces `best` by what rounding finds, if that is better; stops at `bound`.
pub(super) fn improve(job: &Job, root: &Relaxed, bound: u32, best: &mut Plan, effort: &mut Effort) {
    let mut left = job.demand.clone();
    let mut fixed = Plan::default();
    fix(root, &mut fixed, &mut left);
    loop {
        let whole = fixed.clone().join(&greedy::best(job, &left, effort));
        if whole.is_better_than(best) {
            *best = whole;
        }
        let all_fixed = left.iter().all(|count| *count == 0);
        if all_fixed || best.stock() <= bound {
            return;
        }
        let relaxed = relax(job, &left, effort);
        if fixed.stock() + relaxed.bound > bound {
            return;
        }
        fix(&relaxed, &mut fixed, &mut left);
    }
}

/// Fixes the whole part of every amount; where all are below one, the greatest as one.
fn fix(relaxed: &Relaxed, fixed: &mut Plan, left: &mut [u32]) {
    let whole = relaxed.rounded_down();
    for (cuts, times) in &whole {
        fixed.take(cuts, *times, left);
    }
    if let (true, Some((cuts, _))) = (whole.is_empty(), relaxed.patterns.first()) {
        fixed.take(cuts, 1, left);
    }
}
