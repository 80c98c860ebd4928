//! The pages of the price list.

mod import;
mod material_form;
mod materials;
mod offers;
mod suppliers;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

use crate::web::answer::Trouble;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/materials", get(materials::list).post(material_form::add))
        .route("/materials/names", get(materials::names))
        .route("/materials/care", post(material_form::fill_care))
        .route("/materials/new", get(material_form::blank))
        .route("/materials/{id}", get(materials::show).post(material_form::save))
        .route("/materials/{id}/edit", get(material_form::edit))
        .route("/materials/{id}/removal", post(material_form::remove))
        .route("/materials/{id}/restoration", post(material_form::restore))
        .route("/suppliers", get(suppliers::list).post(suppliers::add))
        .route("/suppliers/new", get(suppliers::blank))
        .route("/suppliers/{id}", get(suppliers::show).post(suppliers::save))
        .route("/suppliers/{id}/edit", get(suppliers::edit))
        .route("/suppliers/{id}/removal", post(suppliers::remove))
        .route("/suppliers/{id}/restoration", post(suppliers::restore))
        .route("/offers", post(offers::add))
        .route("/offers/new", get(offers::blank))
        .route("/offers/{id}", get(offers::show).post(offers::save))
        .route("/offers/{id}/prices", post(offers::add_price))
        .route("/offers/{id}/removal", post(offers::remove))
        .route("/offers/{id}/restoration", post(offers::restore))
        .route("/price-list.csv", get(import::save_as_file))
        // A file is counted as it comes in; see `import::upload`.
        .route(
            "/price-list/import",
            get(import::blank).post(import::upload).layer(DefaultBodyLimit::disable()),
        )
        .route("/price-list/import/{id}", get(import::preview))
        .route("/price-list/import/{id}/acceptance", post(import::accept))
        .route("/price-list/import/{id}/removal", post(import::give_up))
}

/// What is brought back while another of the same name stands in the list cannot be told apart from it.
fn taken_meanwhile(error: sqlx::Error, what: &str) -> Trouble {
    let taken = error.as_database_error().is_some_and(sqlx::error::DatabaseError::is_unique_violation);
    if taken {
        Trouble::Conflict(format!(
            "It cannot be brought back: meanwhile another {what} with the same name was written into the list. Rename that one first."
        ))
    } else {
        error.into()
    }
}
