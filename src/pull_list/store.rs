//! All SQL for the kit and for an event's extras; reads all that a pull list is computed from.

use sqlx::SqliteConnection;

use super::pull::PullInputs;
use super::{KitItem, KitKind, NewKitItem, NewPullExtra, PullExtra};
use crate::events;
use crate::ground::dates::Moment;
use crate::ground::ids::{EventId, KitItemId, PullExtraId, RecipeId};
use crate::recipes;

/// Everything one event's pull list is computed from; none if there is no such event.
pub async fn load(
    connection: &mut SqliteConnection,
    event: EventId,
) -> Result<Option<PullInputs>, sqlx::Error> {
    let Some(event) = events::store::event(connection, event).await? else { return Ok(None) };
    let pieces = events::store::pieces(connection, &[event.id]).await?;
    let mut roots: Vec<RecipeId> = pieces.iter().map(|piece| piece.recipe_id).collect();
    roots.sort_unstable();
    roots.dedup();
    let book = recipes::store::recipe_book(connection, &roots).await?;
    let kit = kit(connection).await?;
    let extras = extras(connection, event.id).await?;
    Ok(Some(PullInputs { event, pieces, book, kit, extras }))
}

/// The kit, in the studio's order.
pub async fn kit(connection: &mut SqliteConnection) -> Result<Vec<KitItem>, sqlx::Error> {
    sqlx::query_as!(
        KitItem,
        r#"SELECT id AS "id: KitItemId", name, kind AS "kind: KitKind", quantity, per_pieces FROM kit_item
        WHERE removed_at IS NULL ORDER BY position, id"#
    )
    .fetch_all(connection)
    .await
}

/// A number that grows with every change of the kit, so that a stale save is noticed.
pub async fn kit_version(connection: &mut SqliteConnection) -> Result<i64, sqlx::Error> {
    sqlx::query_scalar!(r#"SELECT coalesce(sum(version), 0) AS "version!: i64" FROM kit_item"#)
        .fetch_one(connection)
        .await
}

/// Keeps the kit: known items are changed, new ones added, those left out are removed. Gives how many were removed.
pub async fn keep_kit(
    connection: &mut SqliteConnection,
    items: &[NewKitItem],
    now: Moment,
) -> Result<u64, sqlx::Error> {
    let had = sqlx::query!(
        "UPDATE kit_item SET removed_at = ?, version = version + 1 WHERE removed_at IS NULL",
        now
    )
    .execute(&mut *connection)
    .await?
    .rows_affected();
    let mut kept = 0;
    for (position, item) in (0_i64..).zip(items) {
        kept += u64::from(item.id.is_some());
        sqlx::query!(
            "INSERT INTO kit_item (id, name, kind, quantity, per_pieces, position) VALUES (?, ?, ?, ?, ?, ?)
            ON CONFLICT (id) DO UPDATE SET name = excluded.name, kind = excluded.kind, quantity = excluded.quantity,
                per_pieces = excluded.per_pieces, position = excluded.position, removed_at = NULL",
            item.id,
            item.name,
            item.kind,
            item.quantity,
            item.per_pieces,
            position
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(had.saturating_sub(kept))
}

/// Adds the items whose names the kit does not have yet. Gives how many were added.
pub async fn add_to_kit(connection: &mut SqliteConnection, items: &[NewKitItem]) -> Result<u64, sqlx::Error> {
    let mut added = 0;
    for item in items {
        added += sqlx::query!(
            "INSERT INTO kit_item (name, kind, quantity, per_pieces, position)
            SELECT ?, ?, ?, ?, coalesce((SELECT max(position) + 1 FROM kit_item), 0)
            WHERE NOT EXISTS (SELECT 1 FROM kit_item WHERE name = ? AND removed_at IS NULL)",
            item.name,
            item.kind,
            item.quantity,
            item.per_pieces,
            item.name
        )
        .execute(&mut *connection)
        .await?
        .rows_affected();
    }
    Ok(added)
}

/// Brings back what was removed from the kit at a moment, but for names that have been given anew since.
pub async fn restore_kit(connection: &mut SqliteConnection, removed_at: Moment) -> Result<u64, sqlx::Error> {
    let done = sqlx::query!(
        "UPDATE OR IGNORE kit_item SET removed_at = NULL, version = version + 1 WHERE removed_at = ?",
        removed_at
    )
    .execute(connection)
    .await?;
    Ok(done.rows_affected())
}

/// What one event needs beside its pieces and the kit.
pub async fn extras(
    connection: &mut SqliteConnection,
    event: EventId,
) -> Result<Vec<PullExtra>, sqlx::Error> {
    sqlx::query_as!(
        PullExtra,
        r#"SELECT id AS "id: PullExtraId", name, quantity, place, note FROM pull_extra
        WHERE event_id = ? AND removed_at IS NULL ORDER BY id"#,
        event
    )
    .fetch_all(connection)
    .await
}

/// Adds an extra to an event's pull list.
pub async fn add_extra(
    connection: &mut SqliteConnection,
    event: EventId,
    extra: &NewPullExtra,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO pull_extra (event_id, name, quantity, place, note) VALUES (?, ?, ?, ?, ?)",
        event,
        extra.name,
        extra.quantity,
        extra.place,
        extra.note
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Takes an extra off an event's pull list, or puts it back (`None`). Gives its name.
pub async fn set_extra_removed(
    connection: &mut SqliteConnection,
    event: EventId,
    extra: PullExtraId,
    at: Option<Moment>,
) -> Result<Option<String>, sqlx::Error> {
    sqlx::query_scalar!(
        "UPDATE pull_extra SET removed_at = ? WHERE id = ? AND event_id = ? RETURNING name",
        at,
        extra,
        event
    )
    .fetch_optional(connection)
    .await
}
