//! Stock on hand as the plan sees it: the lots of one material that keep for the same wants are one. Which lot is taken
//! for which event is told once the plan stands.

use std::collections::{BTreeMap, BTreeSet};

use super::{Posed, Want};
use crate::ground::ids::MaterialId;
use crate::stem_order::buying_plan::{Plan, Source};
use crate::stem_order::stock::StockUse;
use crate::stem_order::stock::serving::{Demand, Supply, oldest_first};
use crate::stem_order::weekend::{OnHand, Weekend};
use crate::stem_order::windows::still_keeps;

/// Lots of one material that keep for the same wants.
#[derive(Debug, Clone)]
pub struct Shelf {
    /// Of what.
    pub material: MaterialId,
    /// Which of the material's shelves.
    pub number: usize,
    /// The oldest first.
    pub lots: Vec<OnHand>,
    /// The wants they keep for, by their place.
    pub serves: BTreeSet<usize>,
}

impl Shelf {
    /// How many the order may take.
    #[must_use]
    pub fn free(&self) -> i64 {
        self.lots.iter().map(|lot| lot.free).sum()
    }
}

/// The lots of which some are free for some want.
#[must_use]
pub fn shelves(weekend: &Weekend, wants: &[Want]) -> Vec<Shelf> {
    let mut shelves: Vec<Shelf> = Vec::new();
    for (material, lots) in &weekend.on_hand {
        let mut number = 0;
        for lot in lots.iter().filter(|lot| lot.free > 0) {
            let serves = serves(weekend, wants, *material, lot);
            if serves.is_empty() {
                continue;
            }
            let same = |shelf: &&mut Shelf| shelf.material == *material && shelf.serves == serves;
            if let Some(shelf) = shelves.iter_mut().find(same) {
                shelf.lots.push(lot.clone());
            } else {
                shelves.push(Shelf { material: *material, number, lots: vec![lot.clone()], serves });
                number += 1;
            }
        }
    }
    shelves
}

fn serves(weekend: &Weekend, wants: &[Want], id: MaterialId, lot: &OnHand) -> BTreeSet<usize> {
    let Some(material) = weekend.material(id) else { return BTreeSet::new() };
    let keeps = |want: &Want| {
        let event = &weekend.events[weekend.needs[want.need].parts[want.part].event].event;
        want.accepts.iter().any(|(accepted, _)| *accepted == id)
            && still_keeps(material, lot.arrived_on, event.day)
    };
    (0..wants.len()).filter(|at| keeps(&wants[*at])).collect()
}

/// What the plan takes from which lot for which event: by material, the oldest lot that keeps first.
#[must_use]
pub fn stock_uses(weekend: &Weekend, posed: &Posed, plan: &Plan) -> Vec<(MaterialId, StockUse)> {
    let mut taken: BTreeMap<MaterialId, BTreeMap<usize, i64>> = BTreeMap::new();
    for share in &plan.allocation {
        let (Source::Stock(at), Some(material)) = (share.source, posed.materials.get(&share.material)) else {
            continue;
        };
        // What was ordered before does not lie on a shelf yet.
        if posed.placed_lot(at).is_some() {
            continue;
        }
        let want = &posed.wants[share.requirement];
        let event = weekend.needs[want.need].parts[want.part].event;
        *taken.entry(*material).or_default().entry(event).or_default() += share.stems;
    }
    taken.iter().flat_map(|(material, by_event)| uses_of(weekend, *material, by_event)).collect()
}

fn uses_of(
    weekend: &Weekend,
    id: MaterialId,
    by_event: &BTreeMap<usize, i64>,
) -> Vec<(MaterialId, StockUse)> {
    let (Some(material), Some(lots)) = (weekend.material(id), weekend.on_hand.get(&id)) else {
        return Vec::new();
    };
    let supplies: Vec<Supply> =
        lots.iter().map(|lot| Supply { arrived: lot.arrived_on, free: lot.free }).collect();
    let events: Vec<usize> = by_event.keys().copied().collect();
    let wants: Vec<Demand> = by_event
        .iter()
        .map(|(event, pieces)| Demand { event_day: weekend.events[*event].event.day, pieces: *pieces })
        .collect();
    let served = oldest_first(&supplies, &wants, |arrived, event| still_keeps(material, arrived, event));
    let mut uses: Vec<(MaterialId, StockUse)> = served
        .into_iter()
        .map(|(lot, want, count)| {
            let event = weekend.events[events[want]].event.id;
            (id, StockUse { lot: lots[lot].lot, event, count })
        })
        .collect();
    uses.sort_by_key(|(_, one)| (one.lot, one.event));
    uses
}
