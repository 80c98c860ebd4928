//! Bounds on a node of the search from prices. Money spent on a delivery that is short is given a worth (its *pull*),
//! which makes its packs cheaper to every component; the fee of a delivery that is not decided on is *charged* in
//! shares to the components that use it. Any pull and any charges give a bound; steps along the violations make it
//! better, and the purchases met on the way are tried as plans. Imports the search and what is known of components.

use super::cell::NEVER;
use super::search::{Node, Packs, Search};
use super::set::Set;

/// Steps on charges: at the root, and elsewhere.
const FIRST_STEPS: usize = 120;
const STEPS: usize = 12;
/// Steps on pulls: where deliveries are still to be decided on, and at the end.
const PULL_STEPS: usize = 10;
const LAST_STEPS: usize = 40;
/// Steps without a better bound after which they are made shorter.
const PATIENCE: usize = 6;
/// Steps are not made shorter than by this.
const SHORTEST: i64 = 1 << 16;

/// Prices for which a bound is worked out.
#[derive(Clone, Debug, Default)]
pub(super) struct Prices {
    /// For every delivery, in parts for a minor unit.
    pub(super) pull: Vec<i64>,
    /// For every component and delivery, in parts.
    charges: Vec<Vec<i64>>,
}

/// All components at their best under the prices; costs in parts.
pub(super) struct Relaxed {
    pub(super) bound: i64,
    /// Every component has a purchase; otherwise only the bound counts.
    pub(super) complete: bool,
    pub(super) goods: Vec<i64>,
    pub(super) packs: Packs,
    /// The least cost of each component.
    pub(super) each: Vec<i64>,
    /// Deliveries used by each component.
    used: Vec<Set>,
    /// What using an undecided delivery costs beside what is charged for it; less than nothing if it pays.
    opening: Vec<i64>,
}

impl Prices {
    /// No pull, and the fee of each undecided delivery charged evenly to the components that use it now.
    pub(super) fn even(search: &mut Search, node: &Node) -> Self {
        let pull = vec![0; search.deliveries.len()];
        let mut charges = vec![vec![0; search.deliveries.len()]; search.parts.len()];
        let used: Vec<Set> =
            search.parts.iter_mut().map(|part| part.ask(node.open, search.may_go_on).used).collect();
        for d in search.undecided(node).members() {
            let users: Vec<usize> = (0..used.len()).filter(|&part| used[part].has(d)).collect();
            for &part in &users {
                charges[part][d] = search.fee(d) / i64::try_from(users.len()).unwrap_or(1);
            }
        }
        let mut prices = Self { pull, charges };
        prices.pull_towards_waivers(search, node);
        prices
    }

    /// Where goods are below the value that waives a fee, so much pull that the waiver is worth no more than the fee.
    fn pull_towards_waivers(&mut self, search: &mut Search, node: &Node) {
        let Some(view) = search.view(node.open) else { return };
        for d in search.undecided(node).members() {
            let delivery = &search.deliveries[d];
            if let Some(over) =
                delivery.free_over.filter(|&over| delivery.fee > 0 && view.goods[d] * 2 < over)
            {
                self.pull[d] = (search.fee(d) / over.max(1)).min(search.measure.unit);
            }
        }
    }

    /// What is decided on is no longer charged for.
    pub(super) fn forget(&mut self, decided: Set) {
        for charges in &mut self.charges {
            decided.members().for_each(|d| charges[d] = 0);
        }
    }
}

impl Search<'_> {
    /// Improves the node's charges; its best bound, with what it was worked out from. Nothing if time
    /// ran out.
    pub(super) fn charge(&mut self, node: &mut Node, first: bool) -> Option<Relaxed> {
        let undecided = self.undecided(node);
        let mut best = self.relax(node, &node.prices.clone())?;
        let mut prices = node.prices.clone();
        // Without any plan there is no measure for the length of a step.
        let steps = if self.ceiling() >= NEVER {
            0
        } else if first {
            FIRST_STEPS
        } else {
            STEPS
        };
        let (mut shrink, mut stale) = (1, 0);
        let mut last = None;
        for step in 0..steps {
            let from = last.as_ref().unwrap_or(&best);
            let moved = self.shift_charges(&mut prices, from, undecided, shrink);
            if self.measure.whole(best.bound) >= self.ceiling() || !moved || shrink > SHORTEST {
                break;
            }
            let next = self.relax(node, &prices)?;
            if first && step % 8 == 0 {
                self.try_openings(node, &next)?;
            }
            if next.bound > best.bound {
                node.prices.clone_from(&prices);
                (best, stale, last) = (next, 0, None);
                continue;
            }
            stale += 1;
            last = Some(next);
            if stale == PATIENCE {
                prices.clone_from(&node.prices);
                (shrink, stale, last) = (shrink * 2, 0, None);
            }
        }
        self.try_openings(node, &best)?;
        Some(best)
    }

    /// A step along the violations; false if there are none.
    fn shift_charges(&self, prices: &mut Prices, from: &Relaxed, undecided: Set, shrink: i64) -> bool {
        let uses = |part: usize, d: usize| from.used[part].has(d) != (from.opening[d] < 0);
        let parts = 0..from.used.len();
        let wrong: Vec<(usize, usize)> = parts
            .flat_map(|part| undecided.members().map(move |d| (part, d)))
            .filter(|&(part, d)| uses(part, d) && self.parts[part].component.deliveries.has(d))
            .collect();
        let count = i64::try_from(wrong.len()).unwrap_or(i64::MAX);
        if count == 0 {
            return false;
        }
        let gap = self.ceiling().saturating_sub(from.bound).clamp(self.measure.grain, NEVER);
        let stride = (gap / count / shrink).max(1);
        for (part, d) in wrong {
            let charge = &mut prices.charges[part][d];
            *charge = if from.used[part].has(d) { *charge + stride } else { (*charge - stride).max(0) };
        }
        true
    }

    /// Tries the deliveries that the components use, and those that pay, as the open ones.
    fn try_openings(&mut self, node: &Node, relaxed: &Relaxed) -> Option<()> {
        let decided = node.open.less(self.undecided(node));
        let used = relaxed.used.iter().fold(decided, |all, used| all | *used);
        let pays = (0..relaxed.opening.len()).filter(|&d| relaxed.opening[d] < 0);
        let pays = pays.fold(decided, Set::with);
        for open in [used, pays] {
            if self.tried.insert(open) {
                self.worth(open)?;
            }
        }
        Some(())
    }

    /// Deliveries that need not be opened, or must be used, lest the node come to the ceiling.
    pub(super) fn settle(&self, node: &mut Node, relaxed: &Relaxed) -> bool {
        let ceiling = self.ceiling();
        let mut settled = false;
        for d in self.undecided(node).members() {
            let opening = relaxed.opening[d];
            let reaches = |more: i64| self.measure.whole(relaxed.bound.saturating_add(more)) >= ceiling;
            if opening >= 0 && reaches(opening) {
                node.open = node.open.without(d);
                settled = true;
            } else if opening < 0 && reaches(-opening) && self.deliveries[d].free_over.is_none() {
                node.paid = node.paid.with(d);
                settled = true;
            }
        }
        settled
    }

    /// Subgradient steps on the pull of deliveries that must come to a goods value; leaves the best in place.
    pub(super) fn pull_hard(
        &mut self,
        node: &mut Node,
        required: &[(usize, i64)],
        last: bool,
    ) -> Option<Relaxed> {
        let mut best = self.relax_and_fill(node, required)?;
        let mut best_pull = node.prices.pull.clone();
        let mut stride = self.measure.unit / 4;
        let mut stale = 0;
        for _ in 1..if last { LAST_STEPS } else { PULL_STEPS } {
            if self.measure.whole(best.bound) >= self.ceiling() || stride == 0 {
                break;
            }
            self.step(&mut node.prices.pull, required, &best.goods, stride);
            if node.prices.pull == best_pull {
                break;
            }
            let next = self.relax_and_fill(node, required)?;
            stale += 1;
            if next.bound > best.bound {
                (best, best_pull, stale) = (next, node.prices.pull.clone(), 0);
                continue;
            }
            self.step(&mut node.prices.pull, required, &next.goods, stride / 2);
            stride /= 2;
            if stale > 4 || node.prices.pull == best_pull {
                node.prices.pull.clone_from(&best_pull);
            }
        }
        node.prices.pull = best_pull;
        Some(best)
    }

    fn relax_and_fill(&mut self, node: &Node, required: &[(usize, i64)]) -> Option<Relaxed> {
        let relaxed = self.relax(node, &node.prices)?;
        if relaxed.complete {
            let cost = self.cost_of(&relaxed.packs);
            self.fill_up((cost, &relaxed.goods), required, &|_| relaxed.packs.clone());
        }
        Some(relaxed)
    }

    fn relax(&mut self, node: &Node, prices: &Prices) -> Option<Relaxed> {
        let count = self.deliveries.len();
        let mut relaxed = Relaxed {
            bound: 0,
            complete: true,
            goods: vec![0; count],
            packs: Vec::new(),
            each: Vec::new(),
            used: Vec::new(),
            opening: vec![0; count],
        };
        self.dues(node, prices, &mut relaxed);
        for (number, part) in self.parts.iter_mut().enumerate() {
            let charged = part.ask_charged(node.open, &prices.pull, &prices.charges[number], self.may_go_on);
            if !(self.may_go_on)() {
                return None;
            }
            relaxed.complete &= charged.cost < NEVER;
            relaxed.bound =
                if charged.bound >= NEVER { NEVER } else { (relaxed.bound + charged.bound).min(NEVER) };
            relaxed.each.push(charged.bound);
            relaxed.used.push(charged.known.used);
            for &(delivery, value) in &charged.known.spent {
                relaxed.goods[delivery] += value;
            }
            relaxed.packs.extend(charged.known.packs.iter().map(|&(choice, count)| (number, choice, count)));
        }
        Some(relaxed)
    }

    /// What is paid for deliveries under the prices: in full for those decided on; for the others where it pays.
    fn dues(&self, node: &Node, prices: &Prices, relaxed: &mut Relaxed) {
        let way = |d: usize, fee: i64, required: i64| fee * self.measure.unit + prices.pull[d] * required;
        for d in node.open.members() {
            let delivery = &self.deliveries[d];
            let paid = way(d, delivery.fee, delivery.least);
            let waived = delivery.free_over.map(|over| way(d, delivery.waived, over.max(delivery.least)));
            if node.paid.has(d) {
                relaxed.bound += paid;
            } else if node.waived.has(d) {
                relaxed.bound += waived.unwrap_or(paid);
            } else {
                let charged: i64 = prices.charges.iter().map(|charges| charges[d]).sum();
                relaxed.opening[d] = paid.min(waived.unwrap_or(paid)) - charged;
                relaxed.bound += relaxed.opening[d].min(0);
            }
        }
    }

    /// Raises the pull of deliveries that are short, lowers it where more than enough is spent.
    fn step(&self, pull: &mut [i64], required: &[(usize, i64)], goods: &[i64], stride: i64) {
        let missing = |d: usize, least: i64| least - goods[d];
        let worst = required.iter().map(|&(d, least)| missing(d, least).abs()).max().unwrap_or(0).max(1);
        for &(d, least) in required {
            let change = stride * missing(d, least) / worst;
            let change = if change == 0 { missing(d, least).signum() } else { change };
            pull[d] = (pull[d] + change).clamp(0, self.measure.unit);
        }
    }
}
