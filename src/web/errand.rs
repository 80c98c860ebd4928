//! Each request is an errand: what it changes is written into the book's history with its moment and its route.

use axum::extract::{MatchedPath, Request, State};
use axum::middleware::Next;
use axum::response::Response;

use super::state::App;
use crate::db::history::{Errand, on_errand};

/// Middleware: says what the request is for while it is answered.
pub async fn of_request(State(app): State<App>, request: Request, next: Next) -> Response {
    let route = request
        .extensions()
        .get::<MatchedPath>()
        .map_or_else(|| request.uri().path().to_owned(), |matched| matched.as_str().to_owned());
    let way = format!("{} {route}", request.method());
    on_errand(Errand::new(app.clock.now(), way), next.run(request)).await
}
