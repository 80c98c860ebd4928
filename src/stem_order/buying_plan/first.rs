//! A first plan at once, without looking far: so that there is a plan whenever time runs out. Each component is
//! bought pack by pack, the pack that is cheapest for what it serves first; a delivery below its least order is then
//! given up or filled up. Imports the model, the transport of stems and the search's plan.

use super::component::{Choice, Component};
use super::model::Model;
use super::search::{Found, fees};
use super::set::Set;
use super::transport::Transport;

/// What is done about a delivery below its least order, where both can be done.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Bent {
    Cheaper,
    FillUp,
    GiveUp,
}

/// A plan of the block if one is found; that none is found proves nothing.
pub(super) fn first_plan(model: &Model) -> Option<Found> {
    let mut best: Option<Found> = None;
    for bent in [Bent::Cheaper, Bent::GiveUp, Bent::FillUp] {
        let found = First::new(model).and_then(|first| first.repaired(bent));
        if let Some(found) = found.filter(|found| best.as_ref().is_none_or(|best| found.cost < best.cost)) {
            best = Some(found);
        }
    }
    best
}

/// Packs of each choice of a component.
type Bought = Vec<i64>;

struct First<'a> {
    model: &'a Model,
    open: Set,
    bought: Vec<Bought>,
}

impl<'a> First<'a> {
    fn new(model: &'a Model) -> Option<Self> {
        let mut first = Self { model, open: model.all(), bought: Vec::new() };
        let mut used = Set::none();
        for component in &model.components {
            let bought = first.buy(component, used)?;
            used |= deliveries(component, &bought);
            first.bought.push(bought);
        }
        Some(first)
    }

    /// Packs that serve the component from the open deliveries, those in `used` having been paid for.
    fn buy(&self, component: &Component, mut used: Set) -> Option<Bought> {
        let cells = component.cells.len();
        let links = component.hall.classes.iter().map(|class| {
            class.lots.iter().map(|lot| cells + lot).chain(class.cells.iter().copied()).collect()
        });
        let supply = (0..cells).map(|_| 0).chain(component.hall.lots.iter().copied()).collect();
        let mut transport = Transport::new(supply, links.collect());
        let mut bought = vec![0; component.choices.len()];
        let mut order: Vec<usize> = (0..component.hall.classes.len()).collect();
        order.sort_by_key(|&class| component.hall.classes[class].cells.len());
        for class in order {
            let mut wanted = component.hall.classes[class].stems;
            while let Err(stuck) = transport.serve(class, wanted) {
                wanted = stuck.missing;
                let within = transport.supplies_of(&stuck.rivals);
                let (at, packs) = self.pick(component, &bought, used, &within, wanted)?;
                let choice = &component.choices[at];
                bought[at] += packs;
                used = used.with(choice.delivery);
                transport.add(choice.cell, packs * choice.size);
            }
        }
        Some(bought)
    }

    /// The packs that cost least for each of the stems in want that they serve, the fee of a new delivery included.
    fn pick(
        &self,
        component: &Component,
        bought: &Bought,
        used: Set,
        within: &[bool],
        wanted: i64,
    ) -> Option<(usize, i64)> {
        let mut best: Option<(i128, i128, usize, i64)> = None;
        for (at, choice) in component.choices.iter().enumerate() {
            if !within[choice.cell] || !self.open.has(choice.delivery) {
                continue;
            }
            let (least, room) = (step(choice, bought[at]), room(component, bought, at));
            if room < least {
                continue;
            }
            let opening = &self.model.deliveries[choice.delivery];
            let fee = if used.has(choice.delivery) { 0 } else { opening.fee };
            for packs in [wanted / choice.size, (wanted + choice.size - 1) / choice.size] {
                let packs = packs.clamp(least, room);
                let cost = i128::from(packs.saturating_mul(choice.price).saturating_add(fee));
                let served = i128::from(packs.saturating_mul(choice.size).min(wanted));
                if best.is_none_or(|(known, stems, ..)| cost * stems < known * served) {
                    best = Some((cost, served, at, packs));
                }
            }
        }
        best.map(|(_, _, at, packs)| (at, packs))
    }

    /// Fills up or gives up deliveries until all come to their least order.
    fn repaired(mut self, bent: Bent) -> Option<Found> {
        for _ in 0..4 * self.model.deliveries.len() + 8 {
            let goods = self.goods();
            let missing = |d: usize| self.model.deliveries[d].least - goods[d];
            let short =
                (0..goods.len()).filter(|&d| goods[d] > 0 && missing(d) > 0).max_by_key(|&d| missing(d));
            let Some(delivery) = short else { return self.found() };
            let filled = self.filled(delivery, missing(delivery));
            let closed = self.closed(delivery);
            let before = self.cost();
            let worth = |first: &Self| first.cost().saturating_sub(before);
            self = match (filled, closed) {
                (Some(filled), Some(closed)) => match bent {
                    Bent::FillUp => filled,
                    Bent::Cheaper if worth(&filled) < worth(&closed) => filled,
                    Bent::GiveUp | Bent::Cheaper => closed,
                },
                (filled, closed) => filled.or(closed)?,
            };
        }
        None
    }

    fn closed(&self, delivery: usize) -> Option<Self> {
        let mut closed =
            Self { model: self.model, open: self.open.without(delivery), bought: self.bought.clone() };
        let used = self.used().without(delivery);
        for (number, component) in self.model.components.iter().enumerate() {
            if deliveries(component, &self.bought[number]).has(delivery) {
                closed.bought[number] = closed.buy(component, used)?;
            }
        }
        Some(closed)
    }

    fn filled(&self, delivery: usize, mut missing: i64) -> Option<Self> {
        let mut filled = Self { model: self.model, open: self.open, bought: self.bought.clone() };
        while missing > 0 {
            let (number, at, packs) = filled.filler(delivery, missing)?;
            filled.bought[number][at] += packs;
            missing -= packs * self.model.components[number].choices[at].price;
        }
        Some(filled)
    }

    /// The packs that come to what is missing and least over it; if none do, those that come nearest.
    fn filler(&self, delivery: usize, missing: i64) -> Option<(usize, usize, i64)> {
        let mut best = None;
        let mut least_over = (true, i64::MAX);
        for (number, component) in self.model.components.iter().enumerate() {
            for (at, choice) in component.choices.iter().enumerate() {
                let bought = &self.bought[number];
                let (least, room) = (step(choice, bought[at]), room(component, bought, at));
                if choice.delivery != delivery || choice.price <= 0 || room < least {
                    continue;
                }
                let packs = ((missing + choice.price - 1) / choice.price).clamp(least, room);
                let over = packs.saturating_mul(choice.price) - missing;
                let rank = (over < 0, over.abs());
                if best.is_none() || rank < least_over {
                    (best, least_over) = (Some((number, at, packs)), rank);
                }
            }
        }
        best
    }

    fn used(&self) -> Set {
        let parts = self.model.components.iter().zip(&self.bought);
        parts.fold(Set::none(), |used, (component, bought)| used | deliveries(component, bought))
    }

    fn goods(&self) -> Vec<i64> {
        let mut goods = vec![0; self.model.deliveries.len()];
        for (component, bought) in self.model.components.iter().zip(&self.bought) {
            for (choice, packs) in component.choices.iter().zip(bought) {
                goods[choice.delivery] += packs * choice.price;
            }
        }
        goods
    }

    /// Goods, fees, and what is missing of least orders.
    fn cost(&self) -> i64 {
        let terms = self.model.deliveries.iter().zip(self.goods()).filter(|(_, goods)| *goods > 0);
        terms.map(|(delivery, goods)| goods.max(delivery.least) + delivery.fee).sum()
    }

    fn found(&self) -> Option<Found> {
        let goods = self.goods();
        let fees = fees(&self.model.deliveries, &goods)? * self.model.measure.unit;
        let mut packs = Vec::new();
        for (number, bought) in self.bought.iter().enumerate() {
            let lines = bought.iter().enumerate().filter(|(_, packs)| **packs > 0);
            packs.extend(lines.map(|(at, &count)| (number, at, count)));
        }
        let cost = |&(number, at, count): &(usize, usize, i64)| {
            count * self.model.components[number].choices[at].cost
        };
        Some(Found { cost: fees + packs.iter().map(cost).sum::<i64>(), packs })
    }
}

fn deliveries(component: &Component, bought: &Bought) -> Set {
    let lines = component.choices.iter().zip(bought).filter(|(_, packs)| **packs > 0);
    lines.fold(Set::none(), |used, (choice, _)| used.with(choice.delivery))
}

/// The fewest packs that can be added.
fn step(choice: &Choice, bought: i64) -> i64 {
    if bought > 0 { 1 } else { choice.least }
}

/// The most packs that can be added.
fn room(component: &Component, bought: &Bought, at: usize) -> i64 {
    let choice = &component.choices[at];
    if choice.most == i64::MAX {
        return i64::MAX / 4;
    }
    let shared = component.caps.iter().find(|cap| cap.choices.contains(&at));
    let taken = shared.map_or(bought[at], |cap| cap.choices.iter().map(|&other| bought[other]).sum());
    choice.most - taken
}
