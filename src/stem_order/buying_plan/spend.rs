//! Filling up a delivery to its least order: the least further spending that gets there. A quick good plan, not
//! the best one. Imports the model and the search's parts.

use super::cell::{Curve, Item, NEVER};
use super::model::Set;
use super::search::{Packs, Search};

/// Fillers looked at for one delivery, and the largest gap that is filled.
const FILLERS: usize = 24;
const LARGEST_GAP: i64 = 200_000;

/// The packs with every delivery filled up, if that can be done.
pub(super) fn fill(search: &Search, open: Set, required: &[(usize, i64)], packs: &Packs) -> Option<Packs> {
    let mut packs = packs.clone();
    for &(delivery, least) in required {
        debug_assert!(open & super::model::bit(delivery) != 0);
        let missing = least - goods(search, &packs, delivery);
        if missing > LARGEST_GAP {
            return None;
        }
        if missing > 0 {
            fill_one(search, delivery, missing, &mut packs)?;
        }
    }
    Some(packs)
}

fn goods(search: &Search, packs: &Packs, delivery: usize) -> i64 {
    let values = packs.iter().map(|&(part, choice, count)| {
        let choice = &search.parts[part].component.choices[choice];
        if choice.delivery == delivery { count * choice.price } else { 0 }
    });
    values.sum()
}

fn fill_one(search: &Search, delivery: usize, missing: i64, packs: &mut Packs) -> Option<()> {
    let fillers = fillers(search, delivery, packs);
    let items = fillers.iter().enumerate().map(|(at, filler)| Item { choice: at, ..filler.item });
    // Money takes the place of stems: the least spending that comes to what is missing.
    let curve = Curve::new(items.collect(), missing);
    curve.steps().last().filter(|step| step.0 == missing && step.1 < NEVER)?;
    for (at, count) in curve.packs(missing) {
        let (part, choice) = (fillers[at].part, fillers[at].item.choice);
        match packs.iter_mut().find(|p| (p.0, p.1) == (part, choice)) {
            Some(line) => line.2 += count,
            None => packs.push((part, choice, count)),
        }
    }
    Some(())
}

struct Filler {
    part: usize,
    item: Item,
}

/// What may still be bought on the delivery, cheapest packs first.
fn fillers(search: &Search, delivery: usize, packs: &Packs) -> Vec<Filler> {
    let mut all = Vec::new();
    for (part, of) in search.parts.iter().enumerate() {
        let component = &of.component;
        for (at, choice) in component.choices.iter().enumerate() {
            if choice.delivery != delivery || choice.price == 0 {
                continue;
            }
            let same_offer =
                |p: &&(usize, usize, i64)| p.0 == part && component.choices[p.1].offer == choice.offer;
            let bought: i64 = packs.iter().filter(same_offer).map(|p| p.2).sum();
            let begun = packs.iter().any(|p| (p.0, p.1) == (part, at));
            let most = if choice.most == i64::MAX { i64::MAX } else { choice.most - bought };
            let least = if begun { 1 } else { choice.least };
            if most >= least {
                let item = Item { choice: at, size: choice.price, cost: choice.price, least, most };
                all.push(Filler { part, item });
            }
        }
    }
    all.sort_by_key(|f| (f.item.cost, f.part, f.item.choice));
    all.truncate(FILLERS);
    all
}
