//! What takes room in the cooler beside a weekend's own flowers: lots that its events do not take, and what was ordered for
//! events of other weeks and comes on the same days.
//!
//! - of a lot: what must lie there now, less what these events take; until it is past keeping
//! - of a placed line none of whose stems are for these events: what was counted good, else what is expected; from its day
//!   to the day before its first event
//!
//! May import: prep's plan, `ground`, types of earlier rooms.

use std::collections::HashMap;

use super::{InWater, PailRule, Why, days, stands};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId};
use crate::prep::plan::PrepInputs;
use crate::price_list::Material;
use crate::stem_order::placing::{PlacedDelivery, PlacedLine};
use crate::stem_order::receiving::Receipt;
use crate::stem_order::stock::holding::Holding;
use crate::stem_order::windows::keeps_until;

/// What the book knows of what stands beside.
#[derive(Debug, Clone, Default)]
pub struct Beside {
    /// Every lot of fresh material.
    pub holdings: Vec<Holding>,
    /// What comes on the weekend's days.
    pub deliveries: Vec<PlacedDelivery>,
    /// What of it was counted in.
    pub receipts: Vec<Receipt>,
    /// The materials of both.
    pub materials: HashMap<MaterialId, Material>,
    /// The days of the events of those deliveries.
    pub event_days: HashMap<EventId, Day>,
}

/// What stands in water beside a weekend's own stems.
#[must_use]
pub fn beside(inputs: &PrepInputs, known: &Beside, today: Day, rule: &PailRule) -> Vec<InWater> {
    let (first, last) = days(inputs);
    let fresh = |id: MaterialId| known.materials.get(&id).filter(|material| material.is_fresh());
    let lots = known.holdings.iter().filter_map(|holding| {
        let (lot, material) = (&holding.lot, fresh(holding.lot.material)?);
        let until = keeps_until(material, lot.arrived_on).unwrap_or(last).min(last);
        let rest = holding.there(today) - taken(inputs, holding);
        Some(stands(material, (Why::Lies, rest), (lot.arrived_on.max(first), until), rule))
    });
    let lines =
        known.deliveries.iter().flat_map(|delivery| delivery.lines.iter().map(move |l| (delivery, l)));
    let others = lines.filter(|(_, line)| !is_ours(inputs, line)).filter_map(|(delivery, line)| {
        let material = fresh(line.material_id)?;
        let used = line.shares.iter().filter_map(|share| known.event_days.get(&share.event_id)).min();
        let to = used.map_or(last, |day| day.plus(-1)).clamp(delivery.day, last.max(delivery.day));
        Some(stands(material, (Why::Elsewhere, comes(known, line)), (delivery.day, to.min(last)), rule))
    });
    lots.chain(others).filter(|own| own.stems > 0 && own.from <= own.to).collect()
}

fn taken(inputs: &PrepInputs, holding: &Holding) -> i64 {
    let taken = inputs.plan.iter().flat_map(|plan| &plan.from_stock);
    taken.filter(|taken| taken.lot == holding.lot.id).map(|taken| taken.stems).sum()
}

/// Whether some of a line is for the weekend's own events: then it is among what arrives.
fn is_ours(inputs: &PrepInputs, line: &PlacedLine) -> bool {
    let own = |event: EventId| inputs.weekend.events.iter().any(|known| known.event.id == event);
    line.shares.iter().any(|share| share.stems > 0 && own(share.event_id))
}

fn comes(known: &Beside, line: &PlacedLine) -> i64 {
    let counted = known.receipts.iter().find(|receipt| receipt.line == line.id);
    counted.map_or_else(|| line.expected_stems(), |receipt| receipt.good)
}
