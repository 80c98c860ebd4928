//! The form of a what-if: the pieces with other counts and recipes, and other numbers of stems.

use serde::Deserialize;

use super::{Known, QuoteForm, cell};
use crate::ground::ids::{MaterialId, RecipeId};
use crate::quotes::what_if::StemChange;
use crate::recipes::{Ingredient, RecipeBook};
use crate::web::forms::{Checker, FieldErrors};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct WhatIfForm {
    /// The quote's version and its pieces as they were when the page was made.
    pub version: String,
    pub seen: String,

    pub piece_id: Vec<String>,
    pub recipe: Vec<String>,
    pub count: Vec<String>,
    pub rule: Vec<String>,

    pub stem_recipe: Vec<String>,
    pub stem_what: Vec<String>,
    pub stem_count: Vec<String>,
}

impl WhatIfForm {
    /// A quote as it stands, nothing changed.
    #[must_use]
    pub fn of(quote: &QuoteForm) -> WhatIfForm {
        WhatIfForm {
            version: quote.version.clone(),
            seen: quote.seen.clone(),
            piece_id: quote.piece_id.clone(),
            recipe: quote.recipe.clone(),
            count: quote.count.clone(),
            rule: quote.rule.clone(),
            ..WhatIfForm::default()
        }
    }

    /// The quote's form with what was typed over it. Another recipe has its computed price; a piece whose recipe was emptied
    /// is left out.
    #[must_use]
    pub fn over(&self, quote: &QuoteForm) -> QuoteForm {
        let mut form = quote.clone();
        for (row, id) in self.piece_id.iter().enumerate() {
            let Some(at) = quote.piece_id.iter().position(|known| known == id) else { continue };
            let (recipe, count) = (cell(&self.recipe, row).trim(), cell(&self.count, row));
            let same = recipe.eq_ignore_ascii_case(cell(&quote.recipe, at).trim());
            if recipe.is_empty() {
                let QuoteForm { place, recipe, count, note, price, discount, .. } = &mut form;
                for column in [place, recipe, count, note, price, discount] {
                    put(column, at, "");
                }
                continue;
            }
            if !same {
                put(&mut form.recipe, at, recipe);
                put(&mut form.price, at, "");
            }
            put(&mut form.count, at, count);
            put(&mut form.rule, at, cell(&self.rule, row));
        }
        keep_places(&mut form, quote);
        form
    }

    /// The other numbers of stems, each of a recipe that a piece has; or every message, at `stems-{row}-{cell}`.
    pub fn stems(
        &self,
        known: &Known,
        named: &[RecipeId],
        book: &RecipeBook,
    ) -> Result<Vec<StemChange>, FieldErrors> {
        let mut c = Checker::new(&known.formats);
        let mut changes = Vec::new();
        for row in 0..self.stem_what.len().max(self.stem_recipe.len()) {
            let [recipe, what, count] =
                [&self.stem_recipe, &self.stem_what, &self.stem_count].map(|column| cell(column, row).trim());
            if [recipe, what, count].iter().all(|cell| cell.is_empty()) {
                continue;
            }
            let at = |cell: &str| format!("stems-{row}-{cell}");
            let found = known.recipes.find(recipe).filter(|id| named.contains(id));
            let Some(recipe) = found.and_then(|id| book.recipes.get(&id)) else {
                c.refuse(at("recipe"), "Write one of the recipes above.");
                continue;
            };
            let is_named = |id: &MaterialId| {
                book.materials.get(id).is_some_and(|one| one.name.eq_ignore_ascii_case(what))
            };
            let material = recipe.lines.iter().find_map(|line| match &line.ingredient {
                Ingredient::Material(id) if is_named(id) => Some(*id),
                _ => None,
            });
            let quantity = c.quantity(&at("count"), count);
            match material {
                Some(material) => changes.push(StemChange { recipe: recipe.id, material, quantity }),
                None => c.refuse(at("what"), format!("{} has no material of that name in it.", recipe.name)),
            }
        }
        c.done(changes)
    }
}

fn put(column: &mut [String], at: usize, text: &str) {
    if let Some(cell) = column.get_mut(at) {
        text.clone_into(cell);
    }
}

/// A row without a place stands where the row above it does: where that one is emptied, the place moves down.
fn keep_places(form: &mut QuoteForm, quote: &QuoteForm) {
    let mut place = String::new();
    for (at, typed) in quote.place.iter().enumerate() {
        if !typed.trim().is_empty() {
            place.clone_from(typed);
        }
        if !cell(&form.recipe, at).is_empty() {
            put(&mut form.place, at, &place);
        }
    }
}
