//! What an order takes from stock: which lots serve which event, and what lies there but does not keep.

use serde::Serialize;

use super::build::Planned;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId, StockLotId};
use crate::price_list::Material;
use crate::stem_order::buying_plan::Plan;
use crate::stem_order::posed::{Posed, stock_uses};
use crate::stem_order::stock::StockUse;
use crate::stem_order::weekend::{MaterialNeed, OnHand};
use crate::stem_order::windows::{keeps_until, still_keeps};

/// What an order takes from stock, and what it does not.
#[derive(Debug, Clone, Default, Serialize)]
pub struct FromStock {
    /// By material and age.
    pub lines: Vec<StockLine>,
    /// Lots that do not keep for any event that wants them, one sentence each.
    pub too_old: Vec<String>,
}

/// Pieces of a lot for an event.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StockLine {
    /// Which lot.
    pub lot: StockLotId,
    /// Of what.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// When it came.
    pub arrived_on: Day,
    /// For how long it keeps; none where it does not wilt.
    pub keeps_until: Option<Day>,
    /// Where it came from.
    pub note: String,
    /// For which event, by its place in the order.
    pub event: usize,
    /// That event.
    pub event_id: EventId,
    /// How many.
    pub count: i64,
    /// How many of these are kept for the event already.
    pub kept: i64,
}

impl FromStock {
    /// What is to be reserved.
    #[must_use]
    pub fn uses(&self) -> Vec<StockUse> {
        let line = |line: &StockLine| StockUse { lot: line.lot, event: line.event_id, count: line.count };
        self.lines.iter().map(line).collect()
    }

    /// Whether everything is reserved as it stands here.
    #[must_use]
    pub fn is_kept(&self) -> bool {
        self.lines.iter().all(|line| line.kept == line.count)
    }
}

pub(super) fn from_stock(planned: &Planned<'_>, posed: &Posed, plan: &Plan) -> FromStock {
    let uses = stock_uses(planned.weekend, posed, plan);
    let mut lines: Vec<StockLine> =
        uses.iter().filter_map(|(material, one)| line(planned, *material, one)).collect();
    lines.sort_by_cached_key(|line| (line.name.to_lowercase(), line.arrived_on, line.lot, line.event));
    FromStock { lines, too_old: too_old(planned) }
}

fn line(planned: &Planned<'_>, id: MaterialId, one: &StockUse) -> Option<StockLine> {
    let weekend = planned.weekend;
    let material = weekend.material(id)?;
    let lot = weekend.on_hand.get(&id)?.iter().find(|lot| lot.lot == one.lot)?;
    let kept = lot.own.iter().filter(|(event, _)| *event == one.event).map(|(_, count)| count).sum();
    Some(StockLine {
        lot: one.lot,
        material: id,
        name: material.name.clone(),
        arrived_on: lot.arrived_on,
        keeps_until: keeps_until(material, lot.arrived_on),
        note: lot.note.clone(),
        event: weekend.events.iter().position(|event| event.event.id == one.event)?,
        event_id: one.event,
        count: one.count,
        kept,
    })
}

/// Lots of what is needed that keep for none of the events that need it.
fn too_old(planned: &Planned<'_>) -> Vec<String> {
    let weekend = planned.weekend;
    let mut words = Vec::new();
    for need in &weekend.needs {
        let Some(material) = weekend.material(need.material) else { continue };
        let old =
            |lot: &&OnHand| lot.free > 0 && !need.parts.is_empty() && keeps_for_none(planned, need, lot);
        for lot in need.on_hand.iter().filter(old) {
            let (name, lot) = (&material.name, lot_words(planned, material, lot));
            words.push(format!(
                "{name}: {lot}. It does not keep for these events: see to it before it is past use."
            ));
        }
    }
    words
}

fn keeps_for_none(planned: &Planned<'_>, need: &MaterialNeed, lot: &OnHand) -> bool {
    let Some(material) = planned.weekend.material(need.material) else { return true };
    let mut days = need.parts.iter().map(|part| planned.weekend.events[part.event].event.day);
    !days.any(|day| still_keeps(material, lot.arrived_on, day))
}

/// What lies on hand of a need, lot by lot, and what becomes of it; empty where nothing does.
pub(super) fn hand_working(planned: &Planned<'_>, need: &MaterialNeed) -> String {
    let Some(material) = planned.weekend.material(need.material) else { return String::new() };
    let lot = |lot: &OnHand| {
        let words = lot_words(planned, material, lot);
        if lot.free > 0 && keeps_for_none(planned, need, lot) {
            return format!("{words}, too old for these events");
        }
        words
    };
    need.on_hand.iter().map(lot).collect::<Vec<_>>().join("; ")
}

/// `12 on hand since Tue 12 May 2026, keep until Sat 16 May 2026; 8 kept for Wedding`.
fn lot_words(planned: &Planned<'_>, material: &Material, lot: &OnHand) -> String {
    let day = |day: Day| planned.formats.weekday(day);
    let fresh = material.is_fresh();
    let since = fresh.then(|| format!(" since {}", day(lot.arrived_on)));
    let counted =
        (!fresh || lot.counted_on != lot.arrived_on).then(|| format!(", counted on {}", day(lot.counted_on)));
    let until = keeps_until(material, lot.arrived_on).map(|until| format!(", keeps until {}", day(until)));
    let note = (!lot.note.is_empty()).then(|| format!(" ({})", lot.note));
    let kept = lot.kept.iter().map(|(event, count)| format!(", {count} kept for {event}"));
    let more = [since, counted, until, note].into_iter().flatten().chain(kept);
    [format!("{} on hand", lot.on_hand)].into_iter().chain(more).collect()
}
