//! All SQL of the second place.

use sqlx::SqliteConnection;

use super::Place;

/// The second place; none where nothing was saved.
pub async fn place(connection: &mut SqliteConnection) -> Result<Place, sqlx::Error> {
    let row = sqlx::query!("SELECT version, folder FROM backup_place WHERE id = 1")
        .fetch_optional(connection)
        .await?;
    Ok(row.map_or_else(
        || Place { version: 0, folder: String::new() },
        |row| Place { version: row.version, folder: row.folder },
    ))
}

/// Keeps the second place and counts the save.
pub async fn keep(connection: &mut SqliteConnection, folder: &str) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO backup_place (id, version, folder) VALUES (1, 1, ?)
        ON CONFLICT (id) DO UPDATE SET version = version + 1, folder = excluded.folder",
        folder
    )
    .execute(connection)
    .await
    .map(drop)
}
