//! The pages of this room: the days before a weekend's events, the sheet of each day, how stems stand in pails.

mod asked;
mod days;
mod pails;

use axum::Router;
use axum::routing::get;

use super::event_work;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .merge(event_work::pages::routes())
        .route("/prep", get(days::overview))
        .route("/prep/pails", get(pails::show).post(pails::save))
        .route("/prep/sheets", get(days::all_sheets))
        .route("/prep/{day}", get(days::one_sheet))
        .merge(super::ticks::pages::routes())
}
