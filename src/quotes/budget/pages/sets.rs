//! The studio's sets of alternatives.

use askama::Template;
use axum::extract::State;

use crate::events::recipe_names::RecipeNames;
use crate::quotes::budget::forms::{SetRow, SetsForm};
use crate::quotes::budget::store;
use crate::recipes;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::state::App;

#[derive(Template)]
#[template(path = "quotes/budget/sets.html")]
struct SetsPage {
    shell: Shell,
    form: SetsForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl SetsPage {
    fn new(visit: &Visit, form: SetsForm, errors: FieldErrors) -> SetsPage {
        let shell = visit.shell(Section::Recipes, "Alternatives");
        SetsPage { shell, form, errors, differences: Vec::new() }
    }

    fn blank(&self) -> SetRow<'_> {
        SetRow::default()
    }
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let sets = store::alternatives(&mut visit.connection).await?;
    page(&SetsPage::new(&visit, SetsForm::of(&sets), FieldErrors::default()))
}

pub(super) async fn save(State(app): State<App>, visit: Visit, Form(form): Form<SetsForm>) -> Answer {
    let mut tx = app.book.write().await?;
    let known = RecipeNames(recipes::store::names::every_recipe(&mut tx).await?);
    let sets = match form.parse(&known, &visit.studio.formats) {
        Ok(sets) => sets,
        Err(errors) => return refused(&SetsPage::new(&visit, form, errors)),
    };
    let book = SetsForm::of(&store::alternatives(&mut tx).await?);
    if form.seen != book.seen {
        let differences = form.differences(&book);
        let form = SetsForm { seen: book.seen, ..form };
        return stale(&SetsPage { differences, ..SetsPage::new(&visit, form, FieldErrors::default()) });
    }
    store::keep_alternatives(&mut tx, &sets).await?;
    tx.commit().await?;
    onward_saying(&app, "/alternatives", "Alternatives saved.")
}
