//! Recipes made of plain values for the outside checks: materials, costs and lines, without a book.

use std::collections::HashMap;

use trug::ground::caution::Cautions;
use trug::ground::dates::Day;
use trug::ground::ids::{MaterialId, OfferId, RecipeId, RecipeLineId, SupplierId};
use trug::ground::money::Money;
use trug::ground::quantity::{Length, Quantity, Share};
use trug::price_list::{Care, CareSource, Material, MaterialKind, Unit, UnitCost};
use trug::recipes::{Category, Ingredient, Measure, Recipe, RecipeBook, RecipeLine};

/// The one recipe of these checks.
pub(crate) const PIECE: RecipeId = RecipeId(1);

/// A recipe being put together: each line with its own material.
#[derive(Default)]
pub(crate) struct Bench {
    lines: Vec<RecipeLine>,
    pub(crate) materials: HashMap<MaterialId, Material>,
    pub(crate) costs: HashMap<MaterialId, UnitCost>,
}

impl Bench {
    /// A line of a new material, with what a pack of it costs and holds; nothing of it is lost.
    pub(crate) fn line(
        mut self,
        kind: MaterialKind,
        measure: Measure,
        (price, size): (i64, i64),
        usable: Option<Length>,
    ) -> Bench {
        let id = MaterialId(i64::try_from(self.lines.len()).unwrap() + 1);
        self.materials.insert(id, material(id, kind, usable));
        self.costs.insert(id, cost(price, size));
        self.lines.push(RecipeLine {
            id: RecipeLineId(id.0),
            ingredient: Ingredient::Material(id),
            measure,
            note: String::new(),
            substitutes: Vec::new(),
        });
        self
    }

    /// So many of a material at a price each, in minor units.
    pub(crate) fn count(self, kind: MaterialKind, thousandths: i64, each: i64) -> Bench {
        self.line(kind, Measure::Count { quantity: Quantity::from_raw(thousandths) }, (each, 1), None)
    }

    /// The book of the recipe.
    pub(crate) fn book(&self, minutes: i64) -> RecipeBook {
        let recipe = Recipe {
            id: PIECE,
            version: 1,
            name: "Piece".into(),
            category: Category::Table,
            minutes: Quantity::whole(minutes),
            holding_hours: 24,
            steps: String::new(),
            client_words: String::new(),
            note: String::new(),
            second_binding: None,
            stem_clearance: None,
            cautions: Cautions::default(),
            picture_id: None,
            travel: trug::recipes::Travel::default(),
            lines: self.lines.clone(),
        };
        RecipeBook { recipes: [(PIECE, recipe)].into(), materials: self.materials.clone() }
    }
}

fn cost(price: i64, size: i64) -> UnitCost {
    UnitCost {
        offer_id: OfferId(1),
        supplier_id: SupplierId(1),
        supplier_name: "Grower".into(),
        pack_name: "pack".into(),
        pack_size: size,
        pack_price: Money::from_minor(price),
        from_day: Day(jiff::civil::date(2026, 1, 1)),
    }
}

fn material(id: MaterialId, kind: MaterialKind, usable_length: Option<Length>) -> Material {
    Material {
        id,
        version: 1,
        name: format!("Material {id}"),
        kind,
        colour: String::new(),
        grade: String::new(),
        unit: Unit::Stem,
        head_class: None,
        usable_length,
        loss: Some(Share::default()),
        preferred_supplier_id: None,
        inner_height: None,
        inner_diameter: None,
        loaned: false,
        owned: 0,
        loan_fee: Money::ZERO,
        spare_per: 0,
        care: Care {
            conditioning_minutes: 0,
            hydrate_hours: 0,
            opening_days: 0,
            holding_days: None,
            storage_celsius: None,
            vase_days: None,
            cut_keeps_hours: None,
            source: CareSource::Own,
        },
        cautions: Cautions::default(),
        note: String::new(),
    }
}
