//! The list of losses and a material's own page, with what the studio may do about its rate.

mod actions;
mod list;
mod material_page;
mod rate;

use axum::Router;
use axum::routing::{get, post};

use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/losses", get(list::show))
        .route("/losses/{material}", get(material_page::show).post(material_page::save))
        .route("/losses/{material}/reset", post(actions::reset))
        .route("/losses/{material}/release", post(actions::release))
        .route("/losses/{material}/restoration", post(actions::restore))
        .route("/losses/{material}/price-list", post(actions::write_to_price_list))
        .route("/losses/{material}/price-list/restoration", post(actions::restore_price_list))
}
