//! Which pieces stand in which crate (C9): first fit, the widest first.
//!
//! Each kind of piece goes into the kind of crate in which all of it takes the least floor. The widest pieces come first;
//! a crate's rows are laid out for the widest in it, and narrower ones may fill the places that are left. A crate is
//! full when its places are taken or one more piece would make it heavier than it may be; a single piece that is too
//! heavy by itself stands alone, and that is said. What is too wide or too high for every crate travels loose.
//!
//! *Laws:* every piece is in one crate, or loose, once; no crate is heavier than it may be unless one piece alone is.
//!
//! May import: this room's types and packing, `ground`.

use super::CrateKind;
use super::packing::{Packing, best};
use super::sizes::PieceSize;
use crate::ground::ids::PieceId;
use crate::ground::weight::Weight;

/// More pieces of one event than this are not laid out.
pub const MOST_PIECES: i64 = 5_000;

/// Equal pieces of one event.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    /// Which piece of the event.
    pub piece: PieceId,
    /// What it is.
    pub what: String,
    /// Where it goes.
    pub place: String,
    /// How many.
    pub count: i64,
    /// How large and heavy one is.
    pub size: PieceSize,
}

/// A crate with what stands in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PackedCrate {
    /// From 1 within its event.
    pub number: i64,
    /// Which kind, by its place among the kinds.
    pub kind: usize,
    /// How its places lie.
    pub packing: Packing,
    /// Which lots stand in it, by their places, and how many of each; in the order of its places.
    pub contents: Vec<(usize, i64)>,
    /// With everything in it, water too.
    pub weight: Weight,
    /// Whether it is heavier than it may be, which one piece alone makes it.
    pub too_heavy: bool,
}

/// Pieces that go in no crate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loose {
    /// Which lot, by its place.
    pub lot: usize,
    /// How many.
    pub count: i64,
    /// Why.
    pub why: &'static str,
}

/// One event's pieces, packed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Packed {
    /// The crates.
    pub crates: Vec<PackedCrate>,
    /// What goes in none.
    pub loose: Vec<Loose>,
}

/// Packs one event's pieces into crates of the studio's kinds.
#[must_use]
pub fn pack(kinds: &[CrateKind], lots: &[Lot]) -> Packed {
    let mut packed = Packed::default();
    if lots.iter().fold(0_i64, |sum, lot| sum.saturating_add(lot.count)) > MOST_PIECES {
        let all = lots.iter().enumerate();
        packed.loose =
            all.map(|(lot, of)| Loose { lot, count: of.count, why: "too many pieces to lay out" }).collect();
        return packed;
    }
    let mut chosen: Vec<(usize, usize)> = Vec::new();
    for (place, lot) in lots.iter().enumerate().filter(|(_, lot)| lot.count > 0) {
        match kind_for(kinds, lot) {
            Some(kind) => chosen.push((kind, place)),
            None => packed.loose.push(Loose { lot: place, count: lot.count, why: why_loose(kinds, lot) }),
        }
    }
    let widest = |place: usize| std::cmp::Reverse(lots[place].size.diameter.um());
    chosen.sort_by_key(|(kind, place)| (*kind, widest(*place), *place));
    for (kind, place) in chosen {
        fill(&mut packed.crates, (kind, &kinds[kind]), (place, &lots[place]));
    }
    packed
}

fn why_loose(kinds: &[CrateKind], lot: &Lot) -> &'static str {
    let wide_enough = kinds.iter().any(|kind| packing(kind, lot).is_some());
    match (kinds.is_empty(), wide_enough) {
        (true, _) => "no crates are written down",
        (false, true) => "too high for every crate",
        (false, false) => "too wide for every crate",
    }
}

fn packing(kind: &CrateKind, lot: &Lot) -> Option<Packing> {
    best(kind.length.um(), kind.width.um(), lot.size.diameter.um())
}

/// The kind in which all of a lot takes the least floor; then fewer crates, then the studio's order.
fn kind_for(kinds: &[CrateKind], lot: &Lot) -> Option<usize> {
    let fits = kinds.iter().enumerate().filter(|(_, kind)| lot.size.height <= kind.clear_height);
    let floor = fits.filter_map(|(place, kind)| {
        let each = packing(kind, lot)?.count().min(by_weight(kind, Weight::default(), lot)).max(1);
        let crates = lot.count / each + i64::from(lot.count % each > 0);
        let area = i128::from(kind.length.um()) * i128::from(kind.width.um()) * i128::from(crates);
        Some((area, crates, place))
    });
    floor.min().map(|(_, _, place)| place)
}

/// How many more of a lot a crate may bear.
fn by_weight(kind: &CrateKind, loaded: Weight, lot: &Lot) -> i64 {
    let left = kind.most_weight.grams() - kind.own_weight.grams() - loaded.grams();
    (left / lot.size.weight.grams().max(1)).max(0)
}

/// Puts a lot into crates that have room, then into new ones.
fn fill(crates: &mut Vec<PackedCrate>, (at, kind): (usize, &CrateKind), (place, lot): (usize, &Lot)) {
    let mut left = lot.count;
    for packed in crates.iter_mut().filter(|packed| packed.kind == at && !packed.too_heavy) {
        let free = packed.packing.count() - packed.pieces();
        let loaded = Weight::from_grams(packed.weight.grams() - kind.own_weight.grams());
        left -= packed.add(place, lot, left.min(free).min(by_weight(kind, loaded, lot)));
    }
    let Some(packing) = packing(kind, lot) else { return };
    let bears = by_weight(kind, Weight::default(), lot);
    while left > 0 {
        let number = i64::try_from(crates.len()).unwrap_or(i64::MAX - 1) + 1;
        let (contents, weight) = (Vec::new(), kind.own_weight);
        let mut packed = PackedCrate { number, kind: at, packing, contents, weight, too_heavy: bears == 0 };
        left -= packed.add(place, lot, left.min(packing.count()).min(bears.max(1)));
        crates.push(packed);
    }
}

impl PackedCrate {
    /// How many pieces stand in it.
    #[must_use]
    pub fn pieces(&self) -> i64 {
        self.contents.iter().map(|(_, count)| count).sum()
    }

    fn add(&mut self, place: usize, lot: &Lot, count: i64) -> i64 {
        if count > 0 {
            self.contents.push((place, count));
            self.weight = self.weight.plus(lot.size.weight.times(count));
        }
        count.max(0)
    }
}

#[cfg(test)]
mod tests;
