//! Crates and a van to begin with, where the studio has written down none: from memory, no published source, to be
//! measured. May import: the types of this room, `ground`.

use super::{CrateKind, Van};
use crate::ground::quantity::Length;
use crate::ground::weight::Weight;

/// What a full crate may weigh where nothing else is said: the load that one person may lift at best. Source: the load
/// constant of the revised lifting equation, NIOSH Publication 94-110, 23 kg.
pub const USUAL_MOST_WEIGHT: Weight = Weight::from_grams(23_000);

/// Name; length, width and clear height inside in millimetres; own weight in grams; whether it is stacked.
type Row = (&'static str, [i64; 3], i64, bool);

const CRATES: [Row; 3] = [
    ("Shallow crate", [560, 360, 280], 1_800, true),
    ("Open crate", [560, 360, 450], 1_800, false),
    ("Box for hand-tied flowers", [460, 310, 400], 900, false),
];

/// The usual crates, the lowest first.
///
/// ```
/// use trug::pull_list::loading::usual::usual_crates;
/// assert!(usual_crates().iter().all(|kind| kind.own_weight < kind.most_weight));
/// ```
#[must_use]
pub fn usual_crates() -> Vec<CrateKind> {
    let millimetres = |length: i64| Length::from_um(length * 1_000);
    CRATES
        .iter()
        .map(|(name, [length, width, height], own, stackable)| CrateKind {
            id: None,
            name: (*name).into(),
            length: millimetres(*length),
            width: millimetres(*width),
            clear_height: millimetres(*height),
            own_weight: Weight::from_grams(*own),
            most_weight: USUAL_MOST_WEIGHT,
            stackable: *stackable,
        })
        .collect()
}

/// A usual van.
#[must_use]
pub fn usual_van() -> Van {
    Van {
        id: None,
        name: "Small van".into(),
        length: Length::from_um(1_800_000),
        width: Length::from_um(1_250_000),
        height: Length::from_um(1_200_000),
        payload: Weight::from_grams(600_000),
    }
}
