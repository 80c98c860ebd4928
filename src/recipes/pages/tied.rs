//! Whether a hand-tied bundle holds in its vessel, in words.

use super::super::binding::{DEFAULT_CLEARANCE, Hold, hold};
use super::super::{Ingredient, Recipe, RecipeBook};
use crate::ground::formats::Formats;
use crate::ground::quantity::Length;
use crate::price_list::{Material, MaterialKind};

/// Whether a hand-tied bundle holds in one of its vessels.
pub(super) struct Binding {
    /// None where it cannot be told.
    pub(super) holds: Option<bool>,
    pub(super) words: String,
}

/// Whether the bundle holds in each of its vessels; none where it is not bound.
pub(super) fn bindings(book: &RecipeBook, recipe: &Recipe, formats: Formats) -> Vec<Binding> {
    let Some(second) = recipe.second_binding else { return Vec::new() };
    let vessels: Vec<&Material> = recipe
        .lines
        .iter()
        .filter_map(|line| match line.ingredient {
            Ingredient::Material(id) => book.materials.get(&id),
            Ingredient::Part(_) => None,
        })
        .filter(|material| material.kind == MaterialKind::Vessel)
        .collect();
    if vessels.is_empty() {
        let words = "There is no vessel among the lines, so the second binding is not checked.".into();
        return vec![Binding { holds: None, words }];
    }
    vessels.into_iter().map(|vessel| binding(vessel, second, recipe.stem_clearance, formats)).collect()
}

fn binding(vessel: &Material, second: Length, clearance: Option<Length>, formats: Formats) -> Binding {
    let name = &vessel.name;
    let Some(height) = vessel.inner_height else {
        let words = format!(
            "{name}: its inner height is not in the price list, so the second binding is not checked."
        );
        return Binding { holds: None, words };
    };
    let clearance = clearance.map_or(DEFAULT_CLEARANCE, Length::um);
    let length = |um| formats.length(Length::from_um(um));
    let given = format!(
        "inside {} high less {} under the stems, second binding at {}",
        length(height.um()),
        length(clearance),
        length(second.um())
    );
    match hold(height.um(), clearance, second.um()) {
        Ok(Hold::Holds { below }) => {
            let words = format!(
                "{name}: it holds, with {} of stem below the second binding ({given}).",
                length(below)
            );
            Binding { holds: Some(true), words }
        }
        Ok(Hold::FallsOpen { short_by }) => Binding {
            holds: Some(false),
            words: format!("{name}: cut for this vessel it falls open, by {} ({given}).", length(short_by)),
        },
        Err(_) => {
            Binding { holds: Some(false), words: format!("{name}: no stem reaches into it ({given}).") }
        }
    }
}
