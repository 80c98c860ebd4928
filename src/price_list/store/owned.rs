//! What the studio owns of what it lends: read for the loans, lowered when something did not come back whole.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::super::Material;
use super::materials;
use crate::ground::ids::MaterialId;

/// Everything that comes back after an event and is not removed from the list.
pub async fn lent_materials(
    connection: &mut SqliteConnection,
) -> Result<HashMap<MaterialId, Material>, sqlx::Error> {
    let ids = sqlx::query_scalar!(
        r#"SELECT id AS "id: MaterialId" FROM material WHERE loaned AND removed_at IS NULL"#
    )
    .fetch_all(&mut *connection)
    .await?;
    materials(connection, &ids).await
}

/// Takes lost pieces off what is owned (gives them back where negative) and counts the save, so that a form left open
/// notices. Gives whether there were so many; else nothing is changed.
pub async fn lower_owned(
    connection: &mut SqliteConnection,
    material: MaterialId,
    by: i64,
) -> Result<bool, sqlx::Error> {
    let done = sqlx::query!(
        "UPDATE material SET owned = owned - ?1, version = version + 1 WHERE id = ?2 AND owned >= ?1",
        by,
        material
    )
    .execute(connection)
    .await?;
    Ok(done.rows_affected() == 1)
}
