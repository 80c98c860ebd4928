//! The pages of freshness: an event's materials, worst first, and the way's temperatures.

mod event;
mod temperatures;

use axum::Router;
use axum::routing::{get, post};

use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/events/{id}/freshness", get(event::show))
        .route("/events/{id}/venue-temperature", post(event::keep_venue))
        .route("/prep/temperatures", get(temperatures::show).post(temperatures::save))
}
