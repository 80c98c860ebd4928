//! The exact end where least orders bind: when it is decided which deliveries are used, and the bound from prices
//! leaves a gap, the purchases of every component that could still matter are listed and combined. Imports the
//! search's parts, options and labels.

use std::rc::Rc;

use super::cell::NEVER;
use super::dual::Relaxed;
use super::fill::{Fillers, LARGEST_VALUE, merge};
use super::labels::{Bundle, Finished, Stage, Tally, Task};
use super::options::{Wanted, options};
use super::search::{Found, Packs, Search};
use super::set::Set;

/// Purchases listed of each component, and kept when they are combined.
const LISTED: [usize; 3] = [2_000, 50_000, 200_000];
const STEPS_BETWEEN_ASKING: usize = 20_000;

/// Deliveries that must come to a goods value, with the deliveries that are open and the fees already due, in parts.
pub(super) struct Closing<'a> {
    pub(super) open: Set,
    pub(super) required: Vec<(usize, i64)>,
    pub(super) fees: i64,
    /// For every delivery, in parts for a minor unit.
    pub(super) pull: &'a [i64],
}

impl Closing<'_> {
    /// The least cost of a node on which all is decided if it is below the ceiling, or a bound.
    ///
    /// Only the goods values that are missed at first are asked for, the others once a purchase misses them.
    pub(super) fn close(mut self, search: &mut Search, best: &Relaxed) -> i64 {
        let mut bound = search.measure.whole(best.bound);
        if let Some(packs) = search.fill_anyhow(&self.required, &best.packs).filter(|_| best.complete) {
            Self::propose(search, packs);
        }
        if self.required.iter().any(|required| required.1 > LARGEST_VALUE) {
            return bound;
        }
        let all = self.required.clone();
        self.required.retain(|&(d, least)| best.goods[d] < least || self.pull[d] > 0);
        loop {
            let (closed, missed) = self.combine(search, best, &all);
            bound = bound.max(closed);
            if missed.is_empty() || bound >= search.ceiling() || !(search.may_go_on)() {
                return bound;
            }
            self.required.extend(missed);
        }
    }

    /// Rounded up to what a plan can come to, fees included.
    fn whole(&self, search: &Search, bound: i64) -> i64 {
        if bound >= NEVER { NEVER } else { search.measure.whole(bound + self.fees) }
    }

    fn costs(&self, search: &Search, number: usize) -> Vec<i64> {
        let choices = &search.parts[number].component.choices;
        choices.iter().map(|c| c.cost - c.price * self.pull[c.delivery]).collect()
    }

    /// Takes the packs as a plan if they are one.
    fn propose(search: &mut Search, packs: Packs) {
        let goods = search.goods_of(&packs);
        let Some(fees) = search.fees(&goods) else { return };
        search.keep(Found { cost: search.cost_of(&packs) + fees, packs });
    }

    /// A bound on the node, and what of all that is required the cheapest combination misses. Short lists are tried
    /// first, since a plan that costs the bound ends the matter.
    fn combine(&self, search: &mut Search, best: &Relaxed, all: &[(usize, i64)]) -> (i64, Vec<(usize, i64)>) {
        let mut bound = search.measure.whole(best.bound);
        for most in LISTED {
            let (settled, missed) = self.combine_lists(search, best, all, most);
            bound = bound.max(settled.unwrap_or(0));
            if bound >= search.ceiling() || !missed.is_empty() || !(search.may_go_on)() {
                return (bound, missed);
            }
        }
        (bound, Vec::new())
    }

    /// What the node costs at least, if nothing had to be left out of the lists; and what is missed.
    fn combine_lists(
        &self,
        search: &mut Search,
        best: &Relaxed,
        all: &[(usize, i64)],
        most: usize,
    ) -> (Option<i64>, Vec<(usize, i64)>) {
        let ceiling = search.ceiling() - self.fees - self.credit();
        let slack = ceiling - best.each.iter().sum::<i64>();
        let mut complete = true;
        let mut stages = Vec::new();
        let mut certain = Certain::new(self.required.len());
        for number in 0..search.parts.len() {
            let costs = self.costs(search, number);
            let (required, pull) = (self.required.as_slice(), self.pull);
            let ceiling = best.each[number] + slack;
            let wanted = Wanted { open: self.open, required, pull, costs: &costs, ceiling, most };
            let listed = options(&mut search.parts[number].component, &wanted, search.may_go_on);
            complete &= listed.complete;
            match listed.bundles.as_slice() {
                [only] => certain.take(number, only),
                _ => stages.push(Stage { cell: number, bundles: listed.bundles }),
            }
        }
        stages.push(Stage { cell: usize::MAX, bundles: vec![certain.bundle] });
        stages.sort_by_key(|s| s.bundles.len());
        let (settled, missed) = self.combine_stages(search, (&stages, &certain.packs), all, ceiling, most);
        (complete.then_some(settled), missed)
    }

    /// What the pulls pay for in any case.
    fn credit(&self) -> i64 {
        self.required.iter().map(|&(d, least)| least * self.pull[d]).sum()
    }

    /// All lists but the last are put together; with each of what comes out every purchase of the last one is tried.
    fn combine_stages(
        &self,
        search: &mut Search,
        (stages, certain): (&[Stage], &Packs),
        all: &[(usize, i64)],
        ceiling: i64,
        width: usize,
    ) -> (i64, Vec<(usize, i64)>) {
        let Some((last, stages)) = stages.split_last() else { return (search.ceiling(), Vec::new()) };
        let tally = |&(d, least): &(usize, i64)| Tally::UpTo { enough: least, over: self.pull[d] };
        let tallies: Vec<Tally> = self.required.iter().map(tally).collect();
        let least_of_last = last.bundles.iter().map(|b| b.cost).min().unwrap_or(NEVER);
        let task = Task {
            rows: &[],
            stages,
            tallies: &tallies,
            prices: &[],
            ceiling: ceiling.saturating_sub(least_of_last),
            width,
        };
        let outcome = task.run(search.may_go_on);
        let fillers: Vec<_> = self.required.iter().map(|&(d, least)| search.fillers(d, least)).collect();
        let credit = self.credit();
        let mut best: Option<(i64, &Finished, &Bundle)> = None;
        let mut dropped = outcome.dropped.saturating_add(least_of_last);
        let mut cheapest_first: Vec<&Bundle> = last.bundles.iter().collect();
        cheapest_first.sort_by_key(|b| b.cost);
        let mut steps = 0;
        for finished in &outcome.finished {
            if steps > STEPS_BETWEEN_ASKING && !(search.may_go_on)() {
                dropped = finished.cost.saturating_add(least_of_last).min(dropped);
                continue;
            }
            steps %= STEPS_BETWEEN_ASKING + 1;
            let within = best.map_or(ceiling, |(least, ..)| ceiling.min(least - credit));
            for bundle in cheapest_first.iter().take_while(|b| finished.cost + b.cost < within) {
                steps += 1;
                let cost = self.filled_up(finished, bundle, &fillers);
                if cost < NEVER && best.is_none_or(|(least, ..)| cost < least) {
                    best = Some((cost, finished, bundle));
                }
            }
        }
        let dropped = if dropped >= NEVER { NEVER } else { self.whole(search, dropped + credit) };
        if let Some((cost, finished, bundle)) = best {
            let mut packs = certain.clone();
            let chosen = stages.iter().zip(&finished.bundles).map(|(stage, &at)| (stage, &stage.bundles[at]));
            for (stage, bundle) in chosen.chain([(last, bundle)]) {
                packs.extend(bundle.packs.iter().map(|&(choice, count)| (stage.cell, choice, count)));
            }
            for (gap, fillers) in self.gaps(finished, bundle).zip(&fillers) {
                merge(&mut packs, fillers.packs(gap));
            }
            let goods = search.goods_of(&packs);
            let missed = all.iter().filter(|(d, least)| goods[*d] < *least).copied();
            let missed: Vec<(usize, i64)> = missed.collect();
            if !missed.is_empty() {
                return (self.whole(search, cost).min(dropped), missed);
            }
            Self::propose(search, packs);
        }
        (search.ceiling().min(dropped), Vec::new())
    }

    /// What is still missing of each goods value.
    fn gaps<'a>(&'a self, finished: &'a Finished, bundle: &'a Bundle) -> impl Iterator<Item = i64> + 'a {
        let spent = finished.tallies.iter().zip(&bundle.adds);
        self.required.iter().zip(spent).map(|(&(_, least), (spent, add))| least - spent - add)
    }

    /// The goods' cost: what is spent was credited; now it counts, and what is missing is filled up by loose packs.
    fn filled_up(&self, finished: &Finished, bundle: &Bundle, fillers: &[Rc<Fillers>]) -> i64 {
        let mut cost = finished.cost + bundle.cost;
        let mut at = self.required.iter().zip(&finished.tallies).zip(&bundle.adds);
        let spent = at.by_ref().map(|((&(d, _), spent), add)| self.pull[d] * (spent + add));
        cost += spent.sum::<i64>();
        for (gap, fillers) in self.gaps(finished, bundle).zip(fillers) {
            cost = cost.saturating_add(fillers.cost(gap));
        }
        cost
    }
}

/// The components with one purchase only, as one stage.
struct Certain {
    bundle: Bundle,
    packs: Packs,
}

impl Certain {
    fn new(required: usize) -> Self {
        Self { bundle: bundle(0, vec![0; required], Vec::new()), packs: Vec::new() }
    }

    fn take(&mut self, number: usize, only: &Bundle) {
        self.bundle.cost += only.cost;
        for (sum, add) in self.bundle.adds.iter_mut().zip(&only.adds) {
            *sum += add;
        }
        self.packs.extend(only.packs.iter().map(|&(choice, count)| (number, choice, count)));
    }
}

/// A purchase as the combination of components sees it.
pub(super) fn bundle(cost: i64, adds: Vec<i64>, packs: Vec<(usize, i64)>) -> Bundle {
    Bundle { stems: 0, cost, adds, packs }
}
