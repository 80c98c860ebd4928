//! The settings page.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use iso_currency::{Currency, IntoEnumIterator};

use super::forms::SettingsForm;
use super::store;
use super::visit::{Section, Shell, Visit};
use super::{AllowanceRule, LabourRule, Paper, RoundingDirection};
use crate::ground::choice::Choice;
use crate::ground::formats::DateStyle;
use crate::ground::quantity::LengthUnit;
use crate::web::answer::{Answer, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/settings", get(show).post(save))
        .merge(super::backups::pages::routes())
        .merge(super::people::pages::routes())
}

#[derive(Template)]
#[template(path = "studio/settings.html")]
struct SettingsPage {
    shell: Shell,
    form: SettingsForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl SettingsPage {
    fn new(visit: &Visit, form: SettingsForm, errors: FieldErrors) -> SettingsPage {
        SettingsPage {
            shell: visit.shell(Section::Settings, "Settings"),
            form,
            errors,
            differences: Vec::new(),
        }
    }

    fn currencies(&self) -> Vec<(&'static str, String)> {
        Currency::iter()
            .filter(|currency| currency.exponent().is_some() && currency.flags().is_empty())
            .map(|currency| (currency.code(), format!("{} {}", currency.code(), currency.name())))
            .collect()
    }

    fn length_units(&self) -> Vec<(&'static str, &'static str)> {
        LengthUnit::options()
    }

    fn date_styles(&self) -> Vec<(&'static str, &'static str)> {
        DateStyle::options()
    }

    fn papers(&self) -> Vec<(&'static str, &'static str)> {
        Paper::options()
    }

    fn labour_rules(&self) -> Vec<(&'static str, &'static str)> {
        LabourRule::options()
    }

    fn directions(&self) -> Vec<(&'static str, &'static str)> {
        RoundingDirection::options()
    }

    fn allowance_rules(&self) -> Vec<(&'static str, &'static str)> {
        AllowanceRule::options()
    }

    /// The rows of the tax table, with an empty one to add to: row, identity, name, rate.
    fn tax_rows(&self) -> Vec<(usize, &str, &str, &str)> {
        let form = &self.form;
        (0..=form.tax_name.len())
            .map(|row| (row, at(&form.tax_id, row), at(&form.tax_name, row), at(&form.tax_rate, row)))
            .collect()
    }
}

fn at(column: &[String], row: usize) -> &str {
    column.get(row).map_or("", String::as_str)
}

async fn show(mut visit: Visit) -> Answer {
    let rates = store::tax_rates(&mut visit.connection).await?;
    let form = SettingsForm::of(&visit.studio, &rates);
    page(&SettingsPage::new(&visit, form, FieldErrors::default()))
}

async fn save(State(app): State<App>, visit: Visit, Form(form): Form<SettingsForm>) -> Answer {
    let new = match form.parse() {
        Ok(new) => new,
        Err(errors) => return refused(&SettingsPage::new(&visit, form, errors)),
    };
    let mut tx = app.book.write().await?;
    let current = store::studio(&mut tx).await?;
    if current.version.to_string() != form.version {
        let theirs = SettingsForm::of(&current, &store::tax_rates(&mut tx).await?);
        let differences = form.differences(&theirs);
        let form = SettingsForm { version: theirs.version, ..form };
        return stale(&SettingsPage {
            differences,
            ..SettingsPage::new(&visit, form, FieldErrors::default())
        });
    }
    store::keep(&mut tx, &new.studio).await?;
    store::keep_tax_rates(&mut tx, &new.tax_rates, visit.now).await?;
    tx.commit().await?;
    onward_saying(&app, "/settings", "Settings saved.")
}
