//! How the studio stands its stems: stems and litres a pail, pails in the cooler.

use askama::Template;
use axum::extract::State;

use super::super::forms::PailForm;
use super::super::store;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, onward, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::state::App;

#[derive(Template)]
#[template(path = "prep/pails.html")]
struct PailsPage {
    shell: Shell,
    form: PailForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl PailsPage {
    fn new(visit: &Visit, form: PailForm, errors: FieldErrors) -> PailsPage {
        let shell = visit.shell(Section::Prep, "Pails and cooler");
        PailsPage { shell, form, errors, differences: Vec::new() }
    }
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let rule = store::pail_rule(&mut visit.connection).await?;
    let form = PailForm::of(&rule, &visit.studio.formats);
    page(&PailsPage::new(&visit, form, FieldErrors::default()))
}

pub(super) async fn save(State(app): State<App>, visit: Visit, Form(form): Form<PailForm>) -> Answer {
    let rule = match form.parse(&visit.studio.formats) {
        Ok(rule) => rule,
        Err(errors) => return refused(&PailsPage::new(&visit, form, errors)),
    };
    let mut tx = app.book.write().await?;
    let current = store::pail_rule(&mut tx).await?;
    if current.version.to_string() != form.version {
        let theirs = PailForm::of(&current, &visit.studio.formats);
        let differences = form.differences(&theirs);
        if differences.is_empty() {
            return onward("/prep/pails");
        }
        let form = PailForm { version: theirs.version, ..form };
        return stale(&PailsPage { differences, ..PailsPage::new(&visit, form, FieldErrors::default()) });
    }
    store::keep_pail_rule(&mut tx, &rule).await?;
    tx.commit().await?;
    onward_saying(&app, "/prep/pails", "Pails and cooler are kept.")
}
