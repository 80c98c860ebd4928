//! What one piece is made of, and how: lines, nested parts, steps, picture; what a count of pieces needs (C1),
//! what one costs and what is asked for it (C4). May import `ground`, `db`, `web`, `studio`, `price_list`.

pub mod amount;
pub mod binding;
pub mod cost;
pub mod explosion;
pub mod forms;
pub mod names;
pub mod pages;
pub mod store;

use std::collections::{BTreeSet, HashMap};

use crate::ground::caution::Cautions;
use crate::ground::choice::choices;
use crate::ground::ids::{MaterialId, PictureId, RecipeId, RecipeLineId};
use crate::ground::quantity::{Length, Quantity};
use crate::ground::weight::Weight;
use crate::price_list::Material;

choices! {
    /// What kind of piece a recipe makes.
    Category {
        /// For tables.
        Table "table" "Table"
        /// For a ceremony.
        Ceremony "ceremony" "Ceremony"
        /// Bouquets, buttonholes, corsages.
        Personal "personal" "Personal flowers"
        /// Hung, built or freestanding.
        Installation "installation" "Installation"
        /// A part of other recipes, not sold by itself.
        Part "part" "Part of others"
        /// Anything else.
        Other "other" "Other"
    }
}

/// What one piece is made of, and how.
#[derive(Debug, Clone)]
pub struct Recipe {
    /// Its identity.
    pub id: RecipeId,
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// Its name, alone of its kind.
    pub name: String,
    /// What kind of piece it makes.
    pub category: Category,
    /// Bench minutes a piece, its own work without that of its parts.
    pub minutes: Quantity,
    /// How long a finished piece holds before the event.
    pub holding_hours: i64,
    /// How it is made, one step a line.
    pub steps: String,
    /// How the client's document describes it.
    pub client_words: String,
    /// What to remember.
    pub note: String,
    /// Hand-tied: from under the heads to the second binding.
    pub second_binding: Option<Length>,
    /// Hand-tied: from the stems' ends to the vessel's floor.
    pub stem_clearance: Option<Length>,
    /// Where making or placing it can hurt someone.
    pub cautions: Cautions,
    /// What it looks like.
    pub picture_id: Option<PictureId>,
    /// How large and heavy one is as it travels.
    pub travel: Travel,
    /// What goes in, in order.
    pub lines: Vec<RecipeLine>,
}

/// One piece as it travels, as far as it was measured; the load sheet estimates the rest.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Travel {
    /// How wide it is at its widest.
    pub diameter: Option<Length>,
    /// How high, vessel and all.
    pub height: Option<Length>,
    /// How heavy, without water.
    pub weight: Option<Weight>,
}

/// One line of a recipe.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecipeLine {
    /// Its identity.
    pub id: RecipeLineId,
    /// A material or another recipe.
    pub ingredient: Ingredient,
    /// How much of it.
    pub measure: Measure,
    /// What to remember.
    pub note: String,
    /// Materials that may stand in, by identity.
    pub substitutes: Vec<MaterialId>,
}

/// What a line calls for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ingredient {
    /// A material of the price list.
    Material(MaterialId),
    /// Another recipe, as a part.
    Part(RecipeId),
}

/// How much of it a line calls for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// So many stems (pieces, parts) a piece.
    Count {
        /// How many.
        quantity: Quantity,
    },
    /// So many cut pieces of a length.
    Cut {
        /// How many.
        quantity: Quantity,
        /// How long each.
        length: Length,
    },
    /// So many lengths, each wound round something: turns × π × diameter + ends.
    Wound {
        /// How many.
        quantity: Quantity,
        /// How often round.
        turns: Quantity,
        /// Round which diameter.
        diameter: Length,
        /// Both loose ends together.
        ends: Length,
    },
    /// So many for each started `per` pieces of the event, or once an event.
    OnePer {
        /// How many.
        quantity: Quantity,
        /// For how many pieces; none is once an event.
        per: Option<i64>,
    },
}

/// Recipes with all their parts and materials: what a calculation needs to know.
#[derive(Debug, Clone, Default)]
pub struct RecipeBook {
    /// Every recipe that may be reached.
    pub recipes: HashMap<RecipeId, Recipe>,
    /// Every material they call for, substitutes too.
    pub materials: HashMap<MaterialId, Material>,
}

/// A recipe as typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewRecipe {
    /// Its name, alone of its kind.
    pub name: String,
    /// What kind of piece it makes.
    pub category: Category,
    /// Bench minutes a piece.
    pub minutes: Quantity,
    /// How long a finished piece holds before the event.
    pub holding_hours: i64,
    /// How it is made, one step a line.
    pub steps: String,
    /// How the client's document describes it.
    pub client_words: String,
    /// What to remember.
    pub note: String,
    /// Hand-tied: from under the heads to the second binding.
    pub second_binding: Option<Length>,
    /// Hand-tied: from the stems' ends to the vessel's floor.
    pub stem_clearance: Option<Length>,
    /// Where making or placing it can hurt someone.
    pub cautions: Cautions,
    /// How large and heavy one is as it travels.
    pub travel: Travel,
    /// What goes in, in order.
    pub lines: Vec<NewLine>,
}

/// A line as typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewLine {
    /// A material or another recipe.
    pub ingredient: Ingredient,
    /// How much of it.
    pub measure: Measure,
    /// What to remember.
    pub note: String,
    /// Materials that may stand in.
    pub substitutes: Vec<MaterialId>,
}

impl NewRecipe {
    /// The recipe it will be, to reckon with before it is kept.
    #[must_use]
    pub fn draft(&self, id: RecipeId) -> Recipe {
        Recipe {
            id,
            version: 0,
            name: self.name.clone(),
            category: self.category,
            minutes: self.minutes,
            holding_hours: self.holding_hours,
            steps: self.steps.clone(),
            client_words: self.client_words.clone(),
            note: self.note.clone(),
            second_binding: self.second_binding,
            stem_clearance: self.stem_clearance,
            cautions: self.cautions,
            picture_id: None,
            travel: self.travel,
            lines: self.lines.iter().map(NewLine::draft).collect(),
        }
    }

    /// A copy of a recipe under a name.
    #[must_use]
    pub fn copy_of(recipe: &Recipe, name: String) -> NewRecipe {
        NewRecipe {
            name,
            category: recipe.category,
            minutes: recipe.minutes,
            holding_hours: recipe.holding_hours,
            steps: recipe.steps.clone(),
            client_words: recipe.client_words.clone(),
            note: recipe.note.clone(),
            second_binding: recipe.second_binding,
            stem_clearance: recipe.stem_clearance,
            cautions: recipe.cautions,
            travel: recipe.travel,
            lines: recipe.lines.iter().map(NewLine::copy_of).collect(),
        }
    }
}

impl NewLine {
    fn draft(&self) -> RecipeLine {
        RecipeLine {
            id: RecipeLineId(0),
            ingredient: self.ingredient,
            measure: self.measure,
            note: self.note.clone(),
            substitutes: self.substitutes.clone(),
        }
    }

    fn copy_of(line: &RecipeLine) -> NewLine {
        NewLine {
            ingredient: line.ingredient,
            measure: line.measure,
            note: line.note.clone(),
            substitutes: line.substitutes.clone(),
        }
    }
}

impl RecipeBook {
    /// The materials of these recipes and of their parts, with those that may stand in.
    #[must_use]
    pub fn materials_of(&self, recipes: &[RecipeId]) -> BTreeSet<MaterialId> {
        let counted: Vec<(RecipeId, i64)> = recipes.iter().map(|recipe| (*recipe, 1)).collect();
        let parts = explosion::made(self, &counted).unwrap_or_default();
        let all = parts.keys().chain(recipes).filter_map(|id| self.recipes.get(id));
        all.flat_map(|recipe| &recipe.lines).flat_map(RecipeLine::materials).collect()
    }

    /// The cautions of a recipe: its own, its parts', those of its materials and of what may stand in for them.
    #[must_use]
    pub fn cautions(&self, recipe: &Recipe) -> Cautions {
        let parts = explosion::made(self, &[(recipe.id, 1)]).unwrap_or_default();
        let within = parts.keys().filter_map(|id| self.recipes.get(id)).chain([recipe]);
        within.fold(Cautions::default(), |all, part| {
            let materials = part.lines.iter().flat_map(RecipeLine::materials);
            let of = |id| self.materials.get(&id).map_or(Cautions::default(), |material| material.cautions);
            materials.fold(all.and(part.cautions), |all, id| all.and(of(id)))
        })
    }
}

impl RecipeLine {
    /// The material it calls for, and those that may stand in.
    pub fn materials(&self) -> impl Iterator<Item = MaterialId> + '_ {
        let own = match self.ingredient {
            Ingredient::Material(id) => Some(id),
            Ingredient::Part(_) => None,
        };
        own.into_iter().chain(self.substitutes.iter().copied())
    }
}
