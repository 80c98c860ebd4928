//! The pages of this room: the studio's crates and vans, the load sheet of an event or a day.

mod crates;
mod pictures;
mod rows;
mod sheet;

use axum::Router;
use axum::routing::{get, post};

use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/crates", get(crates::show).post(crates::save))
        .route("/crates/usual", post(crates::begin))
        .route("/crates/removals/{moment}/restoration", post(crates::restore))
        .route("/events/{id}/load", get(sheet::of_event))
        .route("/load/{day}", get(sheet::of_day))
}
