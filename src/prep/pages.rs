//! The pages of this room: the days before a weekend's events, the sheet of each day, how stems stand in pails.

pub(super) mod asked;
mod days;
mod pails;
mod sheets;

use axum::Router;
use axum::routing::get;

use super::{bench_plan, event_work, freshness};
use crate::stem_order::store::LoadError;
use crate::stem_order::store::planning::OrderError;
use crate::web::answer::Trouble;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .merge(event_work::pages::routes())
        .merge(freshness::pages::routes())
        .merge(bench_plan::pages::routes())
        .route("/prep", get(days::overview))
        .route("/prep/pails", get(pails::show).post(pails::save))
        .route("/prep/sheets", get(sheets::all_days))
        .route("/prep/{day}", get(sheets::one_day))
        .route("/prep/{day}/cards", get(sheets::cards))
}

/// What a page says where the arrivals cannot be told.
pub(crate) fn order_trouble(error: OrderError) -> Trouble {
    match error {
        OrderError::Load(LoadError::Weekend(cause)) => Trouble::Conflict(cause.to_string()),
        other => other.into(),
    }
}
