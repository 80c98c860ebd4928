//! What lost pieces are charged at.

use std::collections::HashMap;

use askama::Template;
use axum::extract::State;

use super::super::forms::ChargeForm;
use super::super::store;
use super::by_name;
use crate::ground::ids::MaterialId;
use crate::price_list::{self, Material};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::state::App;

#[derive(Template)]
#[template(path = "pull_list/loans/charges.html")]
struct ChargesPage {
    shell: Shell,
    materials: HashMap<MaterialId, Material>,
    form: ChargeForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl ChargesPage {
    fn new(visit: &Visit, materials: HashMap<MaterialId, Material>, form: ChargeForm) -> ChargesPage {
        ChargesPage {
            shell: visit.shell(Section::PullLists, "What lost pieces are charged at"),
            materials,
            form,
            errors: FieldErrors::default(),
            differences: Vec::new(),
        }
    }

    /// Each row: its place, the material's number, its name, how many are owned, what was typed.
    fn rows(&self) -> Vec<(usize, String, &str, i64, &str)> {
        let rows = self.form.rows().into_iter().filter_map(|(place, id, typed)| {
            let material = self.materials.get(&id?)?;
            Some((place, material.id.to_string(), material.name.as_str(), material.owned, typed))
        });
        rows.collect()
    }

    fn message(&self, place: usize) -> Option<&str> {
        self.errors.of_row("price", &place)
    }
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let materials = price_list::store::lent_materials(&mut visit.connection).await?;
    let version = store::charges_version(&mut visit.connection).await?;
    let charges = store::charges(&mut visit.connection).await?;
    let form = ChargeForm::of(version, &by_name(&materials), &charges, &visit.studio.formats);
    page(&ChargesPage::new(&visit, materials, form))
}

pub(super) async fn save(State(app): State<App>, visit: Visit, Form(form): Form<ChargeForm>) -> Answer {
    let formats = visit.studio.formats;
    let mut tx = app.book.write().await?;
    let materials = price_list::store::lent_materials(&mut tx).await?;
    let charges = match form.parse(&materials, &formats) {
        Ok(charges) => charges,
        Err(errors) => return refused(&ChargesPage { errors, ..ChargesPage::new(&visit, materials, form) }),
    };
    let version = store::charges_version(&mut tx).await?;
    if version.to_string() != form.version {
        let kept = store::charges(&mut tx).await?;
        let theirs = ChargeForm::of(version, &by_name(&materials), &kept, &formats);
        let differences = form.differences(&theirs, &materials);
        let form = ChargeForm { version: theirs.version, ..form };
        return stale(&ChargesPage { differences, ..ChargesPage::new(&visit, materials, form) });
    }
    store::keep_charges(&mut tx, &charges).await?;
    tx.commit().await?;
    onward_saying(&app, "/loans/charges", "The charges are kept.")
}
