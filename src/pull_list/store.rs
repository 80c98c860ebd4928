//! All SQL for the kit and for an event's extras; reads all that a pull list is computed from.

use sqlx::SqliteConnection;

use super::pull::PullInputs;
use super::room::Measured;
use super::{KitItem, KitKind, PullExtra};
use crate::events;
use crate::ground::dates::Moment;
use crate::ground::ids::{EventId, KitItemId, PullExtraId, RecipeId};
use crate::ground::quantity::Quantity;
use crate::ground::weight::Weight;
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
    let rows = sqlx::query!(
        r#"SELECT id AS "id: KitItemId", name, kind AS "kind: KitKind", quantity, per_pieces,
            weight AS "weight?: Weight", bulk AS "litres?: Quantity"
        FROM kit_item LEFT JOIN kit_travel ON kit_item_id = id WHERE removed_at IS NULL ORDER BY position, id"#
    )
    .fetch_all(connection)
    .await?;
    let items = rows.into_iter().map(|row| KitItem {
        id: Some(row.id),
        name: row.name,
        kind: row.kind,
        quantity: row.quantity,
        per_pieces: row.per_pieces,
        measured: Measured { weight: row.weight, litres: row.litres },
    });
    Ok(items.collect())
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
    items: &[KitItem],
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
        let id = sqlx::query_scalar!(
            r#"INSERT INTO kit_item (id, name, kind, quantity, per_pieces, position) VALUES (?, ?, ?, ?, ?, ?)
            ON CONFLICT (id) DO UPDATE SET name = excluded.name, kind = excluded.kind, quantity = excluded.quantity,
                per_pieces = excluded.per_pieces, position = excluded.position, removed_at = NULL
            RETURNING id AS "id: KitItemId""#,
            item.id,
            item.name,
            item.kind,
            item.quantity,
            item.per_pieces,
            position
        )
        .fetch_one(&mut *connection)
        .await?;
        keep_kit_travel(connection, id, item.measured).await?;
    }
    Ok(had.saturating_sub(kept))
}

async fn keep_kit_travel(
    connection: &mut SqliteConnection,
    item: KitItemId,
    measured: Measured,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO kit_travel (kit_item_id, weight, bulk) VALUES (?, ?, ?)
        ON CONFLICT (kit_item_id) DO UPDATE SET weight = excluded.weight, bulk = excluded.bulk",
        item,
        measured.weight,
        measured.litres
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Adds the items whose names the kit does not have yet. Gives how many were added.
pub async fn add_to_kit(connection: &mut SqliteConnection, items: &[KitItem]) -> Result<u64, sqlx::Error> {
    let mut added = 0;
    for item in items {
        let id = sqlx::query_scalar!(
            r#"INSERT INTO kit_item (name, kind, quantity, per_pieces, position)
            SELECT ?, ?, ?, ?, coalesce((SELECT max(position) + 1 FROM kit_item), 0)
            WHERE NOT EXISTS (SELECT 1 FROM kit_item WHERE name = ? AND removed_at IS NULL)
            RETURNING id AS "id: KitItemId""#,
            item.name,
            item.kind,
            item.quantity,
            item.per_pieces,
            item.name
        )
        .fetch_optional(&mut *connection)
        .await?;
        if let Some(id) = id {
            added += 1;
            keep_kit_travel(connection, id, item.measured).await?;
        }
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
    let rows = sqlx::query!(
        r#"SELECT id AS "id: PullExtraId", name, quantity, place, note, weight AS "weight?: Weight",
            bulk AS "litres?: Quantity"
        FROM pull_extra LEFT JOIN extra_travel ON pull_extra_id = id
        WHERE event_id = ? AND removed_at IS NULL ORDER BY id"#,
        event
    )
    .fetch_all(connection)
    .await?;
    let extras = rows.into_iter().map(|row| PullExtra {
        id: Some(row.id),
        name: row.name,
        quantity: row.quantity,
        place: row.place,
        note: row.note,
        measured: Measured { weight: row.weight, litres: row.litres },
    });
    Ok(extras.collect())
}

/// Adds an extra to an event's pull list.
pub async fn add_extra(
    connection: &mut SqliteConnection,
    event: EventId,
    extra: &PullExtra,
) -> Result<(), sqlx::Error> {
    let id = sqlx::query!(
        "INSERT INTO pull_extra (event_id, name, quantity, place, note) VALUES (?, ?, ?, ?, ?)",
        event,
        extra.name,
        extra.quantity,
        extra.place,
        extra.note
    )
    .execute(&mut *connection)
    .await?
    .last_insert_rowid();
    sqlx::query!(
        "INSERT INTO extra_travel (pull_extra_id, weight, bulk) VALUES (?, ?, ?)",
        id,
        extra.measured.weight,
        extra.measured.litres
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
