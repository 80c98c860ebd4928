//! The pages: the best choice within a budget, taking it, how much pieces matter, the studio's sets.

mod chart;
mod fitting;
mod sets;
mod taking;
mod telling;

use axum::Router;
use axum::routing::{get, post};

use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/events/{id}/quote/budget", get(fitting::show).post(taking::take))
        .route("/events/{id}/quote/wishes", post(fitting::wish))
        .route("/alternatives", get(sets::show).post(sets::save))
}
