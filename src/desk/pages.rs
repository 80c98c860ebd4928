//! The pages of the desk.

mod event;
mod events;
mod search;
pub(in crate::desk) mod week;

use axum::Router;
use axum::routing::{get, post};

use super::{calendar, history, reminders};
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/", get(week::week))
        .route("/search", get(search::search))
        .route("/events", get(events::list))
        .route("/events/{id}", get(event::show))
        .route("/events/{id}/removal", post(event::removal::remove))
        .merge(calendar::pages::routes())
        .merge(history::pages::routes())
        .merge(reminders::pages::routes())
}
