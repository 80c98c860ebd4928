//! The recipe card for the bench: what goes in, large, then how it is made.

use askama::Template;

use super::super::explosion::wound_length;
use super::super::{Ingredient, Measure, Recipe, RecipeBook, RecipeLine, amount, store};
use super::tied::{Binding, bindings};
use crate::ground::caution::Caution;
use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::quantity::Length;
use crate::price_list::{CostKind, Unit};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::path::Path;

#[derive(Template)]
#[template(path = "recipes/card.html")]
struct CardPage {
    shell: Shell,
    recipe: Recipe,
    groups: Vec<(&'static str, Vec<CardLine>)>,
    bindings: Vec<Binding>,
    cautions: Vec<Caution>,
    minutes: String,
}

struct CardLine {
    count: String,
    unit: String,
    what: String,
    how: String,
}

impl CardPage {
    fn steps(&self) -> Vec<(usize, &str)> {
        (1..).zip(self.recipe.steps.lines().map(str::trim).filter(|step| !step.is_empty())).collect()
    }

    fn category(&self) -> &'static str {
        crate::ground::choice::Choice::label(self.recipe.category)
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<RecipeId>) -> Answer {
    let kept = store::recipe(&mut visit.connection, id).await?;
    let (recipe, book) = kept.ok_or(Trouble::NotFound("recipe"))?;
    let shell = visit.shell(Section::Recipes, format!("{}, card", recipe.name));
    let groups = groups(&recipe, &book, shell.formats);
    let bindings = bindings(&book, &recipe, shell.formats);
    let cautions = book.cautions(&recipe).list();
    let minutes = shell.formats.quantity(recipe.minutes);
    page(&CardPage { shell, recipe, groups, bindings, cautions, minutes })
}

/// Stems first, then parts, then what holds them.
fn groups(recipe: &Recipe, book: &RecipeBook, formats: Formats) -> Vec<(&'static str, Vec<CardLine>)> {
    let (mut stems, mut parts, mut rest) = (Vec::new(), Vec::new(), Vec::new());
    for line in &recipe.lines {
        let group = match line.ingredient {
            Ingredient::Part(_) => &mut parts,
            Ingredient::Material(id) => {
                match book.materials.get(&id).map(crate::price_list::Material::cost_kind) {
                    Some(CostKind::Fresh) => &mut stems,
                    _ => &mut rest,
                }
            }
        };
        group.push(card_line(line, book, formats));
    }
    let groups =
        [("Flowers and foliage", stems), ("Parts, made before", parts), ("Vessel and what holds it", rest)];
    groups.into_iter().filter(|(_, lines)| !lines.is_empty()).collect()
}

fn card_line(line: &RecipeLine, book: &RecipeBook, formats: Formats) -> CardLine {
    let material = |id: &MaterialId| book.materials.get(id);
    let name = |id: &MaterialId| material(id).map_or("", |material| material.name.as_str()).to_owned();
    let (what, one) = match &line.ingredient {
        Ingredient::Material(id) => (name(id), material(id).map(|material| material.unit)),
        Ingredient::Part(id) => {
            (book.recipes.get(id).map_or("", |recipe| recipe.name.as_str()).to_owned(), None)
        }
    };
    let (count, unit) = counted(line.measure, one, formats);
    let wound =
        matches!(line.measure, Measure::Wound { .. }).then(|| amount::written(line.measure, &formats));
    let instead: Vec<String> = line.substitutes.iter().map(name).collect();
    let instead = (!instead.is_empty()).then(|| format!("or {}", instead.join(", or ")));
    let note = Some(line.note.clone()).filter(|note| !note.is_empty());
    let how = [wound, note, instead].into_iter().flatten().collect::<Vec<_>>().join("; ");
    CardLine { count, unit, what, how }
}

fn counted(measure: Measure, one: Option<Unit>, formats: Formats) -> (String, String) {
    match measure {
        Measure::Count { quantity } => {
            let unit = match one {
                Some(Unit::Stem) => "stems",
                Some(Unit::Roll) => "rolls",
                _ => "",
            };
            (formats.quantity(quantity), unit.into())
        }
        Measure::Cut { quantity, length } => {
            (formats.quantity(quantity), format!("of {}", formats.length(length)))
        }
        Measure::Wound { quantity, turns, diameter, ends } => (
            formats.quantity(quantity),
            format!("of {}", formats.length(to_the_millimetre(wound_length(turns, diameter, ends)))),
        ),
        Measure::OnePer { quantity, per: Some(per) } => (formats.quantity(quantity), format!("per {per}")),
        Measure::OnePer { quantity, per: None } => (formats.quantity(quantity), "per event".into()),
    }
}

/// Rounded up, since nobody cuts ribbon to a hair.
fn to_the_millimetre(length: Length) -> Length {
    Length::from_um((length.um() + 999) / 1000 * 1000)
}
