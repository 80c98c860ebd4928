//! The loading of a weekend and of an order.

mod market;
pub mod planning;
pub mod remembered;

use std::collections::BTreeMap;

use sqlx::SqliteConnection;
use thiserror::Error;

use super::losses;
use super::spares::SpareRules;
use super::stock;
use super::weekend::{Weekend, WeekendError, weekend};
use crate::events;
use crate::ground::ids::{EventId, MaterialId};
use crate::recipes;
use crate::studio::Studio;

/// Why a weekend cannot be loaded.
#[derive(Debug, Error)]
pub enum LoadError {
    /// The book cannot be read.
    #[error("the book cannot be read")]
    Book(#[from] sqlx::Error),
    /// The recipes do not make sense; the sentence may stand on a page.
    #[error(transparent)]
    Weekend(#[from] WeekendError),
}

/// The events with these identities and everything they need, in eight reads however many there are.
/// Events that are removed, lost or cancelled are left out.
pub async fn load_weekend(
    connection: &mut SqliteConnection,
    studio: &Studio,
    ids: &[EventId],
) -> Result<Weekend, LoadError> {
    load_with_counted(connection, studio, ids, BTreeMap::new()).await
}

/// The same, where so many stems of each material were counted in good: these want no spares any more.
pub async fn load_with_counted(
    connection: &mut SqliteConnection,
    studio: &Studio,
    ids: &[EventId],
    counted_good: BTreeMap<MaterialId, i64>,
) -> Result<Weekend, LoadError> {
    let mut events = events::store::events(connection, ids).await?;
    events.retain(events::Event::is_open);
    let ids: Vec<EventId> = events.iter().map(|event| event.id).collect();
    let pieces = events::store::pieces(connection, &ids).await?;
    let mut roots: Vec<_> = pieces.iter().map(|piece| piece.recipe_id).collect();
    roots.sort_unstable();
    roots.dedup();
    let book = recipes::store::recipe_book(connection, &roots).await?;
    let materials: Vec<MaterialId> = book.materials.keys().copied().collect();
    let on_hand = stock::store::on_hand(connection, &materials, &ids).await?;
    let mut by_event: BTreeMap<EventId, Vec<events::Piece>> = BTreeMap::new();
    for piece in pieces {
        by_event.entry(piece.event_id).or_default().push(piece);
    }
    let booked = events
        .into_iter()
        .map(|event| {
            let pieces = by_event.remove(&event.id).unwrap_or_default();
            (event, pieces)
        })
        .collect();
    let learned = losses::store::learned(connection, &materials).await?;
    let rules = SpareRules { learned, counted_good, ..SpareRules::from(studio) };
    Ok(weekend(booked, book, &rules, &on_hand)?)
}
