//! The load sheet of one or more events of a day: crates with what stands in them, what goes loose, what else is aboard,
//! and how each van carries it.
//!
//! Drops are in the order in which the studio may set up; a van is loaded the other way round. What the pull list has for
//! the event as a whole, spares, kit and extras travel in crates of their own, and water to top up in cans (`goods`); of
//! one drop they are loaded last, since they are wanted first. A crate is taken to be [`WALL`] larger outside than inside
//! on each side.
//!
//! May import: types and calculations of this stage and of earlier rooms.

use super::crates::{Lot, Packed, pack};
use super::goods::{CAN_HEIGHT, CAN_SIDES, GoodsCrate, PackedGoods, cans, cube_side, pack_goods};
use super::sizes::size;
use super::vans::{Cargo, VanLoad, load};
use super::{CrateKind, Van};
use crate::events::Event;
use crate::ground::formats::Formats;
use crate::ground::quantity::Length;
use crate::ground::weight::Weight;
use crate::pull_list::pull::{KIT, PullGroup, PullInputs, PullLine, SPARES, WHOLE_EVENT, list};
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
    /// That, in crates of its own.
    pub goods: PackedGoods,
    /// What each can of water to top up weighs.
    pub cans: Vec<Weight>,
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
    /// A crate of what is not a piece, by its drop and its place among the drop's.
    Goods(usize, usize),
    /// What of that stands beside, by its drop, its line and its number from 1 among the line's.
    LooseGoods(usize, usize, i64),
    /// A can of water, by its drop and its place among the drop's.
    Can(usize, usize),
}

impl Freight {
    /// At which drop it comes off.
    #[must_use]
    pub const fn drop(&self) -> usize {
        match self {
            Freight::Crate(drop, _)
            | Freight::Loose(drop, _, _)
            | Freight::Goods(drop, _)
            | Freight::LooseGoods(drop, _, _)
            | Freight::Can(drop, _) => *drop,
        }
    }
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
        let aboard = aboard(pulled.groups);
        reached.push(Drop {
            packed: pack(&kinds, &lots),
            lots,
            goods: pack_goods(&kinds, &aboard),
            cans: cans(pulled.top_up),
            aboard,
            open_counts: pulled.open_counts,
            event: inputs.event,
        });
    }
    let (freight, cargo) = floor(&kinds, &reached);
    let vans = vans.into_iter().map(|van| (load(&van, &cargo), van)).map(|(load, van)| (van, load)).collect();
    Ok(LoadSheet { kinds, drops: reached, freight, vans })
}

/// What goes along and stands in no piece; the water that fills the vessels travels in them.
fn aboard(groups: Vec<PullGroup>) -> Vec<PullLine> {
    let whole = |heading: &str| [WHOLE_EVENT, SPARES, KIT].contains(&heading);
    let lines = groups.into_iter().flat_map(|group| {
        let all = whole(&group.heading);
        group.lines.into_iter().filter(move |line| all || line.key.starts_with("extra-"))
    });
    lines.filter(|line| line.key != "water").collect()
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

/// Everything that stands on the floor, in the order of the drops; of each drop the goods first, so that they are loaded
/// last.
fn floor(kinds: &[CrateKind], drops: &[Drop]) -> (Vec<Freight>, Vec<Cargo>) {
    let mut all = Vec::new();
    for (place, drop) in drops.iter().enumerate() {
        if !kinds.is_empty() {
            all.extend(goods_floor(kinds, place, drop));
        }
        let crates = drop.packed.crates.iter().enumerate();
        all.extend(crates.filter_map(|(at, packed)| {
            let kind = kinds.get(packed.kind)?;
            Some((Freight::Crate(place, at), crate_cargo(place, packed.kind, kind, packed.weight)))
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

fn goods_floor(kinds: &[CrateKind], place: usize, drop: &Drop) -> Vec<(Freight, Cargo)> {
    let can = |(at, weight): (usize, &Weight)| {
        let sides = (CAN_SIDES.0, CAN_SIDES.1, CAN_HEIGHT);
        (Freight::Can(place, at), alone(place, sides, *weight))
    };
    let packed = |(at, own): (usize, &GoodsCrate)| {
        let kind = kinds.get(own.kind)?;
        Some((Freight::Goods(place, at), crate_cargo(place, own.kind, kind, own.weight)))
    };
    let mut all: Vec<_> = drop.cans.iter().enumerate().map(can).collect();
    all.extend(drop.goods.crates.iter().enumerate().filter_map(packed));
    if drop.goods.loose.iter().fold(0_i64, |sum, loose| sum.saturating_add(loose.count)) > MOST_LOOSE {
        return all;
    }
    for loose in &drop.goods.loose {
        let Some(room) = drop.aboard.get(loose.line).and_then(|line| line.room) else { continue };
        let side = cube_side(room.litres);
        let thing = |number| {
            (Freight::LooseGoods(place, loose.line, number), alone(place, (side, side, side), room.weight))
        };
        all.extend((1..=loose.count).map(thing));
    }
    all
}

/// What nothing may stand on.
fn alone(drop: usize, (length, width, height): (Length, Length, Length), weight: Weight) -> Cargo {
    Cargo { drop, form: usize::MAX, length, width, height, weight, stackable: false }
}

fn crate_cargo(drop: usize, form: usize, kind: &CrateKind, weight: Weight) -> Cargo {
    let outside = |inside: Length, walls: i64| Length::from_um(inside.um().saturating_add(WALL.um() * walls));
    Cargo {
        drop,
        form,
        length: outside(kind.length, 2),
        width: outside(kind.width, 2),
        height: outside(kind.clear_height, 1),
        weight,
        stackable: kind.stackable,
    }
}

fn loose_cargo(drop: usize, form: usize, lot: &Lot) -> Cargo {
    let size = &lot.size;
    Cargo { form, ..alone(drop, (size.diameter, size.diameter, size.height), size.weight) }
}
