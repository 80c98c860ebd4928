//! What the desk reads across the rooms. It owns no table and writes nothing.

use sqlx::SqliteConnection;

use crate::ground::ids::{EventId, MaterialId, RecipeId, json_list};

/// How many of each kind a search shows.
pub const MOST_FOUND: i64 = 20;

/// What a studio has begun.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Begun {
    /// Its settings were saved once.
    pub settings: bool,
    /// It has a price.
    pub prices: bool,
    /// It has a recipe.
    pub recipes: bool,
    /// It has a client.
    pub clients: bool,
    /// Its first event.
    pub event: Option<EventId>,
    /// It has begun a quote.
    pub quote: bool,
}

/// What has been begun in this book.
pub async fn begun(connection: &mut SqliteConnection) -> Result<Begun, sqlx::Error> {
    let row = sqlx::query!(
        r#"SELECT EXISTS (SELECT 1 FROM studio) AS "settings: bool",
            EXISTS (SELECT 1 FROM offer_price) AS "prices: bool",
            EXISTS (SELECT 1 FROM recipe WHERE removed_at IS NULL) AS "recipes: bool",
            EXISTS (SELECT 1 FROM client WHERE removed_at IS NULL) AS "clients: bool",
            (SELECT id FROM event WHERE removed_at IS NULL ORDER BY id LIMIT 1) AS "event: EventId",
            EXISTS (SELECT 1 FROM quote) AS "quote: bool""#
    )
    .fetch_one(connection)
    .await?;
    Ok(Begun {
        settings: row.settings,
        prices: row.prices,
        recipes: row.recipes,
        clients: row.clients,
        event: row.event,
        quote: row.quote,
    })
}

/// The recipes in whose name or the client's words for them every word is found; those named so first.
pub async fn recipes(
    connection: &mut SqliteConnection,
    words: &str,
) -> Result<Vec<(RecipeId, String)>, sqlx::Error> {
    let words = json_list(&words.split_whitespace().collect::<Vec<_>>());
    let rows = sqlx::query!(
        r#"SELECT id AS "id: RecipeId", name FROM recipe
        WHERE removed_at IS NULL AND NOT EXISTS (SELECT 1 FROM json_each(?) word
            WHERE instr(lower(name || ' ' || client_words), lower(word.value)) = 0)
        ORDER BY EXISTS (SELECT 1 FROM json_each(?) word WHERE instr(lower(name), lower(word.value)) = 0), name
        LIMIT ?"#,
        words,
        words,
        MOST_FOUND
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.name)).collect())
}

/// The materials in whose name, colour or grade every word is found.
pub async fn materials(
    connection: &mut SqliteConnection,
    words: &str,
) -> Result<Vec<(MaterialId, String)>, sqlx::Error> {
    let words = json_list(&words.split_whitespace().collect::<Vec<_>>());
    let rows = sqlx::query!(
        r#"SELECT id AS "id: MaterialId", name FROM material
        WHERE removed_at IS NULL AND NOT EXISTS (SELECT 1 FROM json_each(?) word
            WHERE instr(lower(name || ' ' || colour || ' ' || grade), lower(word.value)) = 0)
        ORDER BY name LIMIT ?"#,
        words,
        MOST_FOUND
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.name)).collect())
}
