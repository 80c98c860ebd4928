//! Filling up a delivery to a goods value. *Loose* packs may be bought in any number beside anything else: what
//! they can come to is worked out once for each delivery, exactly. Where a delivery has none, packs with a least
//! or most number serve, as a quick good plan only. Imports the search's parts and the cell's curve.

use std::rc::Rc;

use super::cell::{Curve, Item, NEVER, index};
use super::component::Choice;
use super::labels::{narrow, wide};
use super::search::{Found, Packs, Search};

/// Packs with a least or most number that are looked at for one delivery, and the largest gap filled by them.
const BOUNDED: usize = 24;
const LARGEST_GAP: i64 = 100_000;
/// Of more different prices than this it is taken for granted that they come to any goods value.
const PRICES: usize = 12;
/// The largest goods value for which fillers are worked out, a bound on memory.
pub(super) const LARGEST_VALUE: i64 = 2_000_000;

impl Choice {
    /// More packs of it may be bought whatever else is.
    pub(super) fn is_loose(&self) -> bool {
        self.most == i64::MAX && self.least <= 1 && self.price > 0
    }
}

/// What can be spent on one delivery by packs that may be bought in any number.
#[derive(Debug)]
pub(super) struct Fillers {
    /// Of different prices.
    packs: Vec<Filler>,
    /// The least cost of packs that come to so much, the last meaning "or more"; the pack added last and the sum before
    /// it.
    sums: Vec<(i64, u32, u32)>,
    /// For every gap the place in `sums` of what fills it at the least cost.
    least: Vec<u32>,
}

/// A pack that may be bought to fill up a delivery.
#[derive(Clone, Copy, Debug)]
struct Filler {
    part: usize,
    choice: usize,
    price: i64,
    cost: i64,
}

impl Fillers {
    fn new(packs: Vec<Filler>, reach: i64) -> Self {
        let reach = index(reach);
        let mut sums = vec![(NEVER, 0, 0); reach + 1];
        sums[0].0 = 0;
        for from in 0..reach {
            if sums[from].0 == NEVER {
                continue;
            }
            for (at, pack) in packs.iter().enumerate() {
                let cost = sums[from].0 + pack.cost;
                let to = (from + index(pack.price)).min(reach);
                if cost < sums[to].0 {
                    sums[to] = (cost, narrow(at), narrow(from));
                }
            }
        }
        let mut least = vec![narrow(reach); reach + 1];
        for gap in (0..reach).rev() {
            let further = least[gap + 1];
            least[gap] = if sums[gap].0 < sums[wide(further)].0 { narrow(gap) } else { further };
        }
        Self { packs, sums, least }
    }

    /// The least cost of filling the gap; [`NEVER`] if it cannot be filled.
    pub(super) fn cost(&self, gap: i64) -> i64 {
        if gap <= 0 { 0 } else { self.least.get(index(gap)).map_or(NEVER, |&at| self.sums[wide(at)].0) }
    }

    /// The goods value of what fills the gap at the least cost.
    fn value(&self, gap: i64) -> i64 {
        let mut value = 0;
        let mut at = if gap <= 0 { 0 } else { wide(self.least[index(gap)]) };
        while at > 0 {
            let (_, pack, before) = self.sums[at];
            value += self.packs[wide(pack)].price;
            at = wide(before);
        }
        value
    }

    pub(super) fn packs(&self, gap: i64) -> Packs {
        let mut packs: Packs = Vec::new();
        let mut at = if gap <= 0 { 0 } else { wide(self.least[index(gap)]) };
        while at > 0 {
            let (_, pack, before) = self.sums[at];
            let Filler { part, choice, .. } = self.packs[wide(pack)];
            merge(&mut packs, vec![(part, choice, 1)]);
            at = wide(before);
        }
        packs
    }
}

impl Search<'_> {
    /// The loose packs of a delivery, up to a goods value; none if that is too large.
    pub(super) fn fillers(&mut self, delivery: usize, reach: i64) -> Rc<Fillers> {
        if let Some(known) = self.fillers.get(&(delivery, reach)) {
            return Rc::clone(known);
        }
        let packs =
            if reach > LARGEST_VALUE { Vec::new() } else { self.packs_on(delivery, &Choice::is_loose) };
        let made = Rc::new(Fillers::new(packs, reach.min(LARGEST_VALUE)));
        self.fillers.insert((delivery, reach), Rc::clone(&made));
        made
    }

    /// The least that the packs of a delivery can come to if it is this goods value or more, any number of each
    /// taken to be possible.
    pub(super) fn attainable(&mut self, delivery: usize, least: i64) -> i64 {
        if let Some(&known) = self.attainable.get(&(delivery, least)) {
            return known;
        }
        let mut packs = self.packs_on(delivery, &|choice| choice.price > 0);
        for pack in &mut packs {
            pack.cost = pack.price;
        }
        let made = if packs.len() > PRICES || least > LARGEST_VALUE {
            least
        } else {
            Fillers::new(packs, least).cost(least)
        };
        self.attainable.insert((delivery, least), made);
        made
    }

    /// Of each price the pack that costs least.
    fn packs_on(&self, delivery: usize, suits: &dyn Fn(&Choice) -> bool) -> Vec<Filler> {
        let mut packs: Vec<Filler> = Vec::new();
        for (part, of) in self.parts.iter().enumerate() {
            for (at, choice) in of.component.choices.iter().enumerate() {
                if choice.delivery == delivery && suits(choice) {
                    packs.push(Filler { part, choice: at, price: choice.price, cost: choice.cost });
                }
            }
        }
        packs.sort_by_key(|p| (p.price, p.cost, p.part, p.choice));
        packs.dedup_by_key(|p| p.price);
        packs
    }

    /// Fills up the deliveries that have goods, which cost so much: to their least order, or to what `required` asks of
    /// them. What that costs with fees, if loose packs can do it; taken as a plan if it is the cheapest yet.
    pub(super) fn fill_up(
        &mut self,
        (mut cost, goods): (i64, &[i64]),
        required: &[(usize, i64)],
        packs: &dyn Fn(&mut Self) -> Packs,
    ) -> Option<i64> {
        let mut gaps = Vec::new();
        let mut filled = goods.to_vec();
        for delivery in 0..goods.len() {
            let asked = required.iter().find(|r| r.0 == delivery).map_or(0, |r| r.1);
            let least = self.deliveries[delivery].least.max(asked);
            if goods[delivery] > 0 && goods[delivery] < least {
                let fillers = self.fillers(delivery, least);
                let gap = least - goods[delivery];
                cost = cost.saturating_add(fillers.cost(gap));
                if cost >= NEVER {
                    return None;
                }
                filled[delivery] += fillers.value(gap);
                gaps.push((fillers, gap));
            }
        }
        let cost = cost + self.fees(&filled)?;
        if cost < self.ceiling() {
            let mut all = packs(self);
            for (fillers, gap) in &gaps {
                merge(&mut all, fillers.packs(*gap));
            }
            self.keep(Found { cost, packs: all });
        }
        Some(cost)
    }

    /// The packs filled up to what is required, also by packs with a least or most number.
    pub(super) fn fill_anyhow(&self, required: &[(usize, i64)], packs: &Packs) -> Option<Packs> {
        let mut packs = packs.clone();
        for &(delivery, least) in required {
            let missing = least - self.goods_of(&packs)[delivery];
            if missing > LARGEST_GAP {
                return None;
            }
            if missing > 0 {
                let more = self.bounded(delivery, missing, &packs)?;
                merge(&mut packs, more);
            }
        }
        Some(packs)
    }

    /// Goods value by delivery.
    pub(super) fn goods_of(&self, packs: &Packs) -> Vec<i64> {
        let mut goods = vec![0; self.deliveries.len()];
        for &(part, choice, count) in packs {
            let choice = &self.parts[part].component.choices[choice];
            goods[choice.delivery] += count * choice.price;
        }
        goods
    }

    /// What packs come to in parts.
    pub(super) fn cost_of(&self, packs: &Packs) -> i64 {
        let cost = |&(part, choice, count): &(usize, usize, i64)| {
            count * self.parts[part].component.choices[choice].cost
        };
        packs.iter().map(cost).sum()
    }

    fn bounded(&self, delivery: usize, missing: i64, packs: &Packs) -> Option<Packs> {
        let mut fillers: Vec<(usize, Item)> = Vec::new();
        for (part, of) in self.parts.iter().enumerate() {
            for (at, choice) in of.component.choices.iter().enumerate() {
                if choice.delivery == delivery && choice.price > 0 {
                    fillers.extend(self.room(part, at, packs).map(|item| (part, item)));
                }
            }
        }
        fillers.sort_by_key(|f| (f.1.size, f.1.cost, f.0, f.1.choice));
        fillers.truncate(BOUNDED);
        let items = fillers.iter().enumerate().map(|(at, filler)| Item { choice: at, ..filler.1 });
        // Money takes the place of stems: the least spending that comes to what is missing.
        let curve = Curve::new(items.collect(), missing);
        curve.steps().last().filter(|step| step.0 == missing)?;
        let chosen = curve.packs(missing).into_iter();
        Some(chosen.map(|(at, packs)| (fillers[at].0, fillers[at].1.choice, packs)).collect())
    }

    /// How many more packs of a choice may be bought.
    fn room(&self, part: usize, at: usize, packs: &Packs) -> Option<Item> {
        let choices = &self.parts[part].component.choices;
        let choice = &choices[at];
        let same_offer = |p: &&(usize, usize, i64)| p.0 == part && choices[p.1].offer == choice.offer;
        let bought: i64 = packs.iter().filter(same_offer).map(|p| p.2).sum();
        let begun = packs.iter().any(|p| (p.0, p.1) == (part, at));
        let most = if choice.most == i64::MAX { i64::MAX } else { choice.most - bought };
        let least = if begun { 1 } else { choice.least };
        (most >= least).then_some(Item {
            choice: at,
            size: choice.price,
            cost: choice.cost,
            least,
            most,
            must: false,
        })
    }
}

/// Adds packs, those of a known choice to its line.
pub(super) fn merge(packs: &mut Packs, more: Packs) {
    for (part, choice, count) in more {
        match packs.iter_mut().find(|p| (p.0, p.1) == (part, choice)) {
            Some(line) => line.2 += count,
            None => packs.push((part, choice, count)),
        }
    }
}
