//! The pages of this room: coming events, one event's pull list, the kit.

mod coming;
mod kit;
mod list;

use axum::Router;
use axum::routing::{get, post};

use super::{loading, loans, run_sheet};
use crate::web::state::App;
pub use list::pulled;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/pull-lists", get(coming::show))
        .route("/events/{id}/pull-list", get(list::show))
        .route("/events/{id}/pull-list/extras", post(list::add_extra))
        .route("/events/{id}/pull-list/extras/{extra}/removal", post(list::remove_extra))
        .route("/events/{id}/pull-list/extras/{extra}/restoration", post(list::restore_extra))
        .route("/kit", get(kit::show).post(kit::save))
        .route("/kit/usual", post(kit::begin))
        .route("/kit/removals/{moment}/restoration", post(kit::restore))
        .merge(loans::pages::routes())
        .merge(loading::pages::routes())
        .merge(run_sheet::pages::routes())
}
