//! Writing an event's pieces at their places.

use std::collections::HashSet;

use sqlx::SqliteConnection;

use crate::events::NewPiece;
use crate::events::recipe_names::RecipeNames;
use crate::ground::ids::{EventId, PieceId, PlaceId, RecipeId, json_list};

/// Every recipe that may be named in the event's grid: live ones, and removed ones that it still uses.
pub async fn recipe_names(
    connection: &mut SqliteConnection,
    event: EventId,
) -> Result<RecipeNames, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT id AS "id: RecipeId", name FROM recipe
        WHERE removed_at IS NULL OR id IN (SELECT recipe_id FROM piece WHERE event_id = ?)
        ORDER BY removed_at IS NOT NULL, name"#,
        event
    )
    .fetch_all(connection)
    .await?;
    Ok(RecipeNames(rows.into_iter().map(|row| (row.id, row.name)).collect()))
}

/// Keeps an event's pieces as typed and gives their identities in the same order. A piece that names one of the
/// event's own keeps its identity; others are new. Pieces left out are removed, and places without pieces with them.
pub async fn keep_pieces(
    connection: &mut SqliteConnection,
    event: EventId,
    pieces: &[NewPiece],
) -> Result<Vec<PieceId>, sqlx::Error> {
    let mut kept: Vec<PieceId> = Vec::with_capacity(pieces.len());
    let mut once: HashSet<PieceId> = HashSet::new();
    for (position, piece) in (0_i64..).zip(pieces) {
        let place = keep_place(connection, event, &piece.place).await?;
        let known = piece.id.filter(|id| once.insert(*id));
        let changed = match known {
            Some(id) => change(connection, event, id, place, position, piece).await?,
            None => None,
        };
        kept.push(match changed {
            Some(id) => id,
            None => add(connection, event, place, position, piece).await?,
        });
    }
    remove_others(connection, event, &kept).await?;
    order_places(connection, event).await?;
    Ok(kept)
}

async fn keep_place(
    connection: &mut SqliteConnection,
    event: EventId,
    name: &str,
) -> Result<PlaceId, sqlx::Error> {
    sqlx::query_scalar!(
        r#"INSERT INTO place (event_id, name, position) VALUES (?, ?, 0)
        ON CONFLICT (event_id, name) DO UPDATE SET name = excluded.name RETURNING id AS "id: PlaceId""#,
        event,
        name
    )
    .fetch_one(connection)
    .await
}

async fn change(
    connection: &mut SqliteConnection,
    event: EventId,
    id: PieceId,
    place: PlaceId,
    position: i64,
    piece: &NewPiece,
) -> Result<Option<PieceId>, sqlx::Error> {
    let done = sqlx::query!(
        "UPDATE piece SET place_id = ?, recipe_id = ?, position = ?, count_rule = ?, count = ?, note = ?
        WHERE id = ? AND event_id = ?",
        place,
        piece.recipe_id,
        position,
        piece.rule,
        piece.count,
        piece.note,
        id,
        event
    )
    .execute(connection)
    .await?;
    Ok((done.rows_affected() == 1).then_some(id))
}

async fn add(
    connection: &mut SqliteConnection,
    event: EventId,
    place: PlaceId,
    position: i64,
    piece: &NewPiece,
) -> Result<PieceId, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count, note)
        VALUES (?, ?, ?, ?, ?, ?, ?)",
        event,
        place,
        piece.recipe_id,
        position,
        piece.rule,
        piece.count,
        piece.note
    )
    .execute(connection)
    .await?;
    Ok(PieceId(added.last_insert_rowid()))
}

async fn remove_others(
    connection: &mut SqliteConnection,
    event: EventId,
    kept: &[PieceId],
) -> Result<(), sqlx::Error> {
    let kept = json_list(kept);
    sqlx::query!(
        "DELETE FROM piece WHERE event_id = ? AND id NOT IN (SELECT value FROM json_each(?))",
        event,
        kept
    )
    .execute(&mut *connection)
    .await?;
    sqlx::query!(
        "DELETE FROM place WHERE event_id = ? AND id NOT IN (SELECT place_id FROM piece WHERE event_id = ?)",
        event,
        event
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Places stand in the order in which they were first named.
async fn order_places(connection: &mut SqliteConnection, event: EventId) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "UPDATE place SET position = (SELECT min(position) FROM piece WHERE place_id = place.id) WHERE event_id = ?",
        event
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Copies one event's places and pieces to another that has none.
pub async fn copy_pieces(
    connection: &mut SqliteConnection,
    from: EventId,
    to: EventId,
) -> Result<u64, sqlx::Error> {
    sqlx::query!(
        "INSERT INTO place (event_id, name, position) SELECT ?, name, position FROM place WHERE event_id = ?",
        to,
        from
    )
    .execute(&mut *connection)
    .await?;
    let copied = sqlx::query!(
        "INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count, note)
        SELECT ?, there.id, recipe_id, piece.position, count_rule, count, piece.note
        FROM piece JOIN place here ON here.id = place_id JOIN place there ON there.event_id = ? AND there.name = here.name
        WHERE piece.event_id = ?",
        to,
        to,
        from
    )
    .execute(connection)
    .await?;
    Ok(copied.rows_affected())
}
