//! A quote as it stands in the grid, kept or not: whatever can be read of it, so that figures follow the typing.
//!
//! May import: plain values of the ground, `events`' counts, the room's own values.

use super::ChargeKind;
use super::tax::Tax;
use super::totals::{ChargeRule, Discount};
use crate::events::counts::Made;
use crate::ground::ids::{PieceId, RecipeId};
use crate::ground::money::Money;
use crate::ground::quantity::Share;

/// A quote with whatever can be read of it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Draft {
    /// Pieces, then lines of its own, each in its order.
    pub lines: Vec<DraftLine>,
    /// What is taken off the whole.
    pub discount: Discount,
    /// What is added.
    pub charges: Vec<(ChargeKind, ChargeRule, Tax)>,
    /// Shares of the payment, one a row that can be read.
    pub instalments: Vec<Share>,
    /// Whether prices include tax.
    pub inclusive: bool,
}

/// From which grid and row a line comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Row {
    /// The grid of pieces.
    Piece(usize),
    /// The grid of the quote's own lines.
    Own(usize),
}

/// A line with whatever can be read of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DraftLine {
    /// Where it stands in the grids.
    pub row: Row,
    /// Which piece of the book it is, if it is one.
    pub piece: Option<PieceId>,
    /// What makes it, if a recipe does.
    pub recipe: Option<RecipeId>,
    /// At which place.
    pub place: String,
    /// What it is.
    pub name: String,
    /// How many, with the sum behind it.
    pub made: Made,
    /// A price typed over the computed one.
    pub typed: Option<Money>,
    /// What is taken off it.
    pub discount: Discount,
    /// Its tax rate.
    pub tax: Tax,
}

impl Draft {
    /// The recipes it names.
    #[must_use]
    pub fn recipes(&self) -> Vec<RecipeId> {
        let mut recipes: Vec<RecipeId> = self.lines.iter().filter_map(|line| line.recipe).collect();
        recipes.sort_unstable();
        recipes.dedup();
        recipes
    }

    /// How many of a recipe the event has in all, as far as counts are known.
    #[must_use]
    pub fn batch(&self, recipe: RecipeId) -> i64 {
        let of = self.lines.iter().filter(|line| line.recipe == Some(recipe));
        of.filter_map(|line| line.made.count).fold(0, i64::saturating_add)
    }
}
