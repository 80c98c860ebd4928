//! An event's form, its pieces, its ending. The list and the event's own page stand at the desk, which knows what
//! later rooms know of it.

mod endings;
mod form;
mod pieces;
mod sets;

use axum::Router;
use axum::routing::{get, post};
use sqlx::SqliteConnection;

use super::counts::Party;
use super::hours::Hours;
use super::notices::{Notices, notices};
use super::{Event, store};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::EventId;
use crate::web::answer::Trouble;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/events/new", get(form::blank))
        .route("/events/preview", post(form::preview))
        .route("/events/{id}", post(form::save))
        .route("/events/{id}/edit", get(form::show))
        .route("/events/{id}/copies", get(form::blank_copy).post(form::add_copy))
        .route("/events/{id}/pieces", get(pieces::show).post(pieces::save))
        .route("/events/{id}/pieces/preview", post(pieces::preview))
        .route("/events/{id}/beginning", post(sets::begin))
        .route("/events/{id}/set", post(sets::keep))
        .route("/piece-sets", get(sets::list))
        .route("/piece-sets/names", get(sets::names))
        .route("/piece-sets/{id}/removal", post(sets::remove))
        .route("/piece-sets/{id}/restoration", post(sets::restore))
        .route("/events/{id}/ending", post(endings::end))
        .route("/events/{id}/reopening", post(endings::reopen))
        .route("/events/{id}/restoration", post(endings::restore))
        .route("/events", post(form::add))
}

/// What is to be said of an event as kept.
pub async fn notices_of(
    connection: &mut SqliteConnection,
    event: &Event,
    formats: &Formats,
) -> Result<Notices, sqlx::Error> {
    let facts = (Some(event.day), &event.hours(), &event.party());
    notices_for(connection, Some(event.id), facts, formats).await
}

async fn notices_for(
    connection: &mut SqliteConnection,
    own: Option<EventId>,
    facts: (Option<Day>, &Hours, &Party),
    formats: &Formats,
) -> Result<Notices, sqlx::Error> {
    let others = match facts.0 {
        // A night may run into the next morning.
        Some(day) => store::open_between(connection, day.plus(-1), day.plus(1)).await?,
        None => Vec::new(),
    };
    Ok(notices(own, facts, &others, formats))
}

/// The event, or a page that says there is none.
pub async fn event_or_trouble(connection: &mut SqliteConnection, id: EventId) -> Result<Event, Trouble> {
    store::event(connection, id).await?.ok_or(Trouble::NotFound("event"))
}
