//! What the prices of another day do to a quote's margin: prices held as they were promised, costs then and now, and which
//! materials make the difference.
//!
//! May import: `rust_decimal`, plain values, the calculations of `recipes` and of this room.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::draft::{Draft, DraftLine};
use super::pricing::{Margin, PricedLine, price};
use crate::ground::ids::MaterialId;
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::recipes::cost::{CostLine, Costing};

/// A quote's margin at the prices of two days.
#[derive(Debug, Clone, PartialEq)]
pub struct MarginShift {
    /// At the prices that it was made with.
    pub then: Margin,
    /// At the prices of now, for the same money.
    pub now: Margin,
    /// The lines whose cost is known on both days.
    pub lines: Vec<LineShift>,
    /// The materials whose cost differs, the dearest difference first.
    pub materials: Vec<MaterialShift>,
    /// What is left out, since its cost is not known on one of the days.
    pub left_out: Vec<String>,
}

/// A line at the prices of two days.
#[derive(Debug, Clone, PartialEq)]
pub struct LineShift {
    /// What.
    pub name: String,
    /// Where.
    pub place: String,
    /// How many.
    pub count: i64,
    /// For how much each.
    pub price: Money,
    /// Then.
    pub then: Margin,
    /// Now.
    pub now: Margin,
}

/// A material at the prices of two days.
#[derive(Debug, Clone, PartialEq)]
pub struct MaterialShift {
    /// Which.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// How many the quote takes, before loss.
    pub quantity: Decimal,
    /// The share lost of it.
    pub loss: Share,
    /// What one cost, in minor units.
    pub each_then: Decimal,
    /// What one costs.
    pub each_now: Decimal,
    /// By how much the quote's cost rises: quantity ÷ (1 − loss) × the difference of one.
    pub difference: Decimal,
}

impl MarginShift {
    /// By how much the margin has fallen, so that both margins as written differ by it; below nothing where it rose.
    #[must_use]
    pub fn lost(&self) -> Money {
        self.then.left() - self.now.left()
    }

    /// By how many points of a hundred the margin's share changes; none where nothing is asked.
    #[must_use]
    pub fn points(&self) -> Option<Decimal> {
        Some((self.now.share()? - self.then.share()?) * Decimal::ONE_HUNDRED)
    }
}

/// A quote's margin at the prices it was made with and at those of now.
///
/// What is asked is held: each line at its typed price, or the one computed then. The cost is the recipe's on either day,
/// labour and loan fees included; lines whose cost is unknown on one of the days are left out of both. Law: the differences
/// of the materials add up to the difference of the cost. Minor units, unrounded.
#[must_use]
pub fn margin_shift(draft: &Draft, then: &Costing, now: &Costing) -> MarginShift {
    let promised = price(draft, then);
    let asked: Vec<&PricedLine> = promised.lines.iter().filter(|line| line.price.is_some()).collect();
    let held = |line: &&PricedLine| DraftLine { typed: line.price, ..line.line.clone() };
    let held = Draft { lines: asked.iter().map(held).collect(), ..draft.clone() };
    let (before, after) = (price(&held, then), price(&held, now));
    let mut shift = MarginShift {
        then: Margin::default(),
        now: Margin::default(),
        lines: Vec::new(),
        materials: Vec::new(),
        left_out: Vec::new(),
    };
    let mut materials: BTreeMap<MaterialId, MaterialShift> = BTreeMap::new();
    for (old, new) in before.lines.iter().zip(&after.lines).filter(|(line, _)| line.line.recipe.is_some()) {
        let Some((was, is)) = old.margin.zip(new.margin) else {
            shift.left_out.push(old.line.name.clone());
            continue;
        };
        shift.then = sum(shift.then, was);
        shift.now = sum(shift.now, is);
        shift.lines.extend(line_shift(old, was, is));
        add_materials(&mut materials, old, new, now);
    }
    shift.materials = materials.into_values().filter(|one| !one.difference.is_zero()).collect();
    shift.materials.sort_by(|a, b| (b.difference, &a.name).cmp(&(a.difference, &b.name)));
    shift
}

fn sum(one: Margin, other: Margin) -> Margin {
    Margin { cost: one.cost + other.cost, asked: one.asked + other.asked }
}

fn line_shift(line: &PricedLine, then: Margin, now: Margin) -> Option<LineShift> {
    Some(LineShift {
        name: line.line.name.clone(),
        place: line.line.place.clone(),
        count: line.line.made.count?,
        price: line.price?,
        then,
        now,
    })
}

/// What a line's materials add to the difference.
fn add_materials(
    materials: &mut BTreeMap<MaterialId, MaterialShift>,
    old: &PricedLine,
    new: &PricedLine,
    costing: &Costing,
) {
    let count = Decimal::from(old.line.made.count.unwrap_or_default());
    let lines = |line: &PricedLine| -> Vec<CostLine> {
        line.computed.as_ref().map(|computed| computed.lines.clone()).unwrap_or_default()
    };
    let was = lines(old);
    for line in lines(new) {
        let Some(before) = was.iter().find(|before| before.material == line.material) else { continue };
        let name = costing.book.materials.get(&line.material).map(|material| material.name.clone());
        let one = materials.entry(line.material).or_insert_with(|| MaterialShift {
            material: line.material,
            name: name.unwrap_or_default(),
            quantity: Decimal::ZERO,
            loss: line.loss,
            each_then: before.each,
            each_now: line.each,
            difference: Decimal::ZERO,
        });
        one.quantity += line.quantity * count;
        one.difference += (line.cost - before.cost) * count;
    }
}

#[cfg(test)]
mod tests;
