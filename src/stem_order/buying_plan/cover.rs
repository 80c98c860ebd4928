//! The least cost of buying for one component when only some deliveries may be used: exact, with the packs.
//! Imports the component, its cells' curves and the splitting of stems between cells.

use super::cell::{Curve, Item, NEVER, index};
use super::component::Component;
use super::hall::Row;
use super::labels::{Bundle, Stage, Task};
use super::price::price;
use super::reduce::steps;
use super::set::Set;
use super::split::{Split, split};

/// Ways of sharing out most packs that are tried for one cover.
const MOST_SHARINGS: usize = 2_000;
/// Labels kept when a cover is built up, shared by its cells.
const MOST_LABELS: usize = 60_000;
/// So few cells are worked out to the end at once.
const FEW_CELLS: usize = 16;
/// Ranges looked at before a cover is built up, and after that.
const RANGES: usize = 3_000;
const MOST_RANGES: usize = 60_000;
/// Times that a cover is built up anew with a row more.
const MOST_ROUNDS: usize = 6;

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

/// The cheapest purchase at `costs` (one for each choice, a pack; less than a `unit` only breaks ties) from the deliveries in `open`. A cover that
/// costs [`NEVER`] says that there is none.
///
/// Dates of one offer share its most packs. That is left aside at first; where the purchase exceeds it, either
/// a cell has few of the packs, or it has many and the others what is left then.
pub(super) fn cover(
    component: &mut Component,
    open: Set,
    costs: &[i64],
    unit: i64,
    may_go_on: &mut dyn FnMut() -> bool,
) -> Cover {
    let mut best = Cover::never();
    let mut unsettled = NEVER;
    let mut waiting = vec![component.limits()];
    let mut tried = 0;
    while let Some(limits) = waiting.pop() {
        let mut missed = Vec::new();
        let buying = Buying { component: &*component, open, costs, unit, limits: &limits };
        let found = buying.cheapest(best.cost, &mut missed, may_go_on);
        for classes in missed {
            component.core_hall.add_row(&classes);
        }
        tried += 1;
        if found.bound >= best.cost {
            continue;
        }
        let Some((few, many)) = component.share_out(&found.packs, &limits) else {
            unsettled = unsettled.min(if found.bound < found.cost { found.bound } else { NEVER });
            best = if found.cost < best.cost { found } else { best };
            continue;
        };
        if tried >= MOST_SHARINGS || !may_go_on() {
            unsettled = unsettled.min(found.bound);
            continue;
        }
        waiting.push(few);
        waiting.push(many);
    }
    best.bound = best.cost.min(unsettled);
    component.left_open |= best.bound < best.cost;
    best
}

/// Packs that a choice must have, and most that it may have.
#[derive(Clone, Copy)]
struct Limit {
    must: i64,
    most: i64,
}

/// One question: the cheapest purchase when each choice has its own limits.
struct Buying<'a> {
    component: &'a Component,
    open: Set,
    costs: &'a [i64],
    unit: i64,
    limits: &'a [Limit],
}

impl Buying<'_> {
    /// A purchase below the ceiling; otherwise only its bound counts.
    fn cheapest(
        &self,
        ceiling: i64,
        missed: &mut Vec<Vec<usize>>,
        may_go_on: &mut dyn FnMut() -> bool,
    ) -> Cover {
        let component = self.component;
        let curves: Vec<Curve> = (0..component.cells.len()).map(|cell| self.curve(cell)).collect();
        let lots =
            component.hall.lots.iter().map(|&lot| vec![0; index(lot.min(component.hall.all_stems())) + 1]);
        let folded = component.reduction.fold(curves.iter().map(Curve::at_least).chain(lots).collect());
        let roots = &component.reduction.roots;
        let bundles: Vec<Vec<Bundle>> =
            roots.iter().map(|&root| bundles(&steps(&folded.costs[root]))).collect();
        if bundles.iter().any(Vec::is_empty) {
            return Cover::never();
        }
        let few = roots.len() <= FEW_CELLS;
        let most = if few { RANGES } else { RANGES / 30 };
        let mut found = split(&component.core, &bundles, ceiling, self.unit, most, may_go_on);
        let is_open = |found: &Split| found.bound < found.cost.min(ceiling) && (few || component.thorough);
        if is_open(&found) {
            found = self.build_up(found, bundles.clone(), ceiling, missed, may_go_on);
        }
        if is_open(&found) && component.thorough {
            let below = found.cost.min(ceiling);
            let last = split(&component.core, &bundles, below, self.unit, MOST_RANGES, may_go_on);
            let bound = found.bound.max(last.bound);
            found = Split { bound, ..if last.steps.is_empty() { found } else { last } };
        }
        if found.steps.is_empty() && !roots.is_empty() {
            return Cover { cost: NEVER, bound: found.bound, packs: Vec::new() };
        }
        let mut stems = vec![0; folded.costs.len()];
        for (&root, &step) in roots.iter().zip(&found.steps) {
            stems[root] = step;
        }
        component.reduction.unfold(&folded, &mut stems);
        let packs = curves.iter().zip(&stems).flat_map(|(curve, &stems)| curve.packs(stems)).collect();
        Cover { cost: found.cost, bound: found.bound, packs }
    }

    /// What splitting leaves open, built up cell by cell. Where what is cheapest does not serve all, the classes that
    /// it leaves short are noted as `missed`.
    fn build_up(
        &self,
        mut found: Split,
        bundles: Vec<Vec<Bundle>>,
        ceiling: i64,
        missed: &mut Vec<Vec<usize>>,
        may_go_on: &mut dyn FnMut() -> bool,
    ) -> Split {
        let mut hall = self.component.core_hall.clone();
        let mut stages: Vec<Option<Stage>> =
            bundles.into_iter().enumerate().map(|(cell, bundles)| Some(Stage { cell, bundles })).collect();
        let ordered = order(&hall.rows, (0..stages.len()).collect());
        let stages: Vec<Stage> = ordered.into_iter().filter_map(|cell| stages[cell].take()).collect();
        let ceiling = found.cost.min(ceiling);
        for _ in 0..MOST_ROUNDS {
            let priced = price(&hall, &self.component.core, &stages);
            let task = Task {
                rows: &priced.rows,
                stages: &stages,
                tallies: &[],
                prices: &priced.prices,
                ceiling,
                width: MOST_LABELS / stages.len().max(1),
            };
            let outcome = task.run(may_go_on);
            let cheapest = outcome.finished.iter().min_by_key(|f| f.cost);
            let bound = outcome.dropped.min(cheapest.map_or(ceiling, |f| f.cost)).min(ceiling);
            found.bound = found.bound.max(bound);
            let Some(cheapest) = cheapest else { break };
            let mut steps = vec![0; stages.len()];
            for (stage, &bundle) in stages.iter().zip(&cheapest.bundles) {
                steps[stage.cell] = stage.bundles[bundle].stems;
            }
            let Some(short) = hall.short(&steps) else {
                return Split { cost: cheapest.cost, bound: found.bound.min(cheapest.cost), steps };
            };
            if !hall.add_row(&short) {
                break;
            }
            missed.push(short);
        }
        found
    }

    fn curve(&self, cell: usize) -> Curve {
        let items = menu(self.component, cell, self.open, self.costs).into_iter().map(|at| {
            let choice = &self.component.choices[at];
            let Limit { must, most } = self.limits[at];
            let least = choice.least.max(must);
            Item { choice: at, size: choice.size, cost: self.costs[at], least, most, must: must > 0 }
        });
        let items = items.filter(|item| item.must || item.most >= item.least);
        Curve::new(items.collect(), self.component.cells[cell].reach)
    }
}

/// What may be bought for a cell at its own most packs, as a stage.
pub(super) fn stage(component: &Component, cell: usize, open: Set, costs: &[i64]) -> Stage {
    let curve = Buying { component, open, costs, unit: 1, limits: &component.limits() }.curve(cell);
    let own = component.hall.own_need(cell);
    let steps: Vec<(i64, i64)> = curve.steps().into_iter().filter(|step| step.0 >= own).collect();
    Stage { cell, bundles: bundles(&steps) }
}

fn bundles(steps: &[(i64, i64)]) -> Vec<Bundle> {
    let bundle = |&(stems, cost)| Bundle { stems, cost, adds: Vec::new(), packs: Vec::new() };
    steps.iter().map(bundle).collect()
}

/// The open choices of a cell. Of one offer on several dates the cheapest, then the latest, stands for all.
fn menu(component: &Component, cell: usize, open: Set, costs: &[i64]) -> Vec<usize> {
    let mut menu: Vec<usize> = Vec::new();
    for &at in &component.cells[cell].choices {
        let choice = &component.choices[at];
        if !open.has(choice.delivery) {
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

/// The cells in an order that keeps few rows begun and not ended.
pub(super) fn order(rows: &[Row], cells: Vec<usize>) -> Vec<usize> {
    let mut left = cells;
    let mut order: Vec<usize> = Vec::new();
    while !left.is_empty() {
        let begun = |cell: usize| {
            let rows = rows.iter().filter(|row| row.holds[cell] || order.iter().any(|&c| row.holds[c]));
            rows.filter(|row| left.iter().any(|&c| c != cell && row.holds[c])).count()
        };
        let Some(at) = (0..left.len()).min_by_key(|&at| begun(left[at])) else { break };
        order.push(left.remove(at));
    }
    order
}

impl Component {
    fn limits(&self) -> Vec<Limit> {
        self.choices.iter().map(|c| Limit { must: 0, most: c.most }).collect()
    }

    /// If the packs exceed what an offer's dates share: two narrower limits that leave out no purchase that keeps
    /// to it.
    fn share_out(&self, packs: &[(usize, i64)], limits: &[Limit]) -> Option<(Vec<Limit>, Vec<Limit>)> {
        let cap = &self.caps[self.exceeded(packs)?];
        let bought = packs.iter().filter(|p| cap.choices.contains(&p.0));
        let &(choice, count) = bought.max_by_key(|p| p.1 - limits[p.0].must)?;
        let keep = limits[choice].must.midpoint((count - 1).max(0));
        let (mut few, mut many) = (limits.to_vec(), limits.to_vec());
        few[choice].most = keep;
        many[choice].must = keep + 1;
        let all: i64 = cap.choices.iter().map(|&c| many[c].must).sum();
        for &other in &cap.choices {
            let room = cap.most - all + many[other].must;
            many[other].most = many[other].most.min(room);
        }
        Some((few, many))
    }
}
