//! What is known of each component: the least cost for every set of deliveries that was asked about. Asked
//! often by the search, so every answer is kept, and an answer for more deliveries than are open serves when it
//! uses only open ones. Imports components, covers and the measure.

use std::collections::HashMap;
use std::rc::Rc;

use super::cell::NEVER;
use super::component::Component;
use super::cover::{Cover, cover};
use super::measure::Measure;
use super::set::Set;

/// Where only money is judged, costs are weighted so that of equal costs fewer stems win, then later days: the plan found
/// is then near the first in rank, and the search goes the same way however packs are listed. Sums stay below this.
const LARGEST: i64 = 1 << 60;
/// Questions at different pulls that are remembered of one component.
const PULLS: usize = 16;
/// Answers at the same costs that are remembered.
const ANSWERS: usize = 2_000;
/// Ways of using deliveries that are looked at for one answer with charges.
const WAYS: usize = 200;

/// The best purchase for one component from some deliveries.
#[derive(Debug)]
pub(super) struct Known {
    open: Set,
    /// In parts, lessened by the pull.
    pub(super) cost: i64,
    pub(super) bound: i64,
    pub(super) used: Set,
    /// Goods value by delivery.
    pub(super) spent: Vec<(usize, i64)>,
    pub(super) packs: Vec<(usize, i64)>,
}

/// A component with all that is known of it.
pub(super) struct Part {
    pub(super) component: Component,
    plain: Table,
    pulled: HashMap<Vec<(usize, i64)>, Table>,
}

/// Answers at the same costs.
struct Table {
    /// Of a pack of each choice.
    costs: Vec<i64>,
    /// How much of these costs is worth how many parts; less than that only breaks ties.
    weight: i64,
    parts: i64,
    answers: HashMap<Set, Rc<Known>>,
    listed: Vec<Rc<Known>>,
}

/// The best purchase when the use of a delivery is charged for: its cost with the charges, and a bound on it.
pub(super) struct Charged {
    pub(super) cost: i64,
    pub(super) bound: i64,
    pub(super) known: Rc<Known>,
}

impl Part {
    pub(super) fn new(component: Component, measure: &Measure) -> Self {
        let plain = if measure.is_money() {
            let (costs, weight) = weighted(&component);
            Table::new(costs, weight, measure.unit)
        } else {
            Table::new(component.choices.iter().map(|choice| choice.cost).collect(), 1, 1)
        };
        Self { component, plain, pulled: HashMap::new() }
    }

    pub(super) fn ask(&mut self, open: Set, may_go_on: &mut dyn FnMut() -> bool) -> Rc<Known> {
        self.plain.ask(&mut self.component, open, may_go_on)
    }

    /// The least cost when money spent on each delivery counts less by its pull, and each delivery used is charged
    /// for.
    pub(super) fn ask_charged(
        &mut self,
        open: Set,
        pull: &[i64],
        charges: &[i64],
        may_go_on: &mut dyn FnMut() -> bool,
    ) -> Charged {
        let mut best: Option<(i64, Rc<Known>)> = None;
        let mut floor = NEVER;
        let mut waiting = vec![(open & self.component.deliveries, Set::none(), 0_i64)];
        let mut ways = 0;
        while let Some((open, forced, charged)) = waiting.pop() {
            let known = self.ask_pulled(open, pull, may_go_on);
            let with_charges = |cost: i64| if cost >= NEVER { NEVER } else { cost + charged };
            let least = best.as_ref().map_or(NEVER, |best| best.0);
            ways += 1;
            if with_charges(known.bound) >= least && best.is_some() {
                continue;
            }
            let asked = known.used.less(forced).members().filter(|&d| charges[d] > 0);
            let asked: Vec<usize> = asked.collect();
            let cost =
                with_charges(known.cost).saturating_add(asked.iter().map(|&d| charges[d]).sum()).min(NEVER);
            if best.is_none() || cost < least {
                best = Some((cost, Rc::clone(&known)));
            }
            let Some(&dearest) = asked.iter().max_by_key(|&&d| charges[d]).filter(|_| ways < WAYS) else {
                floor = floor.min(with_charges(known.bound));
                continue;
            };
            waiting.push((open.without(dearest), forced, charged));
            waiting.push((open, forced.with(dearest), charged + charges[dearest]));
        }
        let (cost, known) = best.unwrap_or_else(|| (NEVER, self.ask(Set::none(), may_go_on)));
        Charged { cost, bound: floor.min(cost), known }
    }

    /// The answer under a pull: parts by which a minor unit spent on each delivery is made cheaper.
    fn ask_pulled(&mut self, open: Set, pull: &[i64], may_go_on: &mut dyn FnMut() -> bool) -> Rc<Known> {
        let pulls = self.component.deliveries.members().map(|d| (d, pull[d]));
        let key: Vec<(usize, i64)> = pulls.filter(|&(_, pull)| pull > 0).collect();
        if key.is_empty() {
            return self.ask(open, may_go_on);
        }
        if self.pulled.len() > PULLS && !self.pulled.contains_key(&key) {
            self.pulled.clear();
        }
        let choices = &self.component.choices;
        let costs = || choices.iter().map(|c| c.cost - c.price * pull[c.delivery]).collect();
        let table = self.pulled.entry(key).or_insert_with(|| Table::new(costs(), 1, 1));
        table.ask(&mut self.component, open, may_go_on)
    }
}

impl Table {
    fn new(costs: Vec<i64>, weight: i64, parts: i64) -> Self {
        Self { costs, weight, parts, answers: HashMap::new(), listed: Vec::new() }
    }

    fn ask(
        &mut self,
        component: &mut Component,
        open: Set,
        may_go_on: &mut dyn FnMut() -> bool,
    ) -> Rc<Known> {
        let open = open & component.deliveries;
        if let Some(known) = self.answers.get(&open) {
            return Rc::clone(known);
        }
        if self.answers.len() >= ANSWERS {
            self.answers.clear();
            self.listed.clear();
        }
        let same = |known: &&Rc<Known>| {
            open.within(&known.open) && known.used.within(&open) && known.bound == known.cost
        };
        let known = match self.listed.iter().find(same) {
            Some(known) => Rc::clone(known),
            None => self.work_out(component, open, may_go_on),
        };
        self.answers.insert(open, Rc::clone(&known));
        known
    }

    fn work_out(
        &mut self,
        component: &mut Component,
        open: Set,
        may_go_on: &mut dyn FnMut() -> bool,
    ) -> Rc<Known> {
        let found = cover(component, open, &self.costs, self.weight, may_go_on);
        let known = Rc::new(self.known(component, open, found));
        self.listed.push(Rc::clone(&known));
        known
    }

    fn known(&self, component: &Component, open: Set, found: Cover) -> Known {
        let in_parts = |cost: i64| if cost >= NEVER { NEVER } else { cost / self.weight * self.parts };
        let spent = component.spent(&found.packs);
        let used = spent.iter().fold(Set::none(), |set, &(delivery, _)| set.with(delivery));
        let (cost, bound) = (in_parts(found.cost), in_parts(found.bound));
        Known { open, cost, bound, used, spent, packs: found.packs }
    }
}

impl Component {
    /// Goods value by delivery.
    pub(super) fn spent(&self, packs: &[(usize, i64)]) -> Vec<(usize, i64)> {
        let mut spent: Vec<(usize, i64)> = Vec::new();
        for &(choice, count) in packs {
            let choice = &self.choices[choice];
            let value = count * choice.price;
            match spent.iter_mut().find(|s| s.0 == choice.delivery) {
                Some(entry) => entry.1 += value,
                None => spent.push((choice.delivery, value)),
            }
        }
        spent
    }
}

/// The cost of a pack of each choice, weighted, and the weight of one minor unit.
fn weighted(component: &Component) -> (Vec<i64>, i64) {
    let last = component.choices.iter().map(|c| c.date).max().unwrap_or(0);
    let early = |date: i32| i64::from(last) - i64::from(date);
    let range = component.choices.iter().map(|c| early(c.date)).max().unwrap_or(0) + 1;
    let (stems, money) = largest(component);
    for (leftover, lateness) in [(stems.saturating_mul(range), 1), (1, 0), (0, 0)] {
        let weight = stems.saturating_mul(leftover + range * lateness).saturating_add(1).max(1 << 10);
        if weight.saturating_mul(money) < LARGEST {
            let cost = |c: &super::component::Choice| {
                c.price * weight + c.size * (leftover + lateness * early(c.date))
            };
            return (component.choices.iter().map(cost).collect(), weight);
        }
    }
    (component.choices.iter().map(|c| c.price).collect(), 1)
}

/// More stems, and more money, than any sensible purchase for the component has.
fn largest(component: &Component) -> (i64, i64) {
    let (mut stems, mut money) = (1_i64, 1_i64);
    for cell in &component.cells {
        let packs = |size: i64, least: i64| cell.reach / size + 1 + least;
        let most = |value: &dyn Fn(&super::component::Choice) -> i64| {
            let all = cell.choices.iter().map(|&at| value(&component.choices[at]));
            all.max().unwrap_or(0)
        };
        stems =
            stems.saturating_add(most(&|c| packs(c.size, c.least).saturating_mul(c.size)).saturating_mul(2));
        money =
            money.saturating_add(most(&|c| packs(c.size, c.least).saturating_mul(c.price)).saturating_mul(2));
    }
    (stems, money)
}
