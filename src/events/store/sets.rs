//! Named sets of pieces in the book, and what an event may begin with.

use std::collections::BTreeMap;

use serde::Serialize;
use sqlx::SqliteConnection;

use crate::events::sets::{Beginning, PieceSet, joined};
use crate::events::store::{keep_pieces, pieces};
use crate::events::{CountRule, NewPiece, Piece};
use crate::ground::choice::Choice;
use crate::ground::dates::Moment;
use crate::ground::ids::{EventId, PieceId, PieceSetId, RecipeId};
use crate::ground::quantity::Quantity;
use crate::web::answer::Suggestion;

/// Every set by name, with what is in it.
pub async fn sets(connection: &mut SqliteConnection) -> Result<Vec<PieceSet>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT piece_set.id AS "id: PieceSetId", piece_set.name AS "name", place, recipe.name AS recipe,
            count_rule AS "rule: CountRule", count AS "count: Quantity"
        FROM piece_set JOIN piece_set_line ON set_id = piece_set.id JOIN recipe ON recipe.id = recipe_id
        WHERE piece_set.removed_at IS NULL ORDER BY piece_set.name, piece_set.id, position"#
    )
    .fetch_all(connection)
    .await?;
    let mut sets: BTreeMap<(String, PieceSetId), PieceSet> = BTreeMap::new();
    for row in rows {
        let key = (row.name.to_lowercase(), row.id);
        let set = sets.entry(key).or_insert(PieceSet { id: row.id, name: row.name, lines: Vec::new() });
        let count = row.count.decimal().normalize();
        set.lines.push(format!("{}, {count} {}, {}", row.recipe, row.rule.label(), row.place));
    }
    Ok(sets.into_values().collect())
}

/// A line as SQLite reads it from JSON.
#[derive(Serialize)]
struct LineRow<'a> {
    place: &'a str,
    recipe: RecipeId,
    rule: &'static str,
    count: Quantity,
    note: &'a str,
}

/// Keeps pieces as a set; none where a set of that name is there already.
pub async fn add_set(
    connection: &mut SqliteConnection,
    name: &str,
    pieces: &[Piece],
) -> Result<Option<PieceSetId>, sqlx::Error> {
    let taken = sqlx::query_scalar!("SELECT id FROM piece_set WHERE name = ? AND removed_at IS NULL", name)
        .fetch_optional(&mut *connection)
        .await?;
    if taken.is_some() {
        return Ok(None);
    }
    let added =
        sqlx::query!("INSERT INTO piece_set (name) VALUES (?)", name).execute(&mut *connection).await?;
    let id = PieceSetId(added.last_insert_rowid());
    let rows: Vec<LineRow> = pieces
        .iter()
        .map(|piece| LineRow {
            place: &piece.place,
            recipe: piece.recipe_id,
            rule: piece.rule.code(),
            count: piece.count,
            note: &piece.note,
        })
        .collect();
    let rows = serde_json::to_string(&rows).map_err(|error| sqlx::Error::Encode(error.into()))?;
    sqlx::query!(
        "INSERT INTO piece_set_line (set_id, position, place, recipe_id, count_rule, count, note)
        SELECT ?, key, value ->> 'place', value ->> 'recipe', value ->> 'rule', value ->> 'count', value ->> 'note'
        FROM json_each(?)",
        id,
        rows
    )
    .execute(connection)
    .await?;
    Ok(Some(id))
}

/// Removes a set, or brings it back; its name, or none where there is no such set or another has its name by now.
pub async fn set_set_removed(
    connection: &mut SqliteConnection,
    id: PieceSetId,
    removed_at: Option<Moment>,
) -> Result<Option<String>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"UPDATE piece_set SET removed_at = ?1 WHERE id = ?2 AND (?1 IS NOT NULL OR NOT EXISTS
            (SELECT 1 FROM piece_set other WHERE other.name = piece_set.name AND other.removed_at IS NULL))
        RETURNING name"#,
        removed_at,
        id
    )
    .fetch_optional(connection)
    .await
}

/// What an event may begin with, as one types: sets, then events with pieces, the latest first.
pub async fn offer_beginnings(
    connection: &mut SqliteConnection,
    typed: &str,
) -> Result<Vec<Suggestion>, sqlx::Error> {
    sqlx::query_as!(
        Suggestion,
        r#"SELECT name AS "name!: String", note AS "note!: String" FROM (
            SELECT name, 'A set of pieces' AS note, 0 AS rank, '' AS day FROM piece_set WHERE removed_at IS NULL
            UNION ALL SELECT name || ' (' || day || ')', 'The pieces of an event', 1, day FROM event
            WHERE removed_at IS NULL AND id IN (SELECT event_id FROM piece)
        ) WHERE instr(lower(name), lower(?)) > 0 ORDER BY rank, day DESC, name LIMIT 20"#,
        typed
    )
    .fetch_all(connection)
    .await
}

/// What a typed name means: a set, or an event as it is offered.
pub async fn beginning(
    connection: &mut SqliteConnection,
    typed: &str,
) -> Result<Option<Beginning>, sqlx::Error> {
    let set = sqlx::query_scalar!(
        r#"SELECT id AS "id: PieceSetId" FROM piece_set WHERE name = ? AND removed_at IS NULL"#,
        typed
    )
    .fetch_optional(&mut *connection)
    .await?;
    if let Some(set) = set {
        return Ok(Some(Beginning::Set(set)));
    }
    let event = sqlx::query_scalar!(
        r#"SELECT id AS "id: EventId" FROM event WHERE removed_at IS NULL
            AND lower(?1) IN (lower(name || ' (' || day || ')'), lower(name)) ORDER BY day DESC, id DESC LIMIT 1"#,
        typed
    )
    .fetch_optional(connection)
    .await?;
    Ok(event.map(Beginning::Event))
}

/// Adds to an event's pieces those it begins with; how many. Recipes that were removed are not begun with.
pub async fn begin_with(
    connection: &mut SqliteConnection,
    event: EventId,
    beginning: Beginning,
) -> Result<usize, sqlx::Error> {
    let more = match beginning {
        Beginning::Set(set) => lines(connection, set).await?,
        Beginning::Event(from) => {
            let live = live_pieces(connection, from).await?;
            let of = pieces(connection, &[from]).await?;
            of.iter().filter(|piece| live.contains(&piece.id)).map(Piece::again).collect()
        }
    };
    let (own, count) = (pieces(connection, &[event]).await?, more.len());
    keep_pieces(connection, event, &joined(&own, more)).await?;
    Ok(count)
}

async fn lines(connection: &mut SqliteConnection, set: PieceSetId) -> Result<Vec<NewPiece>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT place, recipe_id AS "recipe_id: RecipeId", count_rule AS "rule: CountRule",
            count AS "count: Quantity", piece_set_line.note AS "note"
        FROM piece_set_line JOIN recipe ON recipe.id = recipe_id
        WHERE set_id = ? AND removed_at IS NULL ORDER BY position"#,
        set
    )
    .fetch_all(connection)
    .await?;
    let piece = rows.into_iter().map(|row| NewPiece {
        row: 0,
        id: None,
        place: row.place,
        recipe_id: row.recipe_id,
        rule: row.rule,
        count: row.count,
        note: row.note,
    });
    Ok(piece.collect())
}

async fn live_pieces(connection: &mut SqliteConnection, event: EventId) -> Result<Vec<PieceId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT piece.id AS "id: PieceId" FROM piece JOIN recipe ON recipe.id = recipe_id
        WHERE event_id = ? AND removed_at IS NULL"#,
        event
    )
    .fetch_all(connection)
    .await
}
