//! Which deliveries to use: branch and bound over them, around what is known of each component. Imports the
//! model, the known covers and the closing of least orders.

use std::collections::HashMap;
use std::rc::Rc;

use super::cell::NEVER;
use super::close::Closing;
use super::fill::Fillers;
use super::known::Part;
use super::model::{Delivery, Model, Set, bit, members};

/// (component, choice, packs)
pub(super) type Packs = Vec<(usize, usize, i64)>;

/// A plan in the model's own numbers.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) cost: i64,
    pub(super) packs: Packs,
}

pub(super) struct Answer {
    pub(super) best: Option<Found>,
    pub(super) lower_bound: i64,
    /// No plan was found, yet there may be one.
    pub(super) undecided: bool,
}

pub(super) fn search(model: &Model, may_go_on: &mut dyn FnMut() -> bool) -> Answer {
    let mut search = Search::new(model, may_go_on);
    search.improve_locally(model.all());
    search.visit(&Node { open: model.all(), ..Node::default() });
    let cost = search.ceiling();
    let lower_bound = if model.truncated { 0 } else { search.open_bound.min(cost) };
    let undecided = search.best.is_none() && search.open_bound < NEVER;
    Answer { best: search.best, lower_bound, undecided }
}

/// Whether there is any plan at all.
pub(super) fn can_be_planned(model: &Model, may_go_on: &mut dyn FnMut() -> bool) -> bool {
    let mut search = Search::new(model, may_go_on);
    search.any_will_do = true;
    search.visit(&Node { open: model.all(), ..Node::default() });
    search.best.is_some()
}

/// Deliveries open to buying; of them those decided to be used, and those used with the fee waived.
#[derive(Clone, Default)]
struct Node {
    open: Set,
    paid: Set,
    waived: Set,
    /// Prices of money spent on each delivery, as the parent found them.
    pull: Vec<i64>,
}

/// All components bought at their least cost from the open deliveries.
pub(super) struct View {
    pub(super) cost: i64,
    pub(super) bound: i64,
    pub(super) used: Set,
    pub(super) goods: Vec<i64>,
}

pub(super) struct Search<'a> {
    pub(super) deliveries: &'a [Delivery],
    pub(super) parts: Vec<Part>,
    pub(super) may_go_on: &'a mut dyn FnMut() -> bool,
    best: Option<Found>,
    /// The least bound among nodes that were left without being settled.
    open_bound: i64,
    /// Deliveries whose opening costs nothing.
    free: Set,
    pub(super) fillers: HashMap<(usize, i64), Rc<Fillers>>,
    pub(super) attainable: HashMap<(usize, i64), i64>,
    /// The first plan ends the search.
    any_will_do: bool,
}

impl<'a> Search<'a> {
    fn new(model: &'a Model, may_go_on: &'a mut dyn FnMut() -> bool) -> Self {
        let costless = |d: &usize| model.deliveries[*d].fee == 0 && model.deliveries[*d].least == 0;
        let free = members(model.all()).filter(costless).fold(0, |set, d| set | bit(d));
        let parts = model.components.iter().cloned().map(Part::new).collect();
        Self {
            deliveries: &model.deliveries,
            parts,
            may_go_on,
            best: None,
            open_bound: NEVER,
            free,
            fillers: HashMap::new(),
            attainable: HashMap::new(),
            any_will_do: false,
        }
    }

    pub(super) fn ceiling(&self) -> i64 {
        self.best.as_ref().map_or(NEVER, |found| found.cost)
    }

    /// Each component at its best with these deliveries open, as if fees and least orders were none.
    pub(super) fn view(&mut self, open: Set) -> View {
        let mut view = View { cost: 0, bound: 0, used: 0, goods: vec![0; self.deliveries.len()] };
        for part in &mut self.parts {
            let known = part.ask(open, self.may_go_on);
            view.cost = (view.cost + known.cost).min(NEVER);
            view.bound = (view.bound + known.bound).min(NEVER);
            view.used |= known.used;
            for &(delivery, value) in &known.spent {
                view.goods[delivery] += value;
            }
        }
        view
    }

    /// What the deliveries that get goods cost in fees; nothing if one misses its least order.
    pub(super) fn fees(&self, goods: &[i64]) -> Option<i64> {
        let mut fees = 0;
        for (delivery, &goods) in self.deliveries.iter().zip(goods) {
            if goods > 0 && goods < delivery.least {
                return None;
            }
            let waived = delivery.free_over.is_some_and(|over| goods >= over);
            fees += if goods > 0 && !waived { delivery.fee } else { 0 };
        }
        Some(fees)
    }

    /// Takes the view as a plan if it is one and is the cheapest yet. Its cost as a plan.
    fn take(&mut self, open: Set, view: &View) -> Option<i64> {
        let cost = view.cost + self.fees(&view.goods)?;
        if cost < self.ceiling() {
            let packs = self.packs(open);
            self.keep(Found { cost, packs });
        }
        Some(cost)
    }

    fn packs(&mut self, open: Set) -> Packs {
        let mut packs = Vec::new();
        for (number, part) in self.parts.iter_mut().enumerate() {
            let known = part.ask(open, self.may_go_on);
            packs.extend(known.packs.iter().map(|&(choice, count)| (number, choice, count)));
        }
        packs
    }

    pub(super) fn keep(&mut self, found: Found) {
        if found.cost < self.ceiling() {
            self.best = Some(found);
        }
    }

    /// A first plan: closes one delivery at a time as long as that helps.
    fn improve_locally(&mut self, all: Set) {
        let mut open = all;
        let mut worth = self.worth(open);
        loop {
            let mut better = None;
            for d in members(all) {
                let other = open ^ bit(d);
                let other_worth = self.worth(other);
                if other_worth < worth {
                    (worth, better) = (other_worth, Some(other));
                }
            }
            let Some(other) = better else { return };
            if !(self.may_go_on)() {
                return;
            }
            open = other;
        }
    }

    /// The cost with these deliveries open, each missing unit of a least order counted as if it had to be bought.
    fn worth(&mut self, open: Set) -> i64 {
        let view = self.view(open);
        if view.cost >= NEVER {
            return NEVER;
        }
        if let Some(cost) = self.take(open, &view) {
            return cost;
        }
        if let Some(cost) = self.fill_up(&view.goods, &[], &|search| search.packs(open)) {
            return cost;
        }
        let mut cost = view.cost;
        for (delivery, &goods) in self.deliveries.iter().zip(&view.goods) {
            if goods > 0 {
                cost += delivery.fee + (delivery.least - goods).max(0);
            }
        }
        cost
    }

    fn visit(&mut self, node: &Node) {
        let view = self.view(node.open);
        let fees: i64 = members(node.paid).map(|d| self.deliveries[d].fee).sum();
        let bound = (view.bound + fees).min(NEVER);
        if bound >= self.ceiling() || (self.any_will_do && self.best.is_some()) {
            return;
        }
        if !(self.may_go_on)() {
            self.open_bound = self.open_bound.min(bound);
            return;
        }
        self.take(node.open, &view);
        if bound >= self.ceiling() {
            return;
        }
        let short = self.short(node, &view);
        let undecided = node.open & !node.paid & !node.waived & !self.free;
        if short.is_empty() && undecided & view.used == 0 {
            // Nothing is left to decide: the plan just taken costs the bound, unless a cover is not exact.
            self.open_bound = self.open_bound.min(bound);
            return;
        }
        let mut node = node.clone();
        if !short.is_empty() {
            let bound = self.reach_least_orders(&mut node, fees, undecided == 0);
            if bound >= self.ceiling() {
                return;
            }
            if undecided == 0 {
                self.open_bound = self.open_bound.min(bound);
                return;
            }
        }
        let choices = if undecided & view.used == 0 { undecided } else { undecided & view.used };
        self.branch(&node, choices);
    }

    fn branch(&mut self, node: &Node, choices: Set) {
        let mut hardest = None;
        for d in members(choices) {
            let without = self.view(node.open & !bit(d)).bound;
            if hardest.is_none_or(|(most, _)| without > most) {
                hardest = Some((without, d));
            }
        }
        let Some((_, d)) = hardest else { return };
        self.visit(&Node { paid: node.paid | bit(d), ..node.clone() });
        if self.deliveries[d].free_over.is_some() {
            self.visit(&Node { waived: node.waived | bit(d), ..node.clone() });
        }
        self.visit(&Node { open: node.open & !bit(d), ..node.clone() });
    }

    /// Deliveries decided to be used whose goods come to less than they must.
    fn short(&self, node: &Node, view: &View) -> Vec<usize> {
        members(node.paid | node.waived).filter(|&d| view.goods[d] < self.required(node, d)).collect()
    }

    fn required(&self, node: &Node, d: usize) -> i64 {
        let delivery = &self.deliveries[d];
        let waiver = if node.waived & bit(d) == 0 { 0 } else { delivery.free_over.unwrap_or(0) };
        delivery.least.max(waiver)
    }

    fn reach_least_orders(&mut self, node: &mut Node, fees: i64, last: bool) -> i64 {
        let decided = node.paid | node.waived;
        let asked: Vec<(usize, i64)> = members(decided).map(|d| (d, self.required(node, d))).collect();
        let asked = asked.into_iter().filter(|r| r.1 > 0);
        let required = asked.map(|(d, least)| (d, self.attainable(d, least))).collect();
        let mut closing = Closing { open: node.open, required, fees, pull: std::mem::take(&mut node.pull) };
        let bound = closing.bound(self, last);
        node.pull = closing.pull;
        bound
    }
}
