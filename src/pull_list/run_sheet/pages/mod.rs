//! The pages of this room: the run sheet of a day or an event, a hand-over, the strike list and what came back.

mod hand_over;
mod run;
mod strike;
mod timeline;
mod words;

use std::sync::atomic::{AtomicU64, Ordering};

use axum::Router;
use axum::routing::{get, post};

use crate::studio::visit::Visit;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/run/{day}", get(run::of_day))
        .route("/run/{day}/drives", post(run::save_drives))
        .route("/events/{id}/run", get(run::of_event))
        .route("/events/{id}/hand-over", get(hand_over::show).post(hand_over::save))
        .route("/events/{id}/strike", get(strike::show))
        .route("/events/{id}/strike/returns", post(strike::save))
}

/// A key of one form: its moment, and a number for forms of the same moment.
fn once_key(visit: &Visit) -> String {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    format!("{}/{}/{}", visit.now, std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed))
}
