//! The least cost of buying for one component when only some deliveries may be used: exact, with the packs.
//! Imports the component, its cells' curves and the splitting of stems between cells.

use super::cell::{Curve, Item, NEVER};
use super::component::Component;
use super::labels::{Bundle, Stage};
use super::model::{Set, bit};
use super::smooth::Network;
use super::split::split;

/// Ways of sharing out most packs that are tried for one cover.
const MOST_SHARINGS: usize = 2_000;

/// A purchase for one component: what it costs, and what no purchase undercuts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cover {
    pub(super) cost: i64,
    pub(super) bound: i64,
    /// (choice, packs)
    pub(super) packs: Vec<(usize, i64)>,
}

impl Cover {
    pub(super) fn never() -> Self {
        Self { cost: NEVER, bound: NEVER, packs: Vec::new() }
    }
}

/// The cheapest purchase at `costs` (one for each choice, a pack) from the deliveries in `open`. A cover that
/// costs [`NEVER`] says that there is none.
///
/// Dates of one offer share its most packs. That is left aside at first; where the purchase exceeds it, either
/// one cell has few of the packs, or the others have what few are left then.
pub(super) fn cover(
    component: &Component,
    open: Set,
    costs: &[i64],
    may_go_on: &mut dyn FnMut() -> bool,
) -> Cover {
    let network = Network::new(component);
    let most: Vec<i64> = component.choices.iter().map(|c| c.most).collect();
    let mut best = Cover::never();
    let mut unsettled = NEVER;
    let mut waiting = vec![most];
    let mut tried = 0;
    while let Some(most) = waiting.pop() {
        let found =
            Buying { component, network: &network, open, costs, most: &most }.cheapest(best.cost, may_go_on);
        tried += 1;
        if found.bound >= best.cost {
            continue;
        }
        let Some((first, second)) = component.share_out(&found.packs, &most) else {
            unsettled = unsettled.min(if found.bound < found.cost { found.bound } else { NEVER });
            best = if found.cost < best.cost { found } else { best };
            continue;
        };
        if tried >= MOST_SHARINGS || !may_go_on() {
            unsettled = unsettled.min(found.bound);
            continue;
        }
        waiting.push(first);
        waiting.push(second);
    }
    best.bound = best.cost.min(unsettled);
    best
}

/// One question: the cheapest purchase when each choice has its own most packs.
struct Buying<'a> {
    component: &'a Component,
    network: &'a Network,
    open: Set,
    costs: &'a [i64],
    most: &'a [i64],
}

impl Buying<'_> {
    /// A purchase below the ceiling; otherwise only its bound counts.
    fn cheapest(&self, ceiling: i64, may_go_on: &mut dyn FnMut() -> bool) -> Cover {
        let mut curves = Vec::new();
        let mut bundles: Vec<Vec<Bundle>> = Vec::new();
        for (cell, of) in self.component.cells.iter().enumerate() {
            let curve = if of.reach > 0 { self.curve(cell) } else { Curve::new(Vec::new(), 0) };
            bundles.push(steps(&curve, self.component.own_need(cell)));
            curves.push(curve);
        }
        if bundles.iter().any(Vec::is_empty) {
            return Cover::never();
        }
        let found = split(self.network, &bundles, ceiling, may_go_on);
        let chosen = found.steps.iter().zip(&curves);
        let packs = chosen.flat_map(|(&stems, curve)| curve.packs(stems)).collect();
        Cover { cost: found.cost, bound: found.bound, packs }
    }

    fn curve(&self, cell: usize) -> Curve {
        let items = menu(self.component, cell, self.open, self.costs).into_iter().map(|at| {
            let choice = &self.component.choices[at];
            let (cost, most) = (self.costs[at], self.most[at]);
            Item { choice: at, size: choice.size, cost, least: choice.least, most }
        });
        Curve::new(items.filter(|item| item.most >= item.least).collect(), self.component.cells[cell].reach)
    }
}

/// What may be bought for a cell at its own most packs, as a stage.
pub(super) fn stage(component: &Component, cell: usize, open: Set, costs: &[i64]) -> Stage {
    let most: Vec<i64> = component.choices.iter().map(|c| c.most).collect();
    let network = Network::new(component);
    let curve = Buying { component, network: &network, open, costs, most: &most }.curve(cell);
    Stage { cell, bundles: steps(&curve, component.own_need(cell)) }
}

fn steps(curve: &Curve, own_need: i64) -> Vec<Bundle> {
    let steps = curve.steps().into_iter().filter(|step| step.0 >= own_need);
    steps.map(|(stems, cost)| Bundle { stems, cost, adds: Vec::new(), packs: Vec::new() }).collect()
}

/// The open choices of a cell. Of one offer on several dates the cheapest, then the latest, stands for all.
fn menu(component: &Component, cell: usize, open: Set, costs: &[i64]) -> Vec<usize> {
    let mut menu: Vec<usize> = Vec::new();
    for &at in &component.cells[cell].choices {
        let choice = &component.choices[at];
        if open & bit(choice.delivery) == 0 {
            continue;
        }
        let rank = |at: usize| (costs[at], std::cmp::Reverse(component.choices[at].date));
        match menu.iter_mut().find(|other| component.choices[**other].offer == choice.offer) {
            Some(other) if rank(*other) > rank(at) => *other = at,
            Some(_) => {}
            None => menu.push(at),
        }
    }
    menu
}

/// The useful cells, in an order that keeps few rows begun and not ended.
pub(super) fn order(component: &Component) -> Vec<usize> {
    let mut left: Vec<usize> = (0..component.cells.len()).filter(|&c| component.cells[c].reach > 0).collect();
    let mut order: Vec<usize> = Vec::new();
    while !left.is_empty() {
        let begun = |cell: usize| {
            let rows =
                component.rows.iter().filter(|row| row.holds[cell] || order.iter().any(|&c| row.holds[c]));
            rows.filter(|row| left.iter().any(|&c| c != cell && row.holds[c])).count()
        };
        let Some(at) = (0..left.len()).min_by_key(|&at| begun(left[at])) else { break };
        order.push(left.remove(at));
    }
    order
}

impl Component {
    /// If the packs exceed what an offer's dates share: the most packs of each choice lessened in the two ways
    /// that together leave out no purchase that keeps to it.
    fn share_out(&self, packs: &[(usize, i64)], most: &[i64]) -> Option<(Vec<i64>, Vec<i64>)> {
        let cap = &self.caps[self.exceeded(packs)?];
        let bought: Vec<(usize, i64)> =
            packs.iter().filter(|p| cap.choices.contains(&p.0)).copied().collect();
        let total: i64 = bought.iter().map(|b| b.1).sum();
        let &(largest, here) = bought.iter().max_by_key(|b| b.1)?;
        // Between these two, both ways exclude the packs at hand.
        let keep = (cap.most - (total - here)).max(0).midpoint(here - 1);
        let cell = self.choices[largest].cell;
        let (mut few, mut others) = (most.to_vec(), most.to_vec());
        for &choice in &cap.choices {
            let (limit, kept) = if self.choices[choice].cell == cell {
                (&mut few, keep)
            } else {
                (&mut others, cap.most - keep - 1)
            };
            limit[choice] = limit[choice].min(kept);
        }
        Some((few, others))
    }
}
