//! What if: a quote with other counts, other recipes, other numbers of stems, beside the quote as it stands. Nothing of it is
//! kept.
//!
//! May import: plain values, the calculations of `recipes` and of this room.

use super::draft::Draft;
use super::pricing::{Priced, PricedLine, price};
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::money::Money;
use crate::ground::quantity::Quantity;
use crate::recipes::cost::Costing;
use crate::recipes::{Ingredient, Measure, RecipeBook};

/// Another number of a material in a recipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StemChange {
    /// In which recipe.
    pub recipe: RecipeId,
    /// Of which material.
    pub material: MaterialId,
    /// How many instead.
    pub quantity: Quantity,
}

/// The recipes with other numbers in them: the first line of a recipe that names the material holds the new one.
#[must_use]
pub fn with_changes(book: &RecipeBook, changes: &[StemChange]) -> RecipeBook {
    let mut book = book.clone();
    for change in changes {
        let Some(recipe) = book.recipes.get_mut(&change.recipe) else { continue };
        let of = Ingredient::Material(change.material);
        if let Some(line) = recipe.lines.iter_mut().find(|line| line.ingredient == of) {
            set_quantity(&mut line.measure, change.quantity);
        }
    }
    book
}

fn set_quantity(measure: &mut Measure, to: Quantity) {
    match measure {
        Measure::Count { quantity }
        | Measure::Cut { quantity, .. }
        | Measure::Wound { quantity, .. }
        | Measure::OnePer { quantity, .. } => *quantity = to,
    }
}

/// A quote as it stands and as it would be.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// As it stands.
    pub stands: Priced,
    /// As it would be.
    pub would: Priced,
}

/// A row of both, by piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beside<'a> {
    /// As it stands.
    pub stands: &'a PricedLine,
    /// As it would be; left out where there is none.
    pub would: Option<&'a PricedLine>,
}

impl Comparison {
    /// Prices both: the quote with its recipes, and what it would be with the changed ones, at the same prices.
    #[must_use]
    pub fn of((stands, costing): (&Draft, &Costing), (would, changed): (&Draft, &Costing)) -> Comparison {
        Comparison { stands: price(stands, costing), would: price(would, changed) }
    }

    /// The pieces that differ in count, recipe, price or cost.
    #[must_use]
    pub fn differing(&self) -> Vec<Beside<'_>> {
        let mut rows: Vec<Beside> = Vec::new();
        for stands in self.stands.lines.iter().filter(|line| line.line.piece.is_some()) {
            let would = self.would.lines.iter().find(|line| line.line.piece == stands.line.piece);
            let differs = would.is_none_or(|would| !is_same(stands, would));
            if differs {
                rows.push(Beside { stands, would });
            }
        }
        rows
    }

    /// By how much the total would rise.
    #[must_use]
    pub fn total_difference(&self) -> Money {
        self.would.totals.sums.total - self.stands.totals.sums.total
    }

    /// By how much what is left to the studio would rise.
    #[must_use]
    pub fn left_difference(&self) -> Money {
        self.would.margin.left() - self.stands.margin.left()
    }
}

fn is_same(one: &PricedLine, other: &PricedLine) -> bool {
    one.line.recipe == other.line.recipe
        && one.line.made.count == other.line.made.count
        && one.price == other.price
        && one.margin == other.margin
}

#[cfg(test)]
mod tests;
