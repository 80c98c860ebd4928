//! What is not a piece, packed: kit, extras, spares and sundries in crates of their own, water to top up in cans (C9).
//!
//! - **Crates.** A crate takes [`USABLE`] of its inside in litres, and no more than it may weigh. The largest things are
//!   packed first, each into the first crate with room for it (first fit); what no crate takes stands loose, on the floor
//!   of a cube of its litres. The crates are those of the studio's first kind that may be stacked, else of its first.
//! - **Water.** Vessels travel filled; what slops and what flowers drink until guests come is topped up from cans:
//!   litres × 0.9982 kg (`vessel_water`) and the can's own weight.
//!
//! *Laws:* everything is in one crate, or loose, once; no crate is heavier or fuller than it may be.
//!
//! May import: this room's types, the pull list's, `ground`, `rust_decimal`.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::CrateKind;
use crate::ground::quantity::Length;
use crate::ground::weight::Weight;
use crate::pull_list::pull::PullLine;
use crate::pull_list::room::Room;
use crate::pull_list::vessel_water::KILOGRAMS_A_LITRE;

/// How many hundredths of a crate's inside things of all shapes fill: our own assumption, no published source.
pub const USABLE: i64 = 60;
/// What a can holds, in litres; its floor and height; what it weighs empty: from memory, no published source.
pub const CAN_LITRES: i64 = 10;
/// How wide and deep a can is.
pub const CAN_SIDES: (Length, Length) = (Length::from_um(300_000), Length::from_um(200_000));
/// How high a can is.
pub const CAN_HEIGHT: Length = Length::from_um(320_000);
const CAN_OWN: Weight = Weight::from_grams(600);
/// More things of one event than this are not laid out.
const MOST_THINGS: i64 = 5_000;

/// A crate with what is not a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GoodsCrate {
    /// From 1 within its event.
    pub number: i64,
    /// Which kind, by its place among the kinds.
    pub kind: usize,
    /// Which lines are in it, by their places, and how many of each.
    pub contents: Vec<(usize, i64)>,
    /// With everything in it.
    pub weight: Weight,
    /// Thousandths of a litre that are taken.
    pub filled: i64,
}

/// A line that is in no crate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LooseGoods {
    /// Which line, by its place.
    pub line: usize,
    /// How many.
    pub count: i64,
}

/// One event's goods, packed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PackedGoods {
    /// The crates.
    pub crates: Vec<GoodsCrate>,
    /// What stands beside them.
    pub loose: Vec<LooseGoods>,
}

/// Packs the lines that take room.
#[must_use]
pub fn pack_goods(kinds: &[CrateKind], lines: &[PullLine]) -> PackedGoods {
    let mut things: Vec<(usize, i64, Room)> = lines
        .iter()
        .enumerate()
        .filter_map(|(at, line)| Some((at, line.count, line.room?)))
        .filter(|(_, count, _)| *count > 0)
        .collect();
    let mut packed = PackedGoods::default();
    let all = things.iter().fold(0_i64, |sum, (_, count, _)| sum.saturating_add(*count));
    let stackable = kinds.iter().position(|kind| kind.stackable);
    let chosen = stackable.or(if kinds.is_empty() { None } else { Some(0) });
    let Some((at, kind)) = chosen.filter(|_| all <= MOST_THINGS).and_then(|at| Some((at, kinds.get(at)?)))
    else {
        packed.loose = things.into_iter().map(|(line, count, _)| LooseGoods { line, count }).collect();
        return packed;
    };
    things.sort_by_key(|(line, _, room)| (std::cmp::Reverse(room.litres), *line));
    for thing in things {
        packed.add((at, kind), thing);
    }
    packed
}

impl PackedGoods {
    fn add(&mut self, (at, kind): (usize, &CrateKind), (line, count, room): (usize, i64, Room)) {
        let mut left = count;
        for own in self.crates.iter_mut().filter(|own| own.kind == at) {
            left -= own.take(kind, (line, left, room));
        }
        let one_fits = GoodsCrate::empty(0, at, kind).takes(kind, room) > 0;
        if left > 0 && !one_fits {
            self.loose.push(LooseGoods { line, count: left });
            return;
        }
        while left > 0 {
            let number = i64::try_from(self.crates.len()).unwrap_or(i64::MAX - 1) + 1;
            let mut own = GoodsCrate::empty(number, at, kind);
            left -= own.take(kind, (line, left, room));
            self.crates.push(own);
        }
    }
}

impl GoodsCrate {
    fn empty(number: i64, kind: usize, of: &CrateKind) -> GoodsCrate {
        GoodsCrate { number, kind, contents: Vec::new(), weight: of.own_weight, filled: 0 }
    }

    /// How many more of a thing it takes.
    fn takes(&self, kind: &CrateKind, room: Room) -> i64 {
        let by_room = (usable(kind) - self.filled) / room.litres.raw().max(1);
        let by_weight = (kind.most_weight.grams() - self.weight.grams()) / room.weight.grams().max(1);
        by_room.min(by_weight).max(0)
    }

    fn take(&mut self, kind: &CrateKind, (line, left, room): (usize, i64, Room)) -> i64 {
        let count = left.min(self.takes(kind, room));
        if count > 0 {
            self.contents.push((line, count));
            self.weight = self.weight.plus(room.weight.times(count));
            self.filled += room.litres.raw() * count;
        }
        count
    }
}

/// Thousandths of a litre that a crate takes: length × width × clear height × [`USABLE`] ÷ 100.
#[must_use]
pub fn usable(kind: &CrateKind) -> i64 {
    let sides = [kind.length, kind.width, kind.clear_height].map(|side| i128::from(side.um()));
    // A thousandth of a litre is 10¹² cubic micrometres.
    let inside = sides[0].saturating_mul(sides[1]).saturating_mul(sides[2]) / 1_000_000_000_000;
    i64::try_from(inside * i128::from(USABLE) / 100).unwrap_or(i64::MAX)
}

/// The side of the cube that holds so many thousandths of a litre, rounded up to the millimetre.
///
/// ```
/// use trug::ground::quantity::{Length, Quantity};
/// use trug::pull_list::loading::goods::cube_side;
/// // 27 litres are a cube of 3 dm.
/// assert_eq!(cube_side(Quantity::whole(27)), Length::from_um(300_000));
/// ```
#[must_use]
pub fn cube_side(litres: crate::ground::quantity::Quantity) -> Length {
    let cubic_millimetres = i128::from(litres.raw().max(1)) * 1_000;
    let (mut low, mut high) = (1_i64, 2_097_152);
    while low < high {
        let side = low.midpoint(high);
        if i128::from(side).pow(3) < cubic_millimetres { low = side + 1 } else { high = side }
    }
    Length::from_um(low.saturating_mul(1_000))
}

/// The weight of each can for so many litres, the last one filled with what is left.
///
/// ```
/// use trug::ground::weight::Weight;
/// use trug::pull_list::loading::goods::cans;
/// // 10 × 0.9982 + 0.6 = 10.582 kg; 3 × 0.9982 + 0.6 = 3.5946 kg, rounded up to the gram.
/// assert_eq!(cans(13), [Weight::from_grams(10_582), Weight::from_grams(3_595)]);
/// assert!(cans(0).is_empty());
/// ```
#[must_use]
pub fn cans(litres: i64) -> Vec<Weight> {
    let litres = litres.clamp(0, CAN_LITRES * MOST_THINGS);
    let full = (litres / CAN_LITRES).to_usize().unwrap_or(0);
    let rest = litres % CAN_LITRES;
    let filled = std::iter::repeat_n(CAN_LITRES, full).chain((rest > 0).then_some(rest));
    filled
        .map(|litres| Weight::of_kilograms(Decimal::from(litres) * KILOGRAMS_A_LITRE).plus(CAN_OWN))
        .collect()
}

#[cfg(test)]
mod tests;
