//! The pages of this room.

use axum::Router;

use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
}
