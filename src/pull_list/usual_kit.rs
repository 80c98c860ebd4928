//! What a studio usually takes along, offered when its kit is still empty: common practice, no published source.
//! May import: the types of this room, `ground`.

use super::room::Measured;
use super::{KitItem, KitKind};
use crate::ground::quantity::Quantity;
use crate::ground::weight::Weight;

/// Name, kind, how many, for each started so many pieces (none is once an event).
type Row = (&'static str, KitKind, i64, Option<i64>);

/// What is larger than its kind: grams and litres of one, from memory, to be weighed and measured.
const LARGE: [(&str, i64, i64); 7] = [
    ("Watering can, long spout", 700, 8),
    ("Pail for spare stems", 600, 12),
    ("Step ladder", 6_000, 60),
    ("Trolley", 9_000, 80),
    ("Broom and dustpan", 1_200, 10),
    ("Spare stems of each flower, in water", 4_000, 12),
    ("First-aid kit", 1_500, 6),
];

const ROWS: [Row; 26] = [
    ("Secateurs", KitKind::Tool, 2, None),
    ("Florist's knife, in its sheath", KitKind::Tool, 2, None),
    ("Wire cutters", KitKind::Tool, 1, None),
    ("Ribbon scissors", KitKind::Tool, 1, None),
    ("Watering can, long spout", KitKind::Tool, 1, None),
    ("Pail for spare stems", KitKind::Tool, 2, None),
    ("Mister", KitKind::Tool, 1, None),
    ("Tape measure", KitKind::Tool, 1, None),
    ("Step ladder", KitKind::Tool, 1, None),
    ("Trolley", KitKind::Tool, 1, None),
    ("Broom and dustpan", KitKind::Tool, 1, None),
    ("Non-slip liner, sheets", KitKind::Sundry, 1, Some(10)),
    ("Rubbish sacks", KitKind::Sundry, 1, Some(10)),
    ("Cloths", KitKind::Sundry, 2, Some(20)),
    ("Stem tape, rolls", KitKind::Sundry, 1, Some(40)),
    ("Cable ties, packs", KitKind::Sundry, 1, None),
    ("Binding wire, reels", KitKind::Sundry, 1, None),
    ("Pins, boxes", KitKind::Sundry, 1, None),
    ("Clear tape, rolls", KitKind::Sundry, 1, None),
    ("Marker and labels", KitKind::Sundry, 1, None),
    ("Spare stems of each flower, in water", KitKind::Spare, 1, None),
    ("Spare ribbon, rolls", KitKind::Spare, 1, None),
    ("First-aid kit", KitKind::Safety, 1, None),
    ("Gloves, pairs", KitKind::Safety, 2, None),
    ("Sharps box", KitKind::Safety, 1, None),
    ("Wet-floor sign", KitKind::Safety, 1, None),
];

/// The usual kit, in the order in which it is packed.
///
/// ```
/// let kit = trug::pull_list::usual_kit::usual_kit();
/// assert!(kit.iter().any(|item| item.name == "First-aid kit" && item.per_pieces.is_none()));
/// ```
#[must_use]
pub fn usual_kit() -> Vec<KitItem> {
    ROWS.iter()
        .map(|(name, kind, quantity, per_pieces)| KitItem {
            id: None,
            name: (*name).into(),
            kind: *kind,
            quantity: *quantity,
            per_pieces: *per_pieces,
            measured: measured(name),
        })
        .collect()
}

fn measured(name: &str) -> Measured {
    let large = LARGE.iter().find(|(large, _, _)| *large == name);
    Measured {
        weight: large.map(|(_, grams, _)| Weight::from_grams(*grams)),
        litres: large.map(|(_, _, litres)| Quantity::whole(*litres)),
    }
}
