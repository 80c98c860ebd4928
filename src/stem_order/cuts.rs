//! The cutting list of one material: cut pieces of all lengths, pooled over all events of the order and laid out
//! together on stems (or rolls) of its usable length.
//!
//! May import `ground`, `price_list` types and the room's own `cutting`.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::cutting::{CuttingError, Layout, lay_out};
use crate::ground::formats::Formats;
use crate::ground::quantity::Length;
use crate::price_list::{Material, Unit};

/// What is cut from one material, and how.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CuttingList {
    /// The length that can be cut from one stem or roll.
    pub usable_length: Length,
    /// Pieces by length, each rounded up to whole once for the whole order.
    pub pieces: BTreeMap<Length, u64>,
    /// The proven layout, or how far it is from one.
    pub layout: Layout,
}

/// Why there is no cutting list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CutTrouble {
    /// The price list does not say how much of a stem or roll can be used.
    NoUsableLength,
    /// A piece that no stem or roll can yield.
    PieceTooLong {
        /// The piece.
        length: Length,
        /// The stem or roll.
        usable_length: Length,
    },
    /// More than can be laid out.
    TooMany,
}

impl CutTrouble {
    /// What is wrong and what would mend it, in a sentence.
    #[must_use]
    pub fn sentence(&self, material: &Material, formats: &Formats) -> String {
        let (name, stock) = (&material.name, stock_word(material));
        match self {
            CutTrouble::NoUsableLength => format!(
                "{name} is cut to lengths, but the price list does not say how much of a {stock} can be used: \
                its cut pieces are not in this order. Enter its usable length."
            ),
            CutTrouble::PieceTooLong { length, usable_length } => format!(
                "A piece of {name} is {} long, but only {} of a {stock} can be used: its cut pieces are not in \
                this order. Shorten the piece or enter a longer usable length.",
                formats.length(*length),
                formats.length(*usable_length)
            ),
            CutTrouble::TooMany => {
                format!(
                    "There are too many cut pieces of {name} to lay out: its cut pieces are not in this order."
                )
            }
        }
    }
}

/// What a material is cut from: a stem, a roll, or one of what it is counted in.
#[must_use]
pub fn stock_word(material: &Material) -> &'static str {
    match material.unit {
        Unit::Stem => "stem",
        Unit::Roll => "roll",
        Unit::Each => "length",
    }
}

/// Lays out pieces by length, pooled; counts that are fractions (6.5 a piece) are rounded up here, once.
///
/// # Errors
/// No usable length, a piece longer than it (named), or too many pieces.
pub fn cutting_list(
    material: &Material,
    pieces: &BTreeMap<Length, Decimal>,
) -> Result<CuttingList, CutTrouble> {
    let usable_length = material.usable_length.ok_or(CutTrouble::NoUsableLength)?;
    let whole = |count: &Decimal| count.ceil().to_u64().ok_or(CutTrouble::TooMany);
    let pieces: BTreeMap<Length, u64> = pieces
        .iter()
        .map(|(length, count)| Ok((*length, whole(count)?)))
        .collect::<Result<_, CutTrouble>>()?;
    let demand: Vec<(i64, u64)> = pieces.iter().map(|(length, count)| (length.um(), *count)).collect();
    let layout = lay_out(usable_length.um(), &demand).map_err(|error| match error {
        CuttingError::PieceTooLong { length, .. } => {
            CutTrouble::PieceTooLong { length: Length::from_um(length), usable_length }
        }
        CuttingError::StockNotPositive(_) | CuttingError::PieceNotPositive(_) => CutTrouble::NoUsableLength,
        CuttingError::TooManyPieces(_) | CuttingError::TooManyLengths(_) => CutTrouble::TooMany,
    })?;
    Ok(CuttingList { usable_length, pieces, layout })
}

impl CuttingList {
    /// Stems or rolls it takes.
    #[must_use]
    pub fn stems(&self) -> u64 {
        self.layout.stock_pieces
    }

    /// What is cut, and from how many stems, in words.
    #[must_use]
    pub fn working(&self, material: &Material, formats: &Formats) -> String {
        let pieces: Vec<String> = self
            .pieces
            .iter()
            .map(|(length, count)| format!("{count} × {}", formats.length(*length)))
            .collect();
        let proof = if self.layout.proven {
            "the fewest possible, proven".to_owned()
        } else {
            format!("at least {} are needed", self.layout.lower_bound)
        };
        format!(
            "{} cut from {} of {} usable: {} {}s ({proof})",
            pieces.join(", "),
            stock_word(material),
            formats.length(self.usable_length),
            self.stems(),
            stock_word(material),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stem_order::samples::foliage;

    const INCH: i64 = 25_400;

    fn inches(pieces: &[(i64, i64)]) -> BTreeMap<Length, Decimal> {
        pieces.iter().map(|(length, count)| (Length::from_um(length * INCH), Decimal::from(*count))).collect()
    }

    #[test]
    fn all_lengths_are_laid_out_together() {
        let list = cutting_list(&foliage(1, "Ruscus", 27), &inches(&[(10, 40), (7, 60)])).unwrap();
        assert_eq!((list.stems(), list.layout.proven), (34, true));
    }

    #[test]
    fn a_piece_longer_than_the_stem_is_named() {
        let trouble = cutting_list(&foliage(1, "Ruscus", 27), &inches(&[(28, 1)])).unwrap_err();
        let formats = crate::studio::Studio::new_book().formats;
        let sentence = trouble.sentence(&foliage(1, "Ruscus", 27), &formats);
        assert!(sentence.contains("Ruscus is 71.12\u{a0}cm long"), "{sentence}");
    }

    #[test]
    fn without_a_usable_length_nothing_is_laid_out() {
        let mut ruscus = foliage(1, "Ruscus", 27);
        ruscus.usable_length = None;
        assert_eq!(cutting_list(&ruscus, &inches(&[(5, 1)])), Err(CutTrouble::NoUsableLength));
    }
}
