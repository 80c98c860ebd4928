//! A recipe's own sheet: its form with the grid of lines, what it costs as one types, saving and copying.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::super::explosion::made;
use super::super::forms::{RecipeForm, TypedLine, USUAL_BATCH};
use super::super::{Category, Ingredient, NewLine, NewRecipe, Recipe, RecipeBook, amount, store};
use super::figures::{self, Figures};
use crate::ground::caution::Caution;
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::ids::{PictureId, RecipeId};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Checker, Difference, FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "recipes/sheet.html")]
pub(super) struct SheetPage {
    shell: Shell,
    id: Option<RecipeId>,
    form: RecipeForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
    figures: Figures,
    picture: Option<PictureId>,
    copy_name: String,
}

#[derive(Template)]
#[template(path = "recipes/preview.html")]
struct PreviewPage {
    form: RecipeForm,
    figures: Figures,
}

impl SheetPage {
    /// The page of a form, with what its lines cost.
    pub(super) async fn new(
        visit: &mut Visit,
        id: Option<RecipeId>,
        form: RecipeForm,
        errors: FieldErrors,
    ) -> Result<SheetPage, Trouble> {
        let figures = figures::of_form(visit, &form).await?;
        let kept = match id {
            Some(id) => store::recipe(&mut visit.connection, id).await?,
            None => None,
        };
        let picture = kept.as_ref().and_then(|(recipe, _)| recipe.picture_id);
        let name = kept.map(|(recipe, _)| recipe.name);
        let copy_name = name.as_ref().map(|name| format!("{name}, lighter")).unwrap_or_default();
        let title = name.unwrap_or_else(|| "New recipe".into());
        let shell = visit.shell(Section::Recipes, title);
        Ok(SheetPage { shell, id, form, errors, differences: Vec::new(), figures, picture, copy_name })
    }

    /// The page of a kept recipe as it is.
    pub(super) async fn kept(
        visit: &mut Visit,
        id: RecipeId,
        batch: i64,
        errors: FieldErrors,
    ) -> Result<SheetPage, Trouble> {
        let kept = store::recipe(&mut visit.connection, id).await?;
        let (recipe, book) = kept.ok_or(Trouble::NotFound("recipe"))?;
        let form = filled(&mut visit.connection, &recipe, &book, batch, &visit.studio.formats).await?;
        SheetPage::new(visit, Some(id), form, errors).await
    }

    fn categories(&self) -> Vec<(&'static str, &'static str)> {
        Category::options()
    }

    fn cautions(&self) -> [Caution; 11] {
        Caution::ALL
    }

    fn message(&self, line: &TypedLine<'_>, cell: &str) -> Option<&str> {
        self.errors.of(&line.field(cell))
    }

    /// The ways to write an amount, with what they mean.
    fn legend(&self) -> Vec<(String, &'static str)> {
        let formats = &self.shell.formats;
        let length = amount::example_length(formats);
        let cut =
            super::super::Measure::Cut { quantity: crate::ground::quantity::Quantity::whole(8), length };
        vec![
            ("6.5".into(), "so many stems, pieces or parts"),
            (amount::written(cut, formats), "so many cut pieces of a length"),
            (amount::written(amount::example_of_winding(formats), formats), "one length, wound round"),
            ("1 per 20".into(), "one for each started 20 pieces"),
            ("1 per event".into(), "one, however many pieces"),
        ]
    }
}

async fn filled(
    connection: &mut SqliteConnection,
    recipe: &Recipe,
    book: &RecipeBook,
    batch: i64,
    formats: &Formats,
) -> Result<RecipeForm, sqlx::Error> {
    let parts = recipe.lines.iter().filter_map(|line| match line.ingredient {
        Ingredient::Part(id) => book.recipes.get(&id).map(|part| part.name.clone()),
        Ingredient::Material(_) => None,
    });
    let names = store::names::names(connection, &parts.collect::<Vec<_>>()).await?;
    Ok(RecipeForm::of(recipe, book, &names, batch, formats))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct SheetQuery {
    batch: String,
}

pub(super) async fn blank(mut visit: Visit) -> Answer {
    page(&SheetPage::new(&mut visit, None, RecipeForm::blank(), FieldErrors::default()).await?)
}

pub(super) async fn show(
    mut visit: Visit,
    Path(id): Path<RecipeId>,
    Query(query): Query<SheetQuery>,
) -> Answer {
    let batch = RecipeForm { batch: query.batch, ..RecipeForm::default() }.batch();
    page(&SheetPage::kept(&mut visit, id, batch, FieldErrors::default()).await?)
}

/// What the form as typed would cost. Nothing is kept.
pub(super) async fn preview(mut visit: Visit, Form(form): Form<RecipeForm>) -> Answer {
    let figures = figures::of_form(&mut visit, &form).await?;
    page(&PreviewPage { form, figures })
}

pub(super) async fn add(State(app): State<App>, mut visit: Visit, Form(form): Form<RecipeForm>) -> Answer {
    let new = match parsed(&mut visit, &form).await? {
        Ok(new) => new,
        Err(errors) => return refused(&SheetPage::new(&mut visit, None, form, errors).await?),
    };
    let mut tx = app.book.write().await?;
    if let Err(errors) = settled(&mut tx, None, &new, &form).await? {
        drop(tx);
        return refused(&SheetPage::new(&mut visit, None, form, errors).await?);
    }
    let id = store::keep::add(&mut tx, &new).await?;
    tx.commit().await?;
    onward_saying(&app, path(id, &form), format!("{} is in the book.", new.name))
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<RecipeId>,
    Form(form): Form<RecipeForm>,
) -> Answer {
    let form = RecipeForm { id: id.to_string(), ..form };
    let new = match parsed(&mut visit, &form).await? {
        Ok(new) => new,
        Err(errors) => {
            store::recipe(&mut visit.connection, id).await?.ok_or(Trouble::NotFound("recipe"))?;
            return refused(&SheetPage::new(&mut visit, Some(id), form, errors).await?);
        }
    };
    let mut tx = app.book.write().await?;
    let (current, book) = store::recipe(&mut tx, id).await?.ok_or(Trouble::NotFound("recipe"))?;
    if current.version.to_string() != form.version {
        let theirs = filled(&mut tx, &current, &book, form.batch(), &visit.studio.formats).await?;
        drop(tx);
        let differences = form.differences(&theirs);
        let form = RecipeForm { version: theirs.version, ..form };
        let sheet = SheetPage::new(&mut visit, Some(id), form, FieldErrors::default()).await?;
        return stale(&SheetPage { differences, ..sheet });
    }
    if let Err(errors) = settled(&mut tx, Some(id), &new, &form).await? {
        drop(tx);
        return refused(&SheetPage::new(&mut visit, Some(id), form, errors).await?);
    }
    store::keep::change(&mut tx, id, &new).await?;
    tx.commit().await?;
    onward_saying(&app, path(id, &form), format!("{} saved.", new.name))
}

fn path(id: RecipeId, form: &RecipeForm) -> String {
    match form.batch() {
        USUAL_BATCH => format!("/recipes/{id}"),
        batch => format!("/recipes/{id}?batch={batch}"),
    }
}

async fn parsed(visit: &mut Visit, form: &RecipeForm) -> Result<Result<NewRecipe, FieldErrors>, Trouble> {
    let names = store::names::names(&mut visit.connection, &form.typed_names()).await?;
    Ok(form.parse(&visit.studio.formats, &names))
}

/// What only the book can tell: whether the name is free, and whether the recipe would be a part of itself.
async fn settled(
    connection: &mut SqliteConnection,
    id: Option<RecipeId>,
    new: &NewRecipe,
    form: &RecipeForm,
) -> Result<Result<(), FieldErrors>, sqlx::Error> {
    let mut errors = FieldErrors::default();
    let namesake = store::recipe_named(connection, &new.name).await?;
    if namesake.is_some() && namesake != id {
        errors.add("name", format!("There is a recipe named \u{201c}{}\u{201d} already.", new.name));
    }
    let parts: Vec<RecipeId> = new.lines.iter().filter_map(part).collect();
    let mut book = store::recipe_book(connection, &parts).await?;
    let own = id.unwrap_or(figures::DRAFT);
    let typed = form.lines();
    let typed = typed.iter().filter(|line| !line.is_empty());
    for (line, typed) in new.lines.iter().zip(typed).filter(|(line, _)| part(line).is_some()) {
        let alone = NewRecipe { lines: vec![line.clone()], ..new.clone() };
        book.recipes.insert(own, alone.draft(own));
        if let Err(error) = made(&book, &[(own, 1)]) {
            errors.add(typed.field("what"), error.to_string());
        }
    }
    Ok(if errors.is_empty() { Ok(()) } else { Err(errors) })
}

fn part(line: &NewLine) -> Option<RecipeId> {
    match line.ingredient {
        Ingredient::Part(id) => Some(id),
        Ingredient::Material(_) => None,
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct CopyForm {
    copy_name: String,
}

pub(super) async fn copy(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<RecipeId>,
    Form(form): Form<CopyForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let (recipe, _) = store::recipe(&mut tx, id).await?.ok_or(Trouble::NotFound("recipe"))?;
    let mut c = Checker::new(&visit.studio.formats);
    let name = c.name("copy_name", &form.copy_name, "a name for the copy");
    if store::recipe_named(&mut tx, &name).await?.is_some() {
        c.refuse("copy_name", format!("There is a recipe named \u{201c}{name}\u{201d} already."));
    }
    let name = match c.done(name) {
        Ok(name) => name,
        Err(errors) => {
            drop(tx);
            let sheet = SheetPage::kept(&mut visit, id, USUAL_BATCH, errors).await?;
            return refused(&SheetPage { copy_name: form.copy_name, ..sheet });
        }
    };
    let copy = store::keep::add(&mut tx, &NewRecipe::copy_of(&recipe, name.clone())).await?;
    store::keep::set_picture(&mut tx, copy, recipe.picture_id).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/recipes/{copy}"), format!("{name} begins as a copy of {}.", recipe.name))
}
