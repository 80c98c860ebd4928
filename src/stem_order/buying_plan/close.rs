//! Reaching least orders that bind. Money spent on a delivery that is still short is given a worth (its *pull*),
//! which makes its packs cheaper to every component: that gives a bound and near-best plans. Where a gap is
//! left at the end, the purchases of every component that could still matter are listed and combined exactly.
//! Imports the search's parts, covers, options and labels.

use super::cell::NEVER;
use super::cover::cover;
use super::fill::merge;
use super::labels::{Bundle, Finished, Stage, Tally, Task};
use super::options::{Wanted, options};
use super::search::{Found, Packs, Search};
use super::set::Set;

/// Pull of money that is worth its full value: the goods are then free.
pub(super) const FULL: i64 = 1 << 10;
const STEPS: usize = 10;
const LAST_STEPS: usize = 40;
/// Purchases listed of each component, and kept when they are combined.
const LISTED: [usize; 2] = [2_000, 100_000];

/// Deliveries that must come to a goods value, with the deliveries that are open and the fees already due.
pub(super) struct Closing {
    pub(super) open: Set,
    pub(super) required: Vec<(usize, i64)>,
    pub(super) fees: i64,
    /// For every delivery, in parts of [`FULL`].
    pub(super) pull: Vec<i64>,
}

/// All components at their best under a pull.
struct Relaxed {
    bound: i64,
    /// Every component has a purchase; otherwise only the bound counts.
    complete: bool,
    goods: Vec<i64>,
    packs: Packs,
    /// The least cost of each component, in parts of [`FULL`].
    each: Vec<i64>,
}

impl Closing {
    /// A bound on the node; at the last node the exact closing as well.
    pub(super) fn bound(&mut self, search: &mut Search, last: bool) -> i64 {
        self.pull.resize(search.deliveries.len(), 0);
        let best = self.pull_hard(search, if last { LAST_STEPS } else { STEPS });
        let bound = self.in_money(best.bound);
        if bound >= search.ceiling() || !last {
            return bound;
        }
        if let Some(packs) = search.fill_anyhow(&self.required, &best.packs).filter(|_| best.complete) {
            Self::propose(search, packs);
        }
        if bound >= search.ceiling() {
            return bound;
        }
        self.combine(search, &best).max(bound)
    }

    /// Rounded up to whole minor units, fees included.
    fn in_money(&self, bound: i64) -> i64 {
        if bound >= NEVER { NEVER } else { (bound + FULL - 1).div_euclid(FULL) + self.fees }
    }

    /// Subgradient steps on the pull; leaves the best pull in place.
    fn pull_hard(&mut self, search: &mut Search, steps: usize) -> Relaxed {
        let mut best = self.relax(search);
        let mut best_pull = self.pull.clone();
        let mut stride = FULL / 4;
        let mut stale = 0;
        for _ in 1..steps {
            if self.in_money(best.bound) >= search.ceiling() || stride == 0 || !(search.may_go_on)() {
                break;
            }
            self.step(&best.goods, stride);
            if self.pull == best_pull {
                break;
            }
            let next = self.relax(search);
            stale += 1;
            if next.bound > best.bound {
                (best, best_pull, stale) = (next, self.pull.clone(), 0);
                continue;
            }
            self.step(&next.goods, stride / 2);
            stride /= 2;
            if stale > 4 || self.pull == best_pull {
                self.pull.clone_from(&best_pull);
            }
        }
        self.pull = best_pull;
        best
    }

    /// Raises the pull of deliveries that are short, lowers it where more than enough is spent.
    fn step(&mut self, goods: &[i64], stride: i64) {
        let missing = |d: usize, least: i64| least - goods[d];
        let worst = self.required.iter().map(|&(d, least)| missing(d, least).abs()).max().unwrap_or(0).max(1);
        for &(d, least) in &self.required {
            let change = stride * missing(d, least) / worst;
            let change = if change == 0 { missing(d, least).signum() } else { change };
            self.pull[d] = (self.pull[d] + change).clamp(0, FULL);
        }
    }

    fn relax(&self, search: &mut Search) -> Relaxed {
        let goods = vec![0; search.deliveries.len()];
        let due: i64 = self.required.iter().map(|&(d, least)| least * self.pull[d]).sum();
        let mut relaxed = Relaxed { bound: due, complete: true, goods, packs: Vec::new(), each: Vec::new() };
        for number in 0..search.parts.len() {
            let (bound, packs) = self.relax_part(search, number);
            relaxed.complete &= packs.is_some();
            let packs = packs.unwrap_or_default();
            relaxed.bound = (relaxed.bound + bound).min(NEVER);
            relaxed.each.push(bound);
            for (delivery, value) in search.parts[number].component.spent(&packs) {
                relaxed.goods[delivery] += value;
            }
            relaxed.packs.extend(packs.into_iter().map(|(choice, count)| (number, choice, count)));
        }
        if relaxed.complete {
            search.fill_up(&relaxed.goods, &self.required, &|_| relaxed.packs.clone());
        }
        relaxed
    }

    fn relax_part(&self, search: &mut Search, number: usize) -> (i64, Option<Vec<(usize, i64)>>) {
        let part = &mut search.parts[number];
        let component = &part.component;
        let pulled = |d: usize| self.pull[d] > 0 && self.open.has(d);
        if !component.choices.iter().any(|c| component.cells[c.cell].reach > 0 && pulled(c.delivery)) {
            let known = part.ask(self.open, search.may_go_on);
            return (
                known.bound.saturating_mul(FULL).min(NEVER),
                (known.cost < NEVER).then(|| known.packs.clone()),
            );
        }
        let costs = self.costs(search, number);
        let part = &mut search.parts[number];
        let found = cover(&part.component, self.open, &costs, 1, search.may_go_on);
        (found.bound, (found.cost < NEVER).then_some(found.packs))
    }

    fn costs(&self, search: &Search, number: usize) -> Vec<i64> {
        let choices = &search.parts[number].component.choices;
        choices.iter().map(|c| c.price * (FULL - self.pull[c.delivery])).collect()
    }

    /// Takes the packs as a plan if they are one.
    fn propose(search: &mut Search, packs: Packs) {
        let goods = search.goods_of(&packs);
        let Some(fees) = search.fees(&goods) else { return };
        search.keep(Found { cost: goods.iter().sum::<i64>() + fees, packs });
    }

    /// The exact closing: the least cost of the node if it is below the ceiling, or a bound. Short lists are tried
    /// first, since a plan that costs the bound ends the matter.
    fn combine(&self, search: &mut Search, best: &Relaxed) -> i64 {
        let mut bound = self.in_money(best.bound);
        for most in LISTED {
            let settled = self.combine_lists(search, best, most);
            bound = bound.max(settled.unwrap_or(0));
            if bound >= search.ceiling() || !(search.may_go_on)() {
                break;
            }
        }
        bound
    }

    /// What the node costs at least, if nothing had to be left out of the lists.
    fn combine_lists(&self, search: &mut Search, best: &Relaxed, most: usize) -> Option<i64> {
        let credit: i64 = self.required.iter().map(|&(d, least)| least * self.pull[d]).sum();
        let ceiling = (search.ceiling() - self.fees).saturating_mul(FULL) - credit;
        let slack = ceiling - best.each.iter().sum::<i64>();
        let mut complete = true;
        let mut stages = Vec::new();
        for number in 0..search.parts.len() {
            let costs = self.costs(search, number);
            let (required, pull) = (self.required.as_slice(), self.pull.as_slice());
            let ceiling = best.each[number] + slack;
            let wanted = Wanted { open: self.open, required, pull, costs: &costs, ceiling, most };
            let listed = options(&mut search.parts[number].component, &wanted, search.may_go_on);
            complete &= listed.complete;
            stages.push(Stage { cell: number, bundles: listed.bundles });
        }
        stages.sort_by_key(|s| s.bundles.len());
        let settled = self.combine_stages(search, &stages, ceiling, most);
        complete.then_some(settled)
    }

    fn combine_stages(&self, search: &mut Search, stages: &[Stage], ceiling: i64, width: usize) -> i64 {
        let tally = |&(d, least): &(usize, i64)| Tally::UpTo { enough: least, over: self.pull[d] };
        let tallies: Vec<Tally> = self.required.iter().map(tally).collect();
        let task = Task { rows: &[], stages, tallies: &tallies, prices: &[], ceiling, width };
        let outcome = task.run(search.may_go_on);
        let credit: i64 = self.required.iter().map(|&(d, least)| least * self.pull[d]).sum();
        let fillers: Vec<_> = self.required.iter().map(|&(d, least)| search.fillers(d, least)).collect();
        let gaps = |f: &Finished| -> Vec<i64> {
            self.required.iter().zip(&f.tallies).map(|(&(_, least), spent)| least - spent).collect()
        };
        // What is spent was credited; now it counts, and what is missing is filled up by loose packs.
        let whole = |f: &Finished| {
            let spent = self.required.iter().zip(&f.tallies).map(|(&(d, _), spent)| self.pull[d] * spent);
            let missing = gaps(f)
                .into_iter()
                .zip(&fillers)
                .map(|(gap, fillers)| fillers.cost(gap).saturating_mul(FULL));
            missing.fold(f.cost + spent.sum::<i64>(), i64::saturating_add)
        };
        if let Some(cheapest) = outcome.finished.iter().min_by_key(|f| whole(f)).filter(|f| whole(f) < NEVER)
        {
            let mut packs = Vec::new();
            for (stage, &bundle) in stages.iter().zip(&cheapest.bundles) {
                let chosen = &stage.bundles[bundle].packs;
                packs.extend(chosen.iter().map(|&(choice, count)| (stage.cell, choice, count)));
            }
            for (gap, fillers) in gaps(cheapest).into_iter().zip(&fillers) {
                merge(&mut packs, fillers.packs(gap));
            }
            Self::propose(search, packs);
        }
        let dropped = if outcome.dropped >= NEVER { NEVER } else { self.in_money(outcome.dropped + credit) };
        search.ceiling().min(dropped)
    }
}

/// A purchase as the combination of components sees it.
pub(super) fn bundle(cost: i64, adds: Vec<i64>, packs: Vec<(usize, i64)>) -> Bundle {
    Bundle { stems: 0, cost, adds, packs }
}
