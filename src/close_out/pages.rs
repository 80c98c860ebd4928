//! The pages of the close-out and of the season.

mod changing;
mod ink;
mod season;
mod sheet;
mod weekend;

use axum::Router;
use axum::routing::{get, post};
use sqlx::SqliteConnection;

use super::figures::Figures;
use super::store;
use crate::events;
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::EventId;
use crate::studio::Studio;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/events/{id}/close-out", get(sheet::show).post(changing::save))
        .route("/events/{id}/close-out/saves/{version}", post(changing::restore))
        .route("/events/{id}/close-out/closing", post(changing::close))
        .route("/events/{id}/close-out/reopening", post(changing::reopen))
        .route("/close-out", get(weekend::show))
        .route("/season", get(season::show))
}

/// Closes an event on a day with its figures as they are then, as the page does. The event's own ending is set by its stage.
pub async fn close_as_of(
    connection: &mut SqliteConnection,
    studio: &Studio,
    event: EventId,
    (today, now): (Day, Moment),
) -> Result<Option<Figures>, sqlx::Error> {
    let Some(event) = events::store::event(connection, event).await? else { return Ok(None) };
    let figures = store::gather(connection, studio, &event).await?.figures;
    let last = store::closing(connection, event.id).await?.map_or(0, |closing| closing.id);
    let key = sheet::once_key(event.id, last, &figures);
    store::add_closing(connection, event.id, Some(&figures), &key, (today, now)).await?;
    events::store::set_ended(connection, event.id, Some((today, events::Ending::Closed))).await?;
    Ok(Some(figures))
}
