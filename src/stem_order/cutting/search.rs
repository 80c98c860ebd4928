//! The last resort: depth-first through patterns, one stock piece at a time, for a layout within a given number.
//!
//! The next stock piece always holds the longest piece left. A pattern is tried only if the waste it makes, in length
//! and in worth at the relaxation's prices, is still affordable; remainders that failed once are not tried again. If
//! nothing is found although nothing was left out, one more stock piece is needed, and that is a proof too.

use std::cmp::Reverse;
use std::collections::HashMap;

use super::effort::Effort;
use super::job::{Job, weigh};
use super::plan::Plan;
use super::relaxation::Relaxed;

/// Patterns kept for one stock piece; with more, the search is no proof any more.
const MOST_PATTERNS: usize = 5_000;
/// Stock pieces that a search may go deep.
const DEEPEST: u32 = 500;

/// Closes the gap between `best` and `bound` as far as `nodes` go.
pub(super) fn close(job: &Job, relaxed: &Relaxed, mut bound: u32, best: Plan, nodes: u64) -> (Plan, u32) {
    while best.stock() > bound {
        // First beside most of the relaxation's whole part, then beside less of it: quick where it succeeds.
        for spared in [0, 1] {
            let fixed = whole_part(job, relaxed, spared);
            if fixed.0.stock() > 0
                && let Outcome::Found(plan) = search(job, relaxed, fixed, bound, nodes / 8)
            {
                return (plan, bound);
            }
        }
        // Then from nothing: only this can prove that there is no such layout.
        let nothing = (Plan::default(), job.demand.clone());
        match search(job, relaxed, nothing, bound, nodes) {
            Outcome::Found(plan) => return (plan, bound),
            Outcome::NoneExists => bound += 1,
            Outcome::GaveUp => break,
        }
    }
    (best, bound)
}

enum Outcome {
    Found(Plan),
    NoneExists,
    GaveUp,
}

/// The relaxation's amounts rounded down, less `spared` of each, and what is then left to cut.
fn whole_part(job: &Job, relaxed: &Relaxed, spared: u32) -> (Plan, Vec<u32>) {
    let mut fixed = Plan::default();
    let mut left = job.demand.clone();
    for (cuts, times) in relaxed.rounded_down() {
        fixed.take(cuts, times.saturating_sub(spared), &mut left);
    }
    (fixed, left)
}

/// Looks for a layout of `stock` pieces that contains the fixed plan.
fn search(
    job: &Job,
    relaxed: &Relaxed,
    (fixed, mut left): (Plan, Vec<u32>),
    stock: u32,
    nodes: u64,
) -> Outcome {
    let rest = stock.saturating_sub(fixed.stock());
    if rest > DEEPEST {
        return Outcome::GaveUp;
    }
    let mut search = Search {
        job,
        relaxed,
        richest: richest(job, relaxed),
        effort: Effort::of(nodes),
        complete: true,
        failed: HashMap::new(),
        cut: Vec::new(),
    };
    if !search.descend(&mut left, rest) {
        return if search.complete { Outcome::NoneExists } else { Outcome::GaveUp };
    }
    let mut plan = fixed;
    for cuts in search.cut {
        plan.add(cuts, 1);
    }
    Outcome::Found(plan)
}

/// From each size on, the size that is worth most for its length.
fn richest(job: &Job, relaxed: &Relaxed) -> Vec<usize> {
    let mut richest: Vec<usize> = (0..job.sizes.len()).collect();
    for i in (1..richest.len()).rev() {
        let (here, after) = (i - 1, richest[i]);
        let value = |a: usize, b: usize| i128::from(relaxed.prices[a]) * i128::from(job.sizes[b]);
        if value(after, here) > value(here, after) {
            richest[here] = after;
        }
    }
    richest
}

struct Search<'a> {
    job: &'a Job,
    relaxed: &'a Relaxed,
    richest: Vec<usize>,
    effort: Effort,
    /// Nothing has been left out so far.
    complete: bool,
    /// Remainders, and the most stock pieces with which they failed.
    failed: HashMap<Vec<u32>, u32>,
    cut: Vec<Vec<u32>>,
}

/// A pattern in the making.
struct Open<'a> {
    left: &'a [u32],
    cuts: Vec<u32>,
    room: i64,
    worth: i64,
    most_waste: i128,
    least_worth: i128,
    found: Vec<(Reverse<i64>, i64, Vec<u32>)>,
}

impl Search<'_> {
    /// Whether what is left can be cut from `stock` more pieces; the patterns are then in `cut`.
    fn descend(&mut self, left: &mut Vec<u32>, stock: u32) -> bool {
        let Some(longest) = left.iter().position(|count| *count > 0) else {
            return true;
        };
        if self.failed.get(left).is_some_and(|most| *most >= stock) {
            return false;
        }
        for cuts in self.affordable(left, longest, stock) {
            change(left, &cuts, |count, cut| count - cut);
            self.cut.push(cuts);
            if self.descend(left, stock - 1) {
                return true;
            }
            if let Some(cuts) = self.cut.pop() {
                change(left, &cuts, |count, cut| count + cut);
            }
            if self.effort.is_spent() {
                self.complete = false;
                return false;
            }
        }
        self.failed.insert(left.clone(), stock);
        false
    }

    /// The patterns for the next stock piece, least waste of worth first.
    fn affordable(&mut self, left: &[u32], longest: usize, stock: u32) -> Vec<Vec<u32>> {
        let stock = i128::from(stock);
        let dearest = i128::from(self.relaxed.dearest);
        let most_waste = stock * i128::from(self.job.capacity) - self.job.total(left);
        let spare_worth = stock * dearest - weigh(&self.relaxed.prices, left);
        if most_waste < 0 || spare_worth < 0 {
            return Vec::new();
        }
        let mut open = Open {
            left,
            cuts: vec![0; left.len()],
            room: self.job.capacity,
            worth: 0,
            most_waste,
            least_worth: dearest - spare_worth,
            found: Vec::new(),
        };
        self.complete_pattern(&mut open, longest, 1);
        open.found.sort_unstable_by(|a, b| (a.0, a.1, Reverse(&a.2)).cmp(&(b.0, b.1, Reverse(&b.2))));
        open.found.into_iter().map(|found| found.2).collect()
    }

    /// Tries every count of size `i`, not under `least`, and goes on to the shorter sizes.
    fn complete_pattern(&mut self, open: &mut Open, i: usize, least: u32) {
        if open.found.len() >= MOST_PATTERNS || !self.effort.spend_node() {
            self.complete = false;
            return;
        }
        let Some(i) = (i..open.left.len()).find(|&i| open.left[i] > 0 && self.job.sizes[i] <= open.room)
        else {
            self.keep(open);
            return;
        };
        if self.too_poor(open, i) {
            return;
        }
        let (size, price) = (self.job.sizes[i], self.relaxed.prices[i]);
        let most = u32::try_from(open.room / size).map_or(open.left[i], |fit| fit.min(open.left[i]));
        for count in (least..=most).rev() {
            let copies = i64::from(count);
            open.cuts[i] = count;
            open.room -= size * copies;
            open.worth += price * copies;
            self.complete_pattern(open, i + 1, 0);
            open.room += size * copies;
            open.worth -= price * copies;
        }
        open.cuts[i] = 0;
    }

    /// Even the room filled with the best worth for its length would not be enough.
    fn too_poor(&self, open: &Open, i: usize) -> bool {
        let best = self.richest[i];
        let missing = open.least_worth - i128::from(open.worth);
        missing * i128::from(self.job.sizes[best])
            > i128::from(self.relaxed.prices[best]) * i128::from(open.room)
    }

    /// Keeps a finished pattern if its waste is affordable and no piece left would still fit.
    fn keep(&self, open: &mut Open) {
        let affordable =
            i128::from(open.room) <= open.most_waste && i128::from(open.worth) >= open.least_worth;
        let fits = |i: usize| open.left[i] > open.cuts[i] && self.job.sizes[i] <= open.room;
        if affordable && !(0..open.left.len()).any(fits) {
            open.found.push((Reverse(open.worth), open.room, open.cuts.clone()));
        }
    }
}

fn change(left: &mut [u32], cuts: &[u32], by: fn(u32, u32) -> u32) {
    for (count, cut) in left.iter_mut().zip(cuts) {
        *count = by(*count, *cut);
    }
}
