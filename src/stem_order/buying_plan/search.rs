//! Which deliveries to use: branch and bound over them, around what is known of each component. Imports the
//! model, the known covers and the closing of least orders.

use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use super::cell::NEVER;
use super::close::Closing;
use super::dual::Prices;
use super::fill::Fillers;
use super::known::Part;
use super::measure::Measure;
use super::model::{Delivery, Model};
use super::set::Set;

/// (component, choice, packs)
pub(super) type Packs = Vec<(usize, usize, i64)>;

/// A plan in the model's own numbers, with what it comes to in parts.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) cost: i64,
    pub(super) packs: Packs,
}

/// What the deliveries that get goods cost in fees, in minor units; nothing if one misses its least order.
pub(super) fn fees(deliveries: &[Delivery], goods: &[i64]) -> Option<i64> {
    let mut fees = 0;
    for (delivery, &goods) in deliveries.iter().zip(goods).filter(|(_, goods)| **goods > 0) {
        if goods < delivery.least {
            return None;
        }
        let waived = delivery.free_over.is_some_and(|over| goods >= over);
        fees += if waived { delivery.waived } else { delivery.fee };
    }
    Some(fees)
}

/// Deliveries open to buying; of them those decided to be used, and those used with the fee waived.
#[derive(Clone, Default)]
pub(super) struct Node {
    pub(super) open: Set,
    pub(super) paid: Set,
    pub(super) waived: Set,
    /// No plan of the node costs less, as far as is known before looking.
    pub(super) bound: i64,
    /// As the parent found them.
    pub(super) prices: Prices,
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
    pub(super) measure: Measure,
    pub(super) parts: Vec<Part>,
    pub(super) may_go_on: &'a mut dyn FnMut() -> bool,
    pub(super) best: Option<Found>,
    /// The least bound among nodes that were left without being settled.
    pub(super) open_bound: i64,
    /// Deliveries whose opening costs nothing.
    free: Set,
    /// Deliveries whose fee is owed and may yet be waived.
    owed: Set,
    pub(super) fillers: HashMap<(usize, i64), Rc<Fillers>>,
    pub(super) attainable: HashMap<(usize, i64), i64>,
    /// Deliveries that were tried as the open ones.
    pub(super) tried: HashSet<Set>,
    /// The first plan ends the search.
    pub(super) any_will_do: bool,
    /// Only plans that come to less are looked for.
    pub(super) limit: i64,
}

impl<'a> Search<'a> {
    pub(super) fn new(model: &'a Model, parts: Vec<Part>, may_go_on: &'a mut dyn FnMut() -> bool) -> Self {
        let costless = |d: &usize| {
            let delivery = &model.deliveries[*d];
            delivery.fee == 0 && delivery.waived == 0 && delivery.least == 0
        };
        let free = model.all().members().filter(costless).fold(Set::none(), Set::with);
        Self {
            deliveries: &model.deliveries,
            measure: model.measure,
            parts,
            may_go_on,
            best: None,
            open_bound: NEVER,
            free,
            owed: model
                .all()
                .members()
                .filter(|&d| model.deliveries[d].waived < 0)
                .fold(Set::none(), Set::with),
            fillers: HashMap::new(),
            attainable: HashMap::new(),
            tried: HashSet::new(),
            any_will_do: false,
            limit: NEVER,
        }
    }

    pub(super) fn ceiling(&self) -> i64 {
        self.best.as_ref().map_or(self.limit, |found| found.cost)
    }

    /// Each component at its best with these deliveries open, as if fees and least orders were none; nothing if
    /// time ran out meanwhile.
    pub(super) fn view(&mut self, open: Set) -> Option<View> {
        let none = Set::none();
        let mut view = View { cost: 0, bound: 0, used: none, goods: vec![0; self.deliveries.len()] };
        for part in &mut self.parts {
            let known = part.ask(open, self.may_go_on);
            view.cost = (view.cost + known.cost).min(NEVER);
            view.bound = (view.bound + known.bound).min(NEVER);
            view.used |= known.used;
            for &(delivery, value) in &known.spent {
                view.goods[delivery] += value;
            }
            if !(self.may_go_on)() {
                return None;
            }
        }
        Some(view)
    }

    /// What the deliveries that get goods cost in fees; nothing if one misses its least order.
    pub(super) fn fees(&self, goods: &[i64]) -> Option<i64> {
        fees(self.deliveries, goods).map(|fees| fees * self.measure.unit)
    }

    pub(super) fn fee(&self, delivery: usize) -> i64 {
        self.deliveries[delivery].fee * self.measure.unit
    }

    /// Keeps the better plan.
    pub(super) fn keep(&mut self, found: Found) {
        if found.cost < self.ceiling() {
            self.best = Some(found);
        }
    }

    /// Takes the view as a plan if it is one and is the cheapest yet. Its cost as a plan.
    fn take(&mut self, open: Set, view: &View) -> Option<i64> {
        if view.cost >= NEVER {
            return None;
        }
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

    /// A better plan soon: closes one delivery at a time as long as that helps.
    fn improve_locally(&mut self, all: Set) {
        let mut open = all;
        let Some(mut worth) = self.worth(open) else { return };
        loop {
            let mut better = None;
            for d in all.members() {
                let other = if open.has(d) { open.without(d) } else { open.with(d) };
                let Some(other_worth) = self.worth(other) else { return };
                if other_worth < worth {
                    (worth, better) = (other_worth, Some(other));
                }
            }
            let Some(other) = better else { return };
            open = other;
        }
    }

    /// The cost with these deliveries open, each missing unit of a least order counted as if it had to be bought;
    /// nothing if time ran out.
    pub(super) fn worth(&mut self, open: Set) -> Option<i64> {
        let view = self.view(open)?;
        if view.cost >= NEVER {
            return Some(NEVER);
        }
        if let Some(cost) = self.take(open, &view) {
            return Some(cost);
        }
        if let Some(cost) = self.fill_up((view.cost, &view.goods), &[], &|search| search.packs(open)) {
            return Some(cost);
        }
        let used = self.deliveries.iter().zip(&view.goods).filter(|(_, goods)| **goods > 0);
        let dues = used.map(|(delivery, &goods)| delivery.fee + (delivery.least - goods).max(0));
        Some(view.cost.saturating_add(dues.sum::<i64>().saturating_mul(self.measure.unit)))
    }

    pub(super) fn run(&mut self, model: &Model) {
        let mut root = Node { open: model.all(), bound: model.floor, ..Node::default() };
        if let Some(view) = self.view(root.open) {
            root.bound = self.with_fees(&root, view.bound);
            self.improve_locally(model.all());
        }
        self.visit_first(root);
    }

    pub(super) fn visit_first(&mut self, mut root: Node) {
        root.prices = Prices::even(self, &root);
        self.visit(&root);
    }

    /// A bound on the goods made one on the node.
    fn with_fees(&self, node: &Node, bound: i64) -> i64 {
        if bound >= NEVER { NEVER } else { (bound + self.fees_at(node)).max(node.bound) }
    }

    fn visit(&mut self, node: &Node) {
        if node.bound >= self.ceiling() || (self.any_will_do && self.best.is_some()) {
            return;
        }
        let Some(view) = self.view(node.open) else { return self.leave_open(node.bound) };
        let bound = self.with_fees(node, view.bound);
        if bound >= self.ceiling() {
            return;
        }
        self.take(node.open, &view);
        if bound >= self.ceiling() {
            return;
        }
        let undecided = self.undecided(node);
        let asking = undecided & (view.used | self.owed);
        let short = self.short(node, &view);
        if !short && asking.is_empty() {
            // Nothing is left to decide: the plan just taken costs the bound, unless a cover is not exact.
            return self.leave_open(bound);
        }
        let mut node = Node { bound, ..node.clone() };
        match self.tighten(&mut node, short) {
            Tightened::Settled => self.visit(&node),
            Tightened::Done => {}
            Tightened::Open if self.is_vague() => self.leave_open(node.bound),
            Tightened::Open => self.branch(&node, if asking.is_empty() { undecided } else { asking }),
        }
    }

    /// Some cover is only bounded, though it could be worked out: then it does not pay to divide nodes.
    fn is_vague(&self) -> bool {
        self.parts.iter().any(|part| part.component.left_open && !part.component.thorough)
    }

    /// Better bounds on a node, until it is done with or must be divided.
    fn tighten(&mut self, node: &mut Node, short: bool) -> Tightened {
        let undecided = self.undecided(node);
        node.prices.forget(Set::first(self.deliveries.len()).less(undecided));
        if !undecided.is_empty() {
            let first = node.paid.is_empty() && node.waived.is_empty();
            let Some(relaxed) = self.charge(node, first) else { return self.give_up(node) };
            node.bound = node.bound.max(self.measure.whole(relaxed.bound));
            if node.bound >= self.ceiling() {
                return Tightened::Done;
            }
            if self.settle(node, &relaxed) {
                return Tightened::Settled;
            }
        }
        if short {
            let required = self.required_of(node);
            let spent: i64 = required.iter().map(|required| required.1).sum();
            if spent.saturating_mul(self.measure.unit).saturating_add(self.fees_at(node)) >= self.ceiling() {
                return Tightened::Done;
            }
            let last = undecided.is_empty();
            let Some(relaxed) = self.pull_hard(node, &required, last) else { return self.give_up(node) };
            node.bound = node.bound.max(self.measure.whole(relaxed.bound));
            if node.bound < self.ceiling() && last {
                let (pull, fees) = (node.prices.pull.clone(), self.fees_at(node));
                let closing = Closing { open: node.open, required, fees, pull: &pull };
                node.bound = node.bound.max(closing.close(self, &relaxed));
                return self.give_up(node);
            }
        }
        if node.bound >= self.ceiling() { Tightened::Done } else { Tightened::Open }
    }

    fn give_up(&mut self, node: &Node) -> Tightened {
        self.leave_open(node.bound);
        Tightened::Done
    }

    /// Deliveries of which it is not decided whether they are used, and that are not free to use.
    pub(super) fn undecided(&self, node: &Node) -> Set {
        node.open.less(node.paid).less(node.waived).less(self.free)
    }

    /// The node is given up with this bound.
    fn leave_open(&mut self, bound: i64) {
        self.open_bound = self.open_bound.min(bound);
    }

    /// Fees of the deliveries decided on; of the others what they can save at most.
    fn fees_at(&self, node: &Node) -> i64 {
        let paid: i64 = node.paid.members().map(|d| self.deliveries[d].fee).sum();
        let saved = (node.open & self.owed).less(node.paid) | node.waived;
        let saved: i64 = saved.members().map(|d| self.deliveries[d].waived).sum();
        (paid + saved) * self.measure.unit
    }

    fn branch(&mut self, node: &Node, choices: Set) {
        let mut hardest = None;
        for d in choices.members() {
            let Some(without) = self.view(node.open.without(d)) else { return self.leave_open(node.bound) };
            if hardest.is_none_or(|(most, _)| without.bound > most) {
                hardest = Some((without.bound, d));
            }
        }
        let Some((_, d)) = hardest else { return };
        let mut paid = Node { paid: node.paid.with(d), ..node.clone() };
        if self.deliveries[d].least == 0 {
            paid.prices.pull[d] = 0;
        }
        self.visit(&paid);
        if self.deliveries[d].free_over.is_some() {
            self.visit(&Node { waived: node.waived.with(d), ..node.clone() });
        }
        self.visit(&Node { open: node.open.without(d), ..node.clone() });
    }

    /// Whether the goods of a delivery that is decided to be used come to less than they must.
    fn short(&self, node: &Node, view: &View) -> bool {
        (node.paid | node.waived).members().any(|d| view.goods[d] < self.required(node, d))
    }

    fn required(&self, node: &Node, d: usize) -> i64 {
        let delivery = &self.deliveries[d];
        let waiver = if node.waived.has(d) { delivery.free_over.unwrap_or(0) } else { 0 };
        delivery.least.max(waiver)
    }

    /// Deliveries decided to be used with what they must come to.
    fn required_of(&mut self, node: &Node) -> Vec<(usize, i64)> {
        let decided = (node.paid | node.waived).members().map(|d| (d, self.required(node, d)));
        let decided: Vec<(usize, i64)> = decided.filter(|required| required.1 > 0).collect();
        decided.into_iter().map(|(d, least)| (d, self.attainable(d, least))).collect()
    }
}

/// What became of a node.
enum Tightened {
    /// Some of it is now decided on.
    Settled,
    /// It cannot lead below the ceiling, or it is worked out.
    Done,
    Open,
}
