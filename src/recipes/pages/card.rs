//! The recipe card for the bench: what goes in, large, then how it is made.

use askama::Template;

use super::super::binding::DEFAULT_CLEARANCE;
use super::super::explosion::wound_length;
use super::super::{Ingredient, Measure, Recipe, RecipeBook, RecipeLine, amount, store};
use super::tied::bindings;
use crate::ground::caution::Caution;
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, PictureId, RecipeId};
use crate::ground::quantity::Length;
use crate::price_list::{CostKind, Unit};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::path::Path;

/// What a recipe's card says to the bench.
#[derive(Debug, Clone)]
pub struct Card {
    /// Which recipe.
    pub id: RecipeId,
    /// Its name.
    pub name: String,
    /// What kind of piece it makes.
    pub category: &'static str,
    /// Bench minutes each.
    pub minutes: String,
    /// How long a finished piece holds.
    pub holding_hours: i64,
    /// What goes in, stems first.
    pub groups: Vec<(&'static str, Vec<CardLine>)>,
    /// How it is made, numbered.
    pub steps: Vec<(usize, String)>,
    /// Where it is bound and cut, and whether it holds.
    pub bindings: Vec<String>,
    /// What to remember.
    pub note: String,
    /// Where making or placing it can hurt someone.
    pub cautions: Vec<Caution>,
    /// What it looks like.
    pub picture: Option<PictureId>,
    /// How many are to be made, for what; empty where nobody asked.
    pub made: Vec<(i64, String)>,
}

/// One line of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardLine {
    /// How many, large.
    pub count: String,
    /// Of what: stems, a length.
    pub unit: String,
    /// Of which material or part.
    pub what: String,
    /// What else to know.
    pub how: String,
}

#[derive(Template)]
#[template(path = "recipes/card.html")]
struct CardPage {
    shell: Shell,
    card: Card,
}

impl Card {
    /// The card of a recipe, with what it is made of.
    #[must_use]
    pub fn of(recipe: &Recipe, book: &RecipeBook, formats: Formats) -> Card {
        let steps = recipe.steps.lines().map(str::trim).filter(|step| !step.is_empty()).map(str::to_owned);
        let checked = bindings(book, recipe, formats).into_iter().map(|binding| binding.words);
        Card {
            id: recipe.id,
            name: recipe.name.clone(),
            category: recipe.category.label(),
            minutes: formats.quantity(recipe.minutes),
            holding_hours: recipe.holding_hours,
            groups: groups(recipe, book, formats),
            steps: (1..).zip(steps).collect(),
            bindings: bound(recipe, formats).into_iter().chain(checked).collect(),
            note: recipe.note.clone(),
            cautions: book.cautions(recipe).list(),
            picture: recipe.picture_id,
            made: Vec::new(),
        }
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<RecipeId>) -> Answer {
    let kept = store::recipe(&mut visit.connection, id).await?;
    let (recipe, book) = kept.ok_or(Trouble::NotFound("recipe"))?;
    let shell = visit.shell(Section::Recipes, format!("{}, card", recipe.name));
    let card = Card::of(&recipe, &book, shell.formats);
    page(&CardPage { shell, card })
}

/// Where a hand-tied bundle is bound and cut (common practice, no published source).
fn bound(recipe: &Recipe, formats: Formats) -> Option<String> {
    let second = formats.length(recipe.second_binding?);
    let clearance = recipe.stem_clearance.unwrap_or(Length::from_um(DEFAULT_CLEARANCE));
    let clearance = formats.length(clearance);
    Some(format!(
        "Bind in three places: right under the heads, again {second} lower, and near the foot. The final cut is below the second binding; stems end {clearance} above the vessel\u{2019}s floor."
    ))
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
