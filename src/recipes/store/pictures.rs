//! Stored pictures. None is ever changed: a new picture is a new row, so that browsers may keep what they loaded.

use sqlx::SqliteConnection;

use crate::ground::ids::{PictureId, json_list};
use crate::papers::picture::Picture;

/// Stores a picture.
pub async fn add(connection: &mut SqliteConnection, picture: &Picture) -> Result<PictureId, sqlx::Error> {
    let added = sqlx::query!(
        r#"INSERT INTO picture (width, height, "full", small) VALUES (?, ?, ?, ?)"#,
        picture.width,
        picture.height,
        picture.full,
        picture.small
    )
    .execute(connection)
    .await?;
    Ok(PictureId(added.last_insert_rowid()))
}

/// A stored picture as JPEG, whole or small.
pub async fn picture(
    connection: &mut SqliteConnection,
    id: PictureId,
    small: bool,
) -> Result<Option<Vec<u8>>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT CASE WHEN ?1 THEN small ELSE "full" END AS "bytes!: Vec<u8>" FROM picture WHERE id = ?2"#,
        small,
        id
    )
    .fetch_optional(connection)
    .await
}

/// The small ones of these pictures.
pub async fn small(
    connection: &mut SqliteConnection,
    ids: &[PictureId],
) -> Result<Vec<(PictureId, Vec<u8>)>, sqlx::Error> {
    let ids = json_list(ids);
    let rows = sqlx::query!(
        r#"SELECT id AS "id: PictureId", small FROM picture WHERE id IN (SELECT value FROM json_each(?))"#,
        ids
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.small)).collect())
}

/// Whether there is such a picture.
pub async fn is_kept(connection: &mut SqliteConnection, id: PictureId) -> Result<bool, sqlx::Error> {
    let found =
        sqlx::query_scalar!("SELECT id FROM picture WHERE id = ?", id).fetch_optional(connection).await?;
    Ok(found.is_some())
}
