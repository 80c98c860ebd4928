//! How large and how heavy one piece is as it travels, with the water in its vessels (C9).
//!
//! What the recipe says is taken; what it does not say is estimated, and the sheet says so. The estimates are from memory,
//! no published source; weigh and measure one piece to be sure:
//! - **width**: flowers overhang a vessel to one and a half times its inner diameter; several vessels take the floor of all
//!   of them, as one circle: √(Σ (1.5 × diameter)²); 25 cm without a vessel;
//! - **height**: two and a half times the inner height of the tallest vessel; 30 cm without one;
//! - **weight without water**: 30 g a stem, and half a kilogram for each litre that a vessel holds; 500 g without a vessel.
//!
//! Water fills the vessels three quarters, as on the pull list. Weights are rounded up to the gram.
//!
//! May import: `ground`, types and calculations of earlier rooms, the pull list's water.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::ground::ids::RecipeId;
use crate::ground::quantity::Length;
use crate::ground::weight::Weight;
use crate::price_list::{Material, MaterialKind};
use crate::pull_list::pull::water_in;
use crate::pull_list::vessel_water::water_in_cylinder;
use crate::recipes::RecipeBook;
use crate::recipes::explosion::{ExplosionError, need};

/// A piece without a vessel is so wide.
const PLAIN_WIDTH: Length = Length::from_um(250_000);
/// And so high.
const PLAIN_HEIGHT: Length = Length::from_um(300_000);
/// And weighs so much beside its stems.
const PLAIN_WEIGHT: Weight = Weight::from_grams(500);
/// One stem.
const STEM: Weight = Weight::from_grams(30);
/// A vessel for each litre that it holds.
const KILOGRAMS_A_LITRE_OF_VESSEL: Decimal = Decimal::from_parts(5, 0, 0, false, 1);

/// One piece as it travels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PieceSize {
    /// How wide it is at its widest.
    pub diameter: Length,
    /// How high.
    pub height: Length,
    /// How heavy, with its water.
    pub weight: Weight,
    /// The water's part of that.
    pub water: Weight,
    /// What is estimated and not measured: `width`, `height`, `weight`.
    pub estimated: Vec<&'static str>,
}

/// What one piece is made of, as far as its size goes.
#[derive(Default)]
struct Parts<'a> {
    vessels: Vec<(&'a Material, Decimal)>,
    stems: Decimal,
}

/// The size of one piece of a recipe, its parts included.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn size(book: &RecipeBook, id: RecipeId) -> Result<PieceSize, ExplosionError> {
    let recipe = book.recipes.get(&id).ok_or(ExplosionError::Missing(id))?;
    let parts = parts(book, id)?;
    let (travel, mut estimated) = (recipe.travel, Vec::new());
    let mut said = |what, typed: bool| {
        if !typed {
            estimated.push(what);
        }
    };
    said("width", travel.diameter.is_some());
    said("height", travel.height.is_some());
    said("weight", travel.weight.is_some());
    let water = parts.water();
    let dry = travel.weight.unwrap_or_else(|| parts.weight());
    Ok(PieceSize {
        diameter: travel.diameter.unwrap_or_else(|| parts.width()),
        height: travel.height.unwrap_or_else(|| parts.height()),
        weight: dry.plus(water),
        water,
        estimated,
    })
}

fn parts(book: &RecipeBook, id: RecipeId) -> Result<Parts<'_>, ExplosionError> {
    let mut parts = Parts::default();
    for (wanted, need) in need(book, &[(id, 1)])? {
        let Some(material) = book.materials.get(&wanted.material) else { continue };
        if material.is_fresh() {
            parts.stems += need.count;
        } else if material.kind == MaterialKind::Vessel && !need.count.is_zero() {
            parts.vessels.push((material, need.count));
        }
    }
    Ok(parts)
}

impl Parts<'_> {
    fn water(&self) -> Weight {
        let water =
            self.vessels.iter().filter_map(|(vessel, count)| water_in(vessel)?.kilograms.checked_mul(*count));
        Weight::of_kilograms(water.sum())
    }

    fn width(&self) -> Length {
        let overhang = Decimal::new(15, 1);
        let squares = self.vessels.iter().filter_map(|(vessel, count)| {
            let wide = vessel.inner_diameter?.decimal() * overhang;
            wide.checked_mul(wide)?.checked_mul(*count)
        });
        let square: Decimal = squares.sum();
        let side = square.ceil().to_i64().map_or(0, |square| square.max(0).isqrt() + 1);
        if square.is_zero() || side == 0 { PLAIN_WIDTH } else { Length::from_um(side) }
    }

    fn height(&self) -> Length {
        let tallest = self.vessels.iter().filter_map(|(vessel, _)| vessel.inner_height).max();
        tallest.map_or(PLAIN_HEIGHT, |tallest| Length::from_um(tallest.um().saturating_mul(5) / 2))
    }

    fn weight(&self) -> Weight {
        let stems = STEM.times(self.stems.ceil().to_i64().unwrap_or(i64::MAX));
        let glass = self.vessels.iter().filter_map(|(vessel, count)| {
            let (diameter, height) = vessel.inner_diameter.zip(vessel.inner_height)?;
            let full = water_in_cylinder(diameter.um(), height.um(), Decimal::ONE).ok()?;
            full.litres.checked_mul(KILOGRAMS_A_LITRE_OF_VESSEL)?.checked_mul(*count)
        });
        let vessels = if self.vessels.is_empty() { PLAIN_WEIGHT } else { Weight::of_kilograms(glass.sum()) };
        stems.plus(vessels)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recipes::{Recipe, Travel};
    use crate::stem_order::samples;

    fn cm(length: i64) -> Length {
        Length::from_um(length * 10_000)
    }

    fn vase() -> Material {
        Material { inner_diameter: Some(cm(10)), inner_height: Some(cm(20)), ..samples::vessel(2, "Vase") }
    }

    fn book(recipe: Recipe) -> RecipeBook {
        samples::book(vec![recipe], vec![samples::flower(1, "Rose"), vase()])
    }

    #[test]
    fn what_is_not_measured_is_estimated_from_stems_and_vessel() {
        let recipe = samples::recipe(1, "Low", &[samples::stems(1, 6_500), samples::stems(2, 1_000)]);
        let size = size(&book(recipe), RecipeId(1)).unwrap();
        assert_eq!((size.diameter, size.height), (Length::from_um(150_001), Length::from_um(500_000)));
        // π ÷ 4 × 1 × 2 × 0.75 = 1.178 litres, 1.176 kg of water; 7 stems are 210 g, 1.571 litres of vessel 786 g.
        assert_eq!(size.water, Weight::from_grams(1_176));
        assert_eq!(size.weight, Weight::from_grams(210 + 786 + 1_176));
        assert_eq!(size.estimated, ["width", "height", "weight"]);
    }

    #[test]
    fn what_the_recipe_says_is_taken_and_water_added() {
        let lines = [samples::stems(1, 6_000), samples::stems(2, 1_000)];
        let travel = Travel { diameter: Some(cm(28)), height: None, weight: Some(Weight::from_grams(900)) };
        let recipe = Recipe { travel, ..samples::recipe(1, "Low", &lines) };
        let size = size(&book(recipe), RecipeId(1)).unwrap();
        assert_eq!((size.diameter, size.weight), (cm(28), Weight::from_grams(900 + 1_176)));
        assert_eq!(size.estimated, ["height"]);
    }

    #[test]
    fn without_a_vessel_there_is_no_water() {
        let recipe = samples::recipe(1, "Posy", &[samples::stems(1, 10_000)]);
        let size = size(&book(recipe), RecipeId(1)).unwrap();
        assert_eq!((size.diameter, size.height), (PLAIN_WIDTH, PLAIN_HEIGHT));
        assert_eq!((size.weight, size.water), (Weight::from_grams(800), Weight::default()));
    }

    #[test]
    fn several_vessels_take_the_floor_of_all() {
        let recipe = samples::recipe(1, "Drift", &[samples::stems(2, 4_000)]);
        let size = size(&book(recipe), RecipeId(1)).unwrap();
        assert_eq!(size.diameter, Length::from_um(300_001), "twice as wide as one");
    }
}
