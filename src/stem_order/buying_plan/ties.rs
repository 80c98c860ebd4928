//! Which of the plans of least cost is taken: the one that leaves the fewest stems over, then whose stems come latest,
//! then from the fewest suppliers. Exact: with the least cost known, each block is searched once more, judged by money,
//! stems and days in one number; then it is asked which suppliers can be done without. Imports the search.

use std::collections::{BTreeSet, HashMap};

use super::allocate::{Outline, finish};
use super::ask::{Within, search, within};
use super::known::Part;
use super::measure::{Measure, Reached};
use super::model::{Model, owed};
use super::screen::screen;
use super::search::{Found, Packs, fees};
use super::set::Set;
use super::{Plan, Problem};

/// The first in rank among the plans that cost as little as one that is proven cheapest, for the same requirements.
/// Where that is not known when time runs out, the best by then, which does not say that its ties are settled.
pub(super) fn settle(problem: &Problem, plan: Plan, may_go_on: &mut dyn FnMut() -> bool) -> Plan {
    if !plan.proven || plan.fault.is_some() {
        return plan;
    }
    let left_out: BTreeSet<usize> = plan.unmet.iter().map(|unmet| unmet.requirement).collect();
    let wanted = (0..problem.requirements.len()).filter(|&r| problem.requirements[r].stems > 0);
    let active: Vec<usize> = wanted.filter(|r| !left_out.contains(r)).collect();
    let mut blocks = screen(problem).blocks_of(problem, &active);
    let Some(tied) = Tied::new(&mut blocks, problem, &plan, may_go_on) else { return plan };
    let (settled, found) = tied.fewest_suppliers();
    let outline =
        Outline { active: &active, unmet: &plan.unmet, lower_bound: plan.lower_bound, ties_settled: settled };
    let ranked = finish(problem, &outline, &blocks, &found);
    if ranked.fault.is_none() && ranked.cost == plan.cost { ranked } else { plan }
}

/// Blocks whose plans of the first rank by cost, stems and days are known, as far as time allowed.
struct Tied<'a> {
    blocks: &'a [Model],
    found: Vec<Found>,
    /// For every block what is known of its components.
    parts: Vec<Vec<Part>>,
    may_go_on: &'a mut dyn FnMut() -> bool,
    /// No plan ranks before those found by cost, stems and days.
    settled: bool,
}

impl<'a> Tied<'a> {
    /// Nothing if the plan cannot be told in the blocks' numbers, or sums would be too large.
    fn new(
        blocks: &'a mut [Model],
        problem: &Problem,
        plan: &Plan,
        may_go_on: &'a mut dyn FnMut() -> bool,
    ) -> Option<Self> {
        let packs = packs_of(blocks, plan)?;
        let mut firsts = Vec::new();
        let mut cost = owed(problem);
        for (model, packs) in blocks.iter_mut().zip(packs) {
            let reached = reached(model, &packs)?;
            cost += reached.cost;
            model.judge_by(Measure::with_ties(model, reached)?, reached.cost);
            firsts.push(Found { cost: in_parts(model, &packs)?, packs });
        }
        if cost != plan.cost || blocks.iter().any(|model| model.truncated) {
            return None;
        }
        let mut tied = Self { blocks: &*blocks, found: firsts, parts: Vec::new(), may_go_on, settled: true };
        for (at, model) in tied.blocks.iter().enumerate() {
            let answer = search(model, Some(tied.found[at].clone()), tied.may_go_on);
            tied.found[at] = answer.best?;
            tied.settled &= answer.lower_bound >= tied.found[at].cost;
            tied.parts.push(answer.parts);
        }
        Some(tied)
    }

    /// Plans of the same rank from as few suppliers as can be; whether that and the rank are certain.
    fn fewest_suppliers(mut self) -> (bool, Vec<Found>) {
        if !self.settled {
            return (false, self.found);
        }
        let found = self.found.clone();
        self.leave_out(&BTreeSet::new(), BTreeSet::new(), &found);
        (self.settled, self.found)
    }

    /// Looks for plans without the suppliers left out that use fewer than the best ones known: either one that is used
    /// now can be left out too, or it is `needed`.
    fn leave_out(&mut self, without: &BTreeSet<usize>, mut needed: BTreeSet<usize>, found: &[Found]) {
        let used = self.suppliers(found);
        if used.len() < self.suppliers(&self.found).len() {
            self.found = found.to_vec();
        }
        for supplier in used.difference(&needed.clone()).copied() {
            // No plan to be found here has fewer than those needed.
            if needed.len().max(1) >= self.suppliers(&self.found).len() || !self.settled {
                return;
            }
            let mut fewer = without.clone();
            fewer.insert(supplier);
            if let Some(other) = self.found_without(&fewer, supplier, found) {
                self.leave_out(&fewer, needed.clone(), &other);
            }
            needed.insert(supplier);
        }
    }

    /// Plans of the same rank with some suppliers left out, the last of them since `found`.
    fn found_without(
        &mut self,
        without: &BTreeSet<usize>,
        last: usize,
        found: &[Found],
    ) -> Option<Vec<Found>> {
        let mut others = found.to_vec();
        for (at, model) in self.blocks.iter().enumerate() {
            if !suppliers_of(model, &found[at]).contains(&last) {
                continue;
            }
            let kept = model.all().members().filter(|&d| !without.contains(&model.deliveries[d].supplier));
            let open = kept.fold(Set::none(), Set::with);
            let asked = (open, found[at].cost);
            match within(model, &mut self.parts[at], asked, self.may_go_on) {
                Within::Found(other) => others[at] = other,
                Within::Nothing => return None,
                Within::Unknown => {
                    self.settled = false;
                    return None;
                }
            }
        }
        Some(others)
    }

    fn suppliers(&self, found: &[Found]) -> BTreeSet<usize> {
        self.blocks.iter().zip(found).flat_map(|(model, found)| suppliers_of(model, found)).collect()
    }
}

/// The suppliers of whom something is bought.
fn suppliers_of(model: &Model, found: &Found) -> BTreeSet<usize> {
    let supplier = |&(part, choice, _): &(usize, usize, i64)| {
        model.deliveries[model.components[part].choices[choice].delivery].supplier
    };
    found.packs.iter().map(supplier).collect()
}

/// The plan's packs in the numbers of the blocks; nothing if one is in none of them.
fn packs_of(blocks: &[Model], plan: &Plan) -> Option<Vec<Packs>> {
    let mut places = HashMap::new();
    for (block, model) in blocks.iter().enumerate() {
        for (part, component) in model.components.iter().enumerate() {
            for (at, choice) in component.choices.iter().enumerate() {
                places.insert((choice.offer, choice.date), (block, part, at));
            }
        }
    }
    let mut packs: Vec<Packs> = vec![Vec::new(); blocks.len()];
    for line in &plan.packs {
        let &(block, part, choice) = places.get(&(line.offer, line.date))?;
        packs[block].push((part, choice, line.packs));
    }
    Some(packs)
}

/// What packs cost with fees, in minor units, and their stems.
fn reached(model: &Model, packs: &Packs) -> Option<Reached> {
    let (goods, stems) = bought(model, packs);
    let fees = fees(&model.deliveries, &goods)?;
    Some(Reached { cost: goods.iter().sum::<i64>() + fees, stems })
}

fn in_parts(model: &Model, packs: &Packs) -> Option<i64> {
    let (goods, _) = bought(model, packs);
    let fees = fees(&model.deliveries, &goods)?;
    let cost =
        |&(part, choice, count): &(usize, usize, i64)| count * model.components[part].choices[choice].cost;
    Some(fees * model.measure.unit + packs.iter().map(cost).sum::<i64>())
}

/// Goods by delivery, and all stems.
fn bought(model: &Model, packs: &Packs) -> (Vec<i64>, i64) {
    let (mut goods, mut stems) = (vec![0; model.deliveries.len()], 0);
    for &(part, choice, count) in packs {
        let choice = &model.components[part].choices[choice];
        goods[choice.delivery] += count * choice.price;
        stems += count * choice.size;
    }
    (goods, stems)
}
