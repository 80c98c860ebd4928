//! The door itself, the page to log in, one's own account, and the owner's page of people.

mod account;
mod cookie;
pub mod door;
mod log_in;
mod person;

use axum::Router;
use axum::routing::{get, post};

use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/log-in", get(log_in::show).post(log_in::log_in))
        .route("/log-out", post(log_in::log_out))
        .route("/my-account", get(account::show))
        .route("/my-account/passphrase", post(account::change_passphrase))
        .route("/my-account/sessions/removal", post(account::end_others))
        .route("/my-account/sessions/{mark}/removal", post(account::end_one))
        .route("/settings/people", get(person::list).post(person::add))
        .route("/settings/people/new", get(person::blank))
        .route("/settings/people/{id}", get(person::show).post(person::save))
        .route("/settings/people/{id}/passphrase", post(person::set_passphrase))
        .route("/settings/people/{id}/sessions/removal", post(person::end_sessions))
        .route("/settings/people/{id}/removal", post(person::remove))
        .route("/settings/people/{id}/restoration", post(person::restore))
}
