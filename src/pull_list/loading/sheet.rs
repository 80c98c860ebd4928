//! The load sheet of one or more events of a day: crates with what stands in them, what goes loose, what else is aboard,
//! and how each van carries it.
//!
//! Drops are in the order in which the studio may set up; a van is loaded the other way round. What the pull list has for
//! the event as a whole, spares, kit and extras travel too and are listed to be ticked, but nobody says how large they
//! are: their room and weight are not reckoned. A crate is taken to be [`WALL`] larger outside than inside on each side.
//!
//! May import: types and calculations of this stage and of earlier rooms.

use super::crates::{Lot, Packed, pack};
use super::sizes::size;
use super::vans::{Cargo, VanLoad, load};
use super::{CrateKind, Van};
use crate::events::Event;
use crate::ground::formats::Formats;
use crate::ground::quantity::Length;
use crate::pull_list::pull::{KIT, PullInputs, PullLine, SPARES, WHOLE_EVENT, list};
use crate::recipes::explosion::ExplosionError;

/// How thick the wall of a crate is: from memory, no published source.
pub const WALL: Length = Length::from_um(10_000);
/// More loose pieces than this are not laid out in a van.
const MOST_LOOSE: i64 = 500;

/// Everything a load sheet is computed from.
#[derive(Debug, Clone)]
pub struct LoadInputs {
    /// The events, each as its pull list has it.
    pub drops: Vec<PullInputs>,
    /// The studio's crates.
    pub kinds: Vec<CrateKind>,
    /// The studio's vans.
    pub vans: Vec<Van>,
}

/// What goes into the van.
#[derive(Debug, Clone)]
pub struct LoadSheet {
    /// The studio's crates.
    pub kinds: Vec<CrateKind>,
    /// The events, in the order in which they are reached.
    pub drops: Vec<Drop>,
    /// What stands on the floor of a van, in the order of the drops.
    pub freight: Vec<Freight>,
    /// How each van carries it.
    pub vans: Vec<(Van, VanLoad)>,
}

/// What comes off at one event.
#[derive(Debug, Clone)]
pub struct Drop {
    /// Which.
    pub event: Event,
    /// Its pieces.
    pub lots: Vec<Lot>,
    /// In crates.
    pub packed: Packed,
    /// What else is aboard for it.
    pub aboard: Vec<PullLine>,
    /// Pieces that cannot be counted yet.
    pub open_counts: Vec<String>,
}

/// One thing on the floor of a van.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Freight {
    /// A crate, by its drop and its place among the drop's crates.
    Crate(usize, usize),
    /// A loose piece, by its drop, its lot and its number from 1 among the lot's loose ones.
    Loose(usize, usize, i64),
}

/// The load sheet of the events of a day.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn sheet(inputs: LoadInputs, formats: &Formats) -> Result<LoadSheet, ExplosionError> {
    let LoadInputs { mut drops, kinds, vans } = inputs;
    drops.sort_by_key(|drop| {
        let event = &drop.event;
        (event.set_up_time.is_none(), event.set_up_time, event.start_time, event.id)
    });
    let mut reached = Vec::new();
    for inputs in drops {
        let pulled = list(&inputs, formats)?;
        let lots = lots(&inputs)?;
        let whole = |heading: &str| [WHOLE_EVENT, SPARES, KIT].contains(&heading);
        let groups = pulled.groups.into_iter();
        let aboard = groups.flat_map(|group| {
            let all = whole(&group.heading);
            group.lines.into_iter().filter(move |line| all || line.key.starts_with("extra-"))
        });
        reached.push(Drop {
            packed: pack(&kinds, &lots),
            lots,
            aboard: aboard.collect(),
            open_counts: pulled.open_counts,
            event: inputs.event,
        });
    }
    let (freight, cargo) = floor(&kinds, &reached);
    let vans = vans.into_iter().map(|van| (load(&van, &cargo), van)).map(|(load, van)| (van, load)).collect();
    Ok(LoadSheet { kinds, drops: reached, freight, vans })
}

fn lots(inputs: &PullInputs) -> Result<Vec<Lot>, ExplosionError> {
    let counted = inputs.pieces.iter().filter_map(|piece| Some((piece, inputs.event.count_of(piece)?)));
    let lot = |(piece, count): (&crate::events::Piece, i64)| {
        Ok(Lot {
            piece: piece.id,
            what: piece.recipe.clone(),
            place: piece.place.clone(),
            count,
            size: size(&inputs.book, piece.recipe_id)?,
        })
    };
    counted.map(lot).collect()
}

/// Everything that stands on the floor, in the order of the drops.
fn floor(kinds: &[CrateKind], drops: &[Drop]) -> (Vec<Freight>, Vec<Cargo>) {
    let mut all = Vec::new();
    for (place, drop) in drops.iter().enumerate() {
        let crates = drop.packed.crates.iter().enumerate();
        all.extend(crates.filter_map(|(at, packed)| {
            let kind = kinds.get(packed.kind)?;
            Some((Freight::Crate(place, at), crate_cargo(place, packed.kind, kind, packed)))
        }));
        if kinds.is_empty() || drop.packed.loose.iter().map(|loose| loose.count).sum::<i64>() > MOST_LOOSE {
            continue;
        }
        for loose in &drop.packed.loose {
            let Some(lot) = drop.lots.get(loose.lot) else { continue };
            let form = kinds.len() + loose.lot;
            all.extend(
                (1..=loose.count)
                    .map(|number| (Freight::Loose(place, loose.lot, number), loose_cargo(place, form, lot))),
            );
        }
    }
    all.into_iter().unzip()
}

fn crate_cargo(drop: usize, form: usize, kind: &CrateKind, packed: &super::crates::PackedCrate) -> Cargo {
    let outside = |inside: Length, walls: i64| Length::from_um(inside.um().saturating_add(WALL.um() * walls));
    Cargo {
        drop,
        form,
        length: outside(kind.length, 2),
        width: outside(kind.width, 2),
        height: outside(kind.clear_height, 1),
        weight: packed.weight,
        stackable: kind.stackable,
    }
}

fn loose_cargo(drop: usize, form: usize, lot: &Lot) -> Cargo {
    Cargo {
        drop,
        form,
        length: lot.size.diameter,
        width: lot.size.diameter,
        height: lot.size.height,
        weight: lot.size.weight,
        stackable: false,
    }
}
