//! The pages of a quote: its grid, the document before it is sent, what was sent, change notes, what they answered.

mod accepting;
mod answered;
mod change_note;
mod declining;
mod draft;
mod figures;
pub(in crate::quotes) mod grid;
mod ink;
mod open_quotes;
pub(in crate::quotes) mod opening;
mod paper;
pub(in crate::quotes) mod sending;
mod sheet;
mod versions;
mod what_if;

use axum::Router;
use axum::routing::{get, post};

use super::budget;
use crate::web::state::App;

pub use change_note::note_file;
pub use draft::draft_file;
pub(crate) use ink::Ink;
pub(crate) use open_quotes::{losing_words, open_quotes};
pub(crate) use opening::unsent_change;
pub use paper::file_of;
pub use sending::send;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .merge(budget::pages::routes())
        .route("/events/{id}/quote", get(grid::show).post(grid::save))
        .route("/events/{id}/quote/preview", post(grid::preview))
        .route("/events/{id}/quote/pricing", post(grid::price_today))
        .route("/events/{id}/quote/pricing/{day}", post(grid::price_on))
        .route("/events/{id}/quote/document", get(sending::show))
        .route("/events/{id}/quote/versions", post(sending::freeze))
        .route("/events/{id}/quote/draft.pdf", get(draft::as_pdf))
        .route("/events/{id}/quote/draft.html", get(draft::as_html))
        .route("/events/{id}/quote/what-if", get(what_if::show).post(what_if::take))
        .route("/events/{id}/quote/what-if/look", post(what_if::look))
        .route("/events/{id}/quote/what-if/preview", post(what_if::preview))
        .route("/open-quotes", get(open_quotes::show))
        .route("/quote-versions/{id}", get(versions::show))
        .route("/quote-versions/{id}/change-note", get(change_note::show))
        .route("/quote-versions/{id}/change-note/document.pdf", get(change_note::as_pdf))
        .route("/quote-versions/{id}/change-note/document.html", get(change_note::as_html))
        .route("/quote-versions/{id}/decline", get(declining::ask).post(declining::record))
        .route("/quote-versions/{id}/document.pdf", get(paper::as_pdf))
        .route("/quote-versions/{id}/document.html", get(paper::as_html))
        .route("/quote-versions/{id}/acceptance", get(accepting::ask).post(accepting::record))
}
