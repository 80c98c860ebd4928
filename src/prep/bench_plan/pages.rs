//! The pages of the bench plan: the week, its pins, and who works when.

mod pins;
mod rows;
mod shifts;
mod week;

use axum::Router;
use axum::routing::{get, post};

use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/prep/plan", get(week::show))
        .route("/prep/plan/pins", post(pins::pin))
        .route("/prep/plan/pins/again", post(pins::pin_again))
        .route("/prep/plan/pins/{id}/removal", post(pins::unpin))
        .route("/shifts", get(shifts::show).post(shifts::save))
}
