//! What still comes, or has come, of placed orders, line by line: how many stems, for whom, and whether it can be taken
//! back.
//!
//! - Stems of a line = those counted good, less what went into stock, was written off or lost at the bench; not counted yet:
//!   those expected.
//! - Each event's own = its share of them (C5), in proportion to what it was promised where fewer come.
//! - What events that have passed were promised is theirs; all else may serve.
//!
//! May import `ground`, and the room's own types.

use std::collections::BTreeMap;

use super::{OrderedBefore, Received, Standing};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId, OfferId, PlacedLineId, PlacedOrderId, SupplierId};
use crate::ground::largest_remainder::split_by;
use crate::ground::money::Money;
use crate::stem_order::calendar::LocalTime;
use crate::stem_order::placing::PlacedLine;

/// A placed line as it counts now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Coming {
    /// On which order.
    pub order: PlacedOrderId,
    /// Its number.
    pub number: i64,
    /// From whom.
    pub supplier: SupplierId,
    /// Their name, as it was.
    pub supplier_name: String,
    /// On which day.
    pub day: Day,
    /// Which line.
    pub line: PlacedLineId,
    /// Which offer.
    pub offer: OfferId,
    /// Of what.
    pub material: MaterialId,
    /// Its name, as it was.
    pub name: String,
    /// What a pack is called.
    pub pack_name: String,
    /// How many are in it.
    pub pack_size: i64,
    /// Packs that are expected.
    pub packs: i64,
    /// At which price.
    pub price: Money,
    /// Why so many were ordered, in words as they were.
    pub working: String,
    /// Stems that were ordered for each event.
    pub promised: Vec<(EventId, i64)>,
    /// Stems that each event may count on.
    pub own: Vec<(EventId, i64)>,
    /// Stems that may serve: all but those of events that have passed.
    pub stems: i64,
    /// Whether it was counted in.
    pub counted: bool,
    /// Whether it can still be taken back: not after the cut-off, not once it was counted in or used.
    pub open: bool,
}

/// Every line of the orders, by number.
#[must_use]
pub fn coming(before: &OrderedBefore, now: LocalTime) -> Vec<Coming> {
    let mut lines = Vec::new();
    for order in &before.orders {
        for delivery in &order.deliveries {
            for line in &delivery.lines {
                let received = before.received.get(&line.id).copied();
                let own = own(line, received);
                let used: i64 =
                    own.iter().filter(|(event, _)| is_over(before, *event)).map(|(_, stems)| stems).sum();
                let stems = stems(line, received) - used;
                lines.push(Coming {
                    order: order.id,
                    number: order.number,
                    supplier: order.supplier_id,
                    supplier_name: order.supplier.clone(),
                    day: delivery.day,
                    line: line.id,
                    offer: line.offer_id,
                    material: line.material_id,
                    name: line.name.clone(),
                    pack_name: line.pack_name.clone(),
                    pack_size: line.pack_size,
                    packs: line.expected_packs(),
                    price: line.expected_price(),
                    working: line.working.clone(),
                    promised: line.shares.iter().map(|share| (share.event_id, share.stems)).collect(),
                    own,
                    stems: stems.max(0),
                    counted: received.is_some(),
                    open: received.is_none()
                        && used == 0
                        && now <= delivery.order_by()
                        && line.expected_packs() > 0,
                });
            }
        }
    }
    lines
}

/// Stems of each material that were counted in good and may serve: they want no spares any more.
#[must_use]
pub fn counted_good(lines: &[Coming]) -> BTreeMap<MaterialId, i64> {
    let mut good = BTreeMap::new();
    for line in lines.iter().filter(|line| line.counted) {
        *good.entry(line.material).or_default() += line.stems;
    }
    good
}

/// What the bench lost of a material was lost of what was counted in, the earliest line first; what is more than was
/// counted in is nobody's.
pub(super) fn lose_at_the_bench<'a>(of_material: impl Iterator<Item = &'a mut Received>, mut lost: i64) {
    for received in of_material {
        let here = (received.good - received.gone).clamp(0, lost.max(0));
        received.gone += here;
        lost -= here;
    }
}

fn is_over(before: &OrderedBefore, event: EventId) -> bool {
    before.events.get(&event).is_some_and(|named| named.standing == Standing::Over)
}

fn stems(line: &PlacedLine, received: Option<Received>) -> i64 {
    received.map_or_else(|| line.expected_stems(), |counted| (counted.good - counted.gone).max(0))
}

fn own(line: &PlacedLine, received: Option<Received>) -> Vec<(EventId, i64)> {
    let Some(counted) = received else {
        return line.expected_shares().iter().map(|share| (share.event_id, share.stems)).collect();
    };
    let promised: i64 = line.shares.iter().map(|share| share.stems).sum();
    let events = line.shares.iter().map(|share| share.event_id);
    if counted.good >= promised {
        return events.zip(line.shares.iter().map(|share| share.stems)).collect();
    }
    let weights: Vec<u64> = line.shares.iter().map(|share| u64::try_from(share.stems).unwrap_or(0)).collect();
    events.zip(split_by(counted.good, &weights)).collect()
}
