//! The studio's signs. None is ever changed: a new sign is a new row, so that what was sent keeps its own.

use sqlx::SqliteConnection;

use super::picture::Sign;
use crate::ground::ids::LogoId;

/// Stores a sign.
pub async fn add(connection: &mut SqliteConnection, sign: &Sign) -> Result<LogoId, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO logo (width, height, image) VALUES (?, ?, ?)",
        sign.width,
        sign.height,
        sign.image
    )
    .execute(connection)
    .await?;
    Ok(LogoId(added.last_insert_rowid()))
}

/// A stored sign as a PNG.
pub async fn logo(connection: &mut SqliteConnection, id: LogoId) -> Result<Option<Vec<u8>>, sqlx::Error> {
    sqlx::query_scalar!("SELECT image FROM logo WHERE id = ?", id).fetch_optional(connection).await
}
