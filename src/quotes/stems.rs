//! How many stems are in one of a piece, for a client who wishes to know. Flowers and foliage only: never what they cost.
//!
//! May import: `rust_decimal`, plain values, the calculations of `recipes`.

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

use crate::ground::formats::Formats;
use crate::ground::quantity::Quantity;
use crate::price_list::CostKind;
use crate::recipes::RecipeBook;
use crate::recipes::cost::{PiecePrice, Use};

/// So many of a flower or a foliage in one piece.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct StemCount {
    /// Which.
    pub name: String,
    /// How many, in thousandths, half up.
    pub count: Quantity,
    /// Whether they are pieces cut from longer stems.
    pub cut: bool,
}

/// What is in one piece, in the order of its cost: by kind, then by name. Whole stems and cut pieces of a material are
/// counted apart. What is bought once an event, or one for several pieces, is in no single piece and left out.
#[must_use]
pub fn stem_counts(piece: &PiecePrice, book: &RecipeBook) -> Vec<StemCount> {
    let mut counts = Vec::new();
    for line in piece.lines.iter().filter(|line| line.kind == CostKind::Fresh) {
        let name = book.materials.get(&line.material).map_or("", |material| material.name.as_str());
        for (cut, count) in [(false, sum(&line.uses, whole)), (true, sum(&line.uses, cut_pieces))] {
            if count > Decimal::ZERO {
                counts.push(StemCount { name: name.to_owned(), count: thousandths(count), cut });
            }
        }
    }
    counts
}

fn sum(uses: &[Use], of: fn(&Use) -> Decimal) -> Decimal {
    uses.iter().map(of).sum()
}

fn whole(way: &Use) -> Decimal {
    if let Use::Whole { quantity } = way { *quantity } else { Decimal::ZERO }
}

fn cut_pieces(way: &Use) -> Decimal {
    if let Use::Cut { pieces, .. } = way { *pieces } else { Decimal::ZERO }
}

fn thousandths(count: Decimal) -> Quantity {
    let raw =
        (count * Decimal::ONE_THOUSAND).round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero);
    Quantity::from_raw(i64::try_from(raw).unwrap_or(i64::MAX))
}

/// `In each: 10 Rose, white; 6 cut pieces of Eucalyptus`; none where nothing is counted.
#[must_use]
pub fn in_each(stems: &[StemCount], formats: Formats) -> Option<String> {
    let one = |stem: &StemCount| {
        let count = formats.quantity(stem.count);
        match (stem.cut, stem.count == Quantity::whole(1)) {
            (false, _) => format!("{count} {}", stem.name),
            (true, true) => format!("1 cut piece of {}", stem.name),
            (true, false) => format!("{count} cut pieces of {}", stem.name),
        }
    };
    let all: Vec<String> = stems.iter().map(one).collect();
    (!all.is_empty()).then(|| format!("In each: {}", all.join("; ")))
}

#[cfg(test)]
mod tests;
