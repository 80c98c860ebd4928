//! All SQL of the sets of alternatives and of how much pieces matter.

use serde::Serialize;
use sqlx::SqliteConnection;

use super::forms::NewAlternative;
use super::{Alternative, Wish};
use crate::ground::ids::{EventId, PieceId, RecipeId};

/// Every set, by name; its recipes in the order in which they were typed. Removed recipes are no alternatives.
pub async fn alternatives(connection: &mut SqliteConnection) -> Result<Vec<Alternative>, sqlx::Error> {
    sqlx::query_as!(
        Alternative,
        r#"SELECT recipe_id AS "recipe: RecipeId", name, set_name AS "set", worth
        FROM recipe_alternative JOIN recipe ON recipe.id = recipe_id
        WHERE removed_at IS NULL ORDER BY set_name, position, recipe_id"#
    )
    .fetch_all(connection)
    .await
}

/// A recipe of a set as SQLite reads it from JSON.
#[derive(Serialize)]
struct AlternativeRow<'a> {
    recipe: RecipeId,
    set: &'a str,
    worth: i64,
}

/// Keeps the sets as typed. Recipes that are removed now keep their place in their set, in case they come back.
pub async fn keep_alternatives(
    connection: &mut SqliteConnection,
    sets: &[NewAlternative],
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "DELETE FROM recipe_alternative WHERE recipe_id IN (SELECT id FROM recipe WHERE removed_at IS NULL)"
    )
    .execute(&mut *connection)
    .await?;
    let rows: Vec<AlternativeRow> = sets
        .iter()
        .map(|new| AlternativeRow { recipe: new.recipe, set: &new.set, worth: new.worth })
        .collect();
    let rows = serde_json::to_string(&rows).map_err(|error| sqlx::Error::Encode(error.into()))?;
    sqlx::query!(
        "INSERT INTO recipe_alternative (recipe_id, set_name, worth, position)
        SELECT value ->> 'recipe', value ->> 'set', value ->> 'worth', key FROM json_each(?)",
        rows
    )
    .execute(connection)
    .await
    .map(drop)
}

/// How much an event's pieces matter, where something was said.
pub async fn wishes(connection: &mut SqliteConnection, event: EventId) -> Result<Vec<Wish>, sqlx::Error> {
    sqlx::query_as!(
        Wish,
        r#"SELECT piece_id AS "piece: PieceId", importance, may_leave_out AS "may_leave_out: bool"
        FROM piece_wish JOIN piece ON piece.id = piece_id WHERE event_id = ?"#,
        event
    )
    .fetch_all(connection)
    .await
}

/// Keeps how much an event's pieces matter; pieces of other events are not touched.
pub async fn keep_wishes(
    connection: &mut SqliteConnection,
    event: EventId,
    wishes: &[Wish],
) -> Result<(), sqlx::Error> {
    for wish in wishes {
        sqlx::query!(
            "INSERT INTO piece_wish (piece_id, importance, may_leave_out)
            SELECT id, ?, ? FROM piece WHERE id = ? AND event_id = ?
            ON CONFLICT (piece_id) DO UPDATE SET importance = excluded.importance, may_leave_out = excluded.may_leave_out",
            wish.importance,
            wish.may_leave_out,
            wish.piece,
            event
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(())
}
