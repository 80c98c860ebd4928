//! Papers as answers: a PDF, an HTML file; the page with the studio's sign.

mod file;
mod sign;
mod upload;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

pub use file::{html, html_answer, pdf_answer};
pub use sign::logo;
pub use upload::{MOST_READ, uploaded};

use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/settings/logo", get(sign::show).post(sign::upload).layer(DefaultBodyLimit::max(MOST_READ)))
        .route("/settings/logo/removal", post(sign::remove))
        .route("/settings/logo/{id}", post(sign::set))
        .route("/logos/{id}", get(sign::serve))
}
