//! All SQL for stock on hand; the loading of a weekend and of an order.

mod market;
pub mod planning;

use std::collections::BTreeMap;

use sqlx::SqliteConnection;
use thiserror::Error;

use super::losses;
use super::spares::SpareRules;
use super::weekend::{OnHand, Weekend, WeekendError, weekend};
use crate::events;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId, json_list};
use crate::recipes;
use crate::studio::Studio;

/// Why a weekend cannot be loaded.
#[derive(Debug, Error)]
pub enum LoadError {
    /// The book cannot be read.
    #[error(transparent)]
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
    let mut events = events::store::events(connection, ids).await?;
    events.retain(events::Event::is_open);
    let ids: Vec<EventId> = events.iter().map(|event| event.id).collect();
    let pieces = events::store::pieces(connection, &ids).await?;
    let mut roots: Vec<_> = pieces.iter().map(|piece| piece.recipe_id).collect();
    roots.sort_unstable();
    roots.dedup();
    let book = recipes::store::recipe_book(connection, &roots).await?;
    let materials: Vec<MaterialId> = book.materials.keys().copied().collect();
    let on_hand = on_hand(connection, &materials).await?;
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
    let rules = SpareRules { learned, ..SpareRules::from(studio) };
    Ok(weekend(booked, book, &rules, &on_hand)?)
}

/// What lies on hand of these materials, as last counted.
pub async fn on_hand(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
) -> Result<BTreeMap<MaterialId, OnHand>, sqlx::Error> {
    let materials = json_list(materials);
    let rows = sqlx::query!(
        r#"SELECT material_id AS "material_id: MaterialId", on_hand, counted_on AS "counted_on: Day"
        FROM stock_count WHERE material_id IN (SELECT value FROM json_each(?))"#,
        materials
    )
    .fetch_all(connection)
    .await?;
    let counted = |count, counted_on| OnHand { count, counted_on };
    Ok(rows.into_iter().map(|row| (row.material_id, counted(row.on_hand, row.counted_on))).collect())
}

/// Keeps a count of some materials, all counted on the same day. A count of none forgets the material.
pub async fn keep_counts(
    connection: &mut SqliteConnection,
    counts: &[(MaterialId, i64)],
    on: Day,
) -> Result<(), sqlx::Error> {
    let counts = json_list(counts);
    sqlx::query!(
        r#"INSERT INTO stock_count (material_id, on_hand, counted_on)
        SELECT json_extract(value, '$[0]'), json_extract(value, '$[1]'), ? FROM json_each(?) WHERE true
        ON CONFLICT (material_id) DO UPDATE SET on_hand = excluded.on_hand, counted_on = excluded.counted_on"#,
        on,
        counts
    )
    .execute(&mut *connection)
    .await?;
    sqlx::query!("DELETE FROM stock_count WHERE on_hand = 0").execute(connection).await.map(drop)
}
