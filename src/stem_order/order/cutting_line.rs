//! The cutting list of one material as pages, JSON and the bench show it.

use serde::Serialize;

use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::ground::quantity::Length;
use crate::stem_order::cuts::stock_word;
use crate::stem_order::weekend::Weekend;

/// How one material is cut. Lengths are micrometres.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CuttingLine {
    /// Which.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// What it is cut from: stem or roll.
    pub cut_from: &'static str,
    /// The length that can be cut from one.
    pub usable_length: Length,
    /// How many it takes.
    pub stems: u64,
    /// Whether that is proven to be the fewest.
    pub proven: bool,
    /// The sum in words.
    pub working: String,
    /// The patterns, the most repeated first.
    pub patterns: Vec<CutPattern>,
}

/// One way to cut, and how often.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CutPattern {
    /// How many stems are cut so.
    pub times: u64,
    /// Pieces from each, longest first.
    pub pieces: Vec<CutPiece>,
    /// What is left of each.
    pub waste: Length,
}

/// Pieces of one length from one stem.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct CutPiece {
    /// How long.
    pub length: Length,
    /// How many.
    pub count: u64,
}

/// The cutting lists of an order.
#[must_use]
pub fn cutting_lines(weekend: &Weekend, formats: &Formats) -> Vec<CuttingLine> {
    let lines = weekend.needs.iter().filter_map(|need| {
        let material = weekend.material(need.material)?;
        let Some(Ok(list)) = &need.cutting else { return None };
        let patterns = list.layout.patterns.iter().map(|pattern| CutPattern {
            times: pattern.times,
            pieces: pattern
                .cuts
                .iter()
                .map(|(length, count)| CutPiece { length: Length::from_um(*length), count: *count })
                .collect(),
            waste: Length::from_um(pattern.waste),
        });
        Some(CuttingLine {
            material: material.id,
            name: material.name.clone(),
            cut_from: stock_word(material),
            usable_length: list.usable_length,
            stems: list.stems(),
            proven: list.layout.proven,
            working: list.working(material, formats),
            patterns: patterns.collect(),
        })
    });
    lines.collect()
}

impl CutPattern {
    /// `2 × 10 in, 1 × 7 in`.
    #[must_use]
    pub fn words(&self, formats: &Formats) -> String {
        let pieces =
            self.pieces.iter().map(|piece| format!("{} × {}", piece.count, formats.length(piece.length)));
        pieces.collect::<Vec<_>>().join(", ")
    }
}
