//! Whom short and dead stems touch, worst first.
//!
//! **What an event may count on** of a material = its part of every placed line (of what came good, once it is counted;
//! of what is expected, before), its part of the reserved stock, less what the bench lost. Within a line the stems that
//! nobody was promised go first, then every event's spares, and only then what pieces need.
//!
//! **Missing** of a material in an event = what its pieces need, without spares, less what it may count on, less what
//! comes of allowed substitutes beyond their own need and spares (the plan bought them in its place; see `cover` for
//! substitutes that stand in for one another). It is carried to
//! the pieces that call for the material in proportion to what each needs of it, by largest remainder (C5): whole
//! stems, and their sum is what is missing. Nothing is said of a material that was never ordered for the event: that is
//! the order's business.
//!
//! May import `ground`, types of earlier rooms, and the room's own calculations.

mod cover;
mod pieces;
mod stand_ins;
mod supply;

pub use pieces::Touched;
pub use stand_ins::{Chance, Spot, StandIn};
pub use supply::{BenchLost, Line, Reserved};

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use self::cover::Wanted;
use self::supply::Supply;
use crate::events::Piece;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId};
use crate::ground::largest_remainder::split;
use crate::price_list::Unit;
use crate::stem_order::weekend::{MaterialNeed, NeedPart, Weekend};

/// What troubles are reckoned from.
#[derive(Debug, Clone, Copy)]
pub struct Came<'a> {
    /// The events and what they need.
    pub weekend: &'a Weekend,
    /// Their pieces, by event.
    pub pieces: &'a BTreeMap<EventId, Vec<Piece>>,
    /// What was placed for them, by day.
    pub lines: &'a [Line],
    /// What lies reserved for them.
    pub reserved: &'a [Reserved],
    /// What the bench lost since.
    pub bench: &'a [BenchLost],
    /// Which deliveries can still be had of a material.
    pub chances: &'a BTreeMap<MaterialId, Vec<Chance>>,
}

/// A material of which an event's pieces lack something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// Which event.
    pub event: EventId,
    /// Its name.
    pub event_name: String,
    /// Its day.
    pub day: Day,
    /// Of what.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// In what it is counted.
    pub unit: Unit,
    /// What the pieces need, without spares.
    pub need: i64,
    /// With spares.
    pub with_spares: i64,
    /// Good, and here.
    pub here: i64,
    /// Still to come.
    pub coming: i64,
    /// From stock.
    pub reserved: i64,
    /// Bought in its place; below nothing where so many of its own stand in for others.
    pub substituted: i64,
    /// What is missing.
    pub missing: i64,
    /// The pieces it touches, worst first.
    pub pieces: Vec<Touched>,
    /// What could stand in.
    pub stand_ins: Vec<StandIn>,
    /// The events that were ordered together with it, itself too: more is ordered for all of them at once.
    pub together: Vec<EventId>,
}

impl Trouble {
    /// `6 stems of Rose, ivory`.
    #[must_use]
    pub fn what(&self) -> String {
        format!("{} {} of {}", self.missing, self.unit.words(self.missing), self.name)
    }

    /// The pieces it touches, in words, worst first.
    #[must_use]
    pub fn touches(&self) -> String {
        self.pieces.iter().map(Touched::words).collect::<Vec<_>>().join("; ")
    }

    /// `6 missing = need 84 − 60 good − 18 still to come`.
    #[must_use]
    pub fn working(&self) -> String {
        let parts = [
            (self.here, "good"),
            (self.coming, "still to come"),
            (self.reserved, "from stock"),
            (self.substituted, "bought in its place"),
        ];
        let less: Vec<String> = parts
            .iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, what)| format!(" − {count} {what}"))
            .collect();
        let lent = if self.substituted < 0 {
            format!(" + {} that stand in for others", -self.substituted)
        } else {
            String::new()
        };
        let less = less.concat() + &lent;
        let spares = self.with_spares - self.need;
        let absorbed = if spares > 0 { format!("; its {spares} spare went first") } else { String::new() };
        let none = if less.is_empty() { "; nothing of it is good or to come" } else { "" };
        format!("{} missing = need {}{less}{none}{absorbed}", self.missing, self.need)
    }

    /// By what troubles stand in order: the largest share that a piece lacks, then the day, then the name.
    #[must_use]
    pub fn rank(&self) -> (Reverse<i64>, Day, String) {
        let worst = self.pieces.first().map_or((0, 1), |piece| (piece.missing, piece.need.max(1)));
        (Reverse(worst.0.saturating_mul(1_000_000) / worst.1), self.day, self.name.to_lowercase())
    }
}

/// The troubles of some events, worst first: by the largest share that a piece lacks, the earlier event on ties.
#[must_use]
pub fn troubles(came: &Came<'_>) -> Vec<Trouble> {
    let needs = needs(came.weekend);
    let supply = Supply::of(came, &needs);
    let mut troubles: Vec<Trouble> = Vec::new();
    for at in 0..came.weekend.events.len() {
        let lacks = lacks(came, &needs, &supply, at);
        troubles.extend(lacks.iter().map(|lack| trouble(came, &needs, &supply, at, lack)));
    }
    troubles.sort_by_cached_key(Trouble::rank);
    troubles
}

/// What one part of an event's need is, in whole stems.
#[derive(Debug, Clone, Copy)]
struct PartNeed<'a> {
    need: &'a MaterialNeed,
    part: &'a NeedPart,
    /// Without spares.
    stems: i64,
}

/// Every part of every need that is bought, by event and material, without its spares: the pooled whole need is split
/// by the exact ones.
fn needs(weekend: &Weekend) -> Vec<PartNeed<'_>> {
    let bought = weekend
        .needs
        .iter()
        .filter(|need| weekend.material(need.material).is_some_and(|material| !material.loaned));
    bought
        .flat_map(|need| {
            let exact: Vec<_> = need.parts.iter().map(|part| part.exact).collect();
            let stems = split(need.need, &exact);
            need.parts.iter().zip(stems).map(move |(part, stems)| PartNeed { need, part, stems })
        })
        .collect()
}

/// What is missing of one material in one event, by part.
struct Lack<'a> {
    material: MaterialId,
    /// What remains missing of each part.
    parts: Vec<(&'a PartNeed<'a>, i64)>,
    /// Taken from what was bought in its place; below nothing where so many of its own stand in for others.
    substituted: i64,
}

/// What is missing in the event at this place: own stems first, then what was bought in their place.
fn lacks<'a>(came: &Came<'_>, needs: &'a [PartNeed<'a>], supply: &Supply, at: usize) -> Vec<Lack<'a>> {
    let event = came.weekend.events[at].event.id;
    let have = supply.of_event(event).map(|(material, have)| (material, have.total())).collect();
    let parts: Vec<&PartNeed<'_>> = needs.iter().filter(|need| need.part.event == at).collect();
    let mut spares: BTreeMap<MaterialId, i64> = BTreeMap::new();
    for part in &parts {
        *spares.entry(part.need.material).or_default() += part.part.stems - part.stems;
    }
    let wanted = |part: &&'a PartNeed<'a>| Wanted {
        material: part.need.material,
        stems: part.stems,
        substitutes: &part.part.substitutes,
    };
    let wanted: Vec<Wanted<'_>> = parts.iter().map(wanted).collect();
    let missing = cover::missing(&wanted, &have, &spares);
    let mut by_material: BTreeMap<MaterialId, Vec<(&PartNeed<'_>, i64)>> = BTreeMap::new();
    for (part, missing) in parts.into_iter().zip(missing) {
        by_material.entry(part.need.material).or_default().push((part, missing));
    }
    let lack = |(material, parts): (MaterialId, Vec<(&'a PartNeed<'a>, i64)>)| {
        let own: Vec<&PartNeed<'_>> = parts.iter().map(|(part, _)| *part).collect();
        let missing: i64 = parts.iter().map(|(_, missing)| missing).sum();
        let wanted: i64 = own.iter().map(|part| part.stems).sum();
        let substituted = wanted - have.get(&material).copied().unwrap_or(0) - missing;
        (missing > 0 && ordered(supply, event, &own)).then_some(Lack { material, parts, substituted })
    };
    by_material.into_iter().filter_map(lack).collect()
}

/// Whether anything that may serve these parts was ever ordered or reserved for the event.
fn ordered(supply: &Supply, event: EventId, parts: &[&PartNeed<'_>]) -> bool {
    let accepted = |part: &&PartNeed<'_>| {
        let own = part.need.material;
        std::iter::once(own).chain(part.part.substitutes.iter().copied()).collect::<BTreeSet<_>>()
    };
    parts.iter().flat_map(accepted).any(|material| supply.promised(event, material))
}

fn of_event<'a>(
    needs: &'a [PartNeed<'a>],
    at: usize,
    material: MaterialId,
) -> impl Iterator<Item = &'a PartNeed<'a>> {
    needs.iter().filter(move |need| need.part.event == at && need.need.material == material)
}

fn trouble(came: &Came<'_>, needs: &[PartNeed<'_>], supply: &Supply, at: usize, lack: &Lack<'_>) -> Trouble {
    let event = &came.weekend.events[at];
    let id = lack.material;
    let material = came.weekend.material(id);
    let have = supply.at(event.event.id, id);
    let parts = || lack.parts.iter().map(|(part, _)| part);
    let pieces = came.pieces.get(&event.event.id).map_or(&[][..], Vec::as_slice);
    Trouble {
        event: event.event.id,
        event_name: event.event.name.clone(),
        day: event.event.day,
        material: id,
        name: material.map_or_else(String::new, |material| material.name.clone()),
        unit: material.map_or(Unit::Stem, |material| material.unit),
        need: parts().map(|part| part.stems).sum(),
        with_spares: parts().map(|part| part.part.stems).sum(),
        here: have.here,
        coming: have.coming,
        reserved: have.reserved,
        substituted: lack.substituted,
        missing: lack.parts.iter().map(|(_, missing)| missing).sum(),
        pieces: pieces::touched(came.weekend, &event.event, pieces, &lack.parts),
        together: came.weekend.events.iter().map(|event| event.event.id).collect(),
        stand_ins: stand_ins::stand_ins(came, needs, supply, lack),
    }
}

#[cfg(test)]
mod tests;
