//! The pages of this room: what is lent in some days, one event's loans and their return, what lost pieces are charged at.

mod charges;
mod event;
mod overview;

use std::collections::HashMap;
use std::sync::Arc;

use axum::Router;
use axum::routing::{get, post};
use sqlx::SqliteConnection;

use super::bookings::{Bookings, Span};
use super::store::{self, LoansError};
use crate::events::Event;
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::price_list::Material;
use crate::web::answer::Trouble;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/loans", get(overview::show))
        .route("/loans/charges", get(charges::show).post(charges::save))
        .route("/events/{id}/loans", get(event::show))
        .route("/events/{id}/loans/period", post(event::save_period))
        .route("/events/{id}/loans/count", post(event::save_count))
        .route("/events/{id}/loans/charges.csv", get(event::charges_csv))
}

/// What is lent in some days, or that the recipes make no sense.
pub(crate) async fn of_span(
    connection: &mut SqliteConnection,
    span: Span,
    formats: &Formats,
) -> Result<Arc<Bookings>, Trouble> {
    match store::booked(connection, span, formats).await {
        Err(LoansError::Recipes(error)) => Err(Trouble::Conflict(error.to_string())),
        Err(LoansError::Book(error)) => Err(error.into()),
        Ok(bookings) => Ok(bookings),
    }
}

/// What an event is lent, and whatever else is lent on its days.
pub(crate) async fn of_event(
    connection: &mut SqliteConnection,
    event: &Event,
    formats: &Formats,
) -> Result<Arc<Bookings>, Trouble> {
    let period = store::period(connection, event.id).await?;
    let span = Span { from: period.leaves(event.day), to: period.returns(event.day) };
    of_span(connection, span, formats).await
}

/// What is short for an event on its days, whether or not others hold it too; nothing of one that was called off.
pub async fn shortfalls_of(
    connection: &mut SqliteConnection,
    event: &Event,
    formats: &Formats,
) -> Result<Vec<String>, Trouble> {
    if !event.is_open() {
        return Ok(Vec::new());
    }
    Ok(of_event(connection, event, formats).await?.shortfalls_of(event.id, formats))
}

/// What is still lent to an event, in words: that nothing is counted back yet, or how many are out; none where
/// all is settled, or nothing was counted before it was closed.
pub async fn still_lent(
    connection: &mut SqliteConnection,
    event: &Event,
    formats: &Formats,
) -> Result<Option<String>, Trouble> {
    let bookings = of_event(connection, event, formats).await?;
    let Some(own) = bookings.of(event.id).filter(|own| !own.taken.is_empty()) else { return Ok(None) };
    let Some(count) = &own.borrower.count else {
        let asked = event.ended.is_none();
        return Ok(asked.then(|| "what was lent is not counted back yet".into()));
    };
    let out: i64 = count.lines.iter().map(super::CountedLine::still_out).sum();
    Ok((out > 0).then(|| format!("{out} of what was lent")))
}

/// What is short for an event only because others hold it on the same days: its pull list says the rest. Without what
/// buying costs: a pull list is the bench's, and no money stands on it.
pub(in super::super) async fn shared_shortfalls_of(
    connection: &mut SqliteConnection,
    event: &Event,
    formats: &Formats,
) -> Result<Vec<String>, Trouble> {
    if !event.is_open() {
        return Ok(Vec::new());
    }
    let bookings = Arc::unwrap_or_clone(of_event(connection, event, formats).await?).without_costs();
    Ok(bookings.shared_shortfalls(event.id, formats))
}

/// Identities of materials, by name.
fn by_name(materials: &HashMap<MaterialId, Material>) -> Vec<MaterialId> {
    let mut order: Vec<&Material> = materials.values().collect();
    order.sort_by_cached_key(|material| (material.name.to_lowercase(), material.id));
    order.into_iter().map(|material| material.id).collect()
}
