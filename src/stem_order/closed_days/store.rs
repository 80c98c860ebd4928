//! All SQL for closed and feast days.

use sqlx::SqliteConnection;

use super::{ClosedDay, ClosedDays, DayKind, NewClosedDay};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{ClosedDayId, SupplierId};

/// Every closed and feast day of the book, by day.
pub async fn closed_days(connection: &mut SqliteConnection) -> Result<ClosedDays, sqlx::Error> {
    let days = sqlx::query_as!(
        ClosedDay,
        r#"SELECT id AS "id!: ClosedDayId", version, supplier_id AS "supplier_id: SupplierId",
            first_day AS "first_day: Day", last_day AS "last_day: Day", name, kind AS "kind: DayKind"
        FROM closed_day WHERE removed_at IS NULL ORDER BY first_day, last_day, id"#
    )
    .fetch_all(connection)
    .await?;
    Ok(ClosedDays(days))
}

/// One of them, unless removed.
pub async fn closed_day(
    connection: &mut SqliteConnection,
    id: ClosedDayId,
) -> Result<Option<ClosedDay>, sqlx::Error> {
    sqlx::query_as!(
        ClosedDay,
        r#"SELECT id AS "id!: ClosedDayId", version, supplier_id AS "supplier_id: SupplierId",
            first_day AS "first_day: Day", last_day AS "last_day: Day", name, kind AS "kind: DayKind"
        FROM closed_day WHERE id = ? AND removed_at IS NULL"#,
        id
    )
    .fetch_optional(connection)
    .await
}

/// Adds a day.
pub async fn add(connection: &mut SqliteConnection, new: &NewClosedDay) -> Result<ClosedDayId, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO closed_day (supplier_id, first_day, last_day, name, kind) VALUES (?, ?, ?, ?, ?)",
        new.supplier_id,
        new.first_day,
        new.last_day,
        new.name,
        new.kind
    )
    .execute(connection)
    .await?;
    Ok(ClosedDayId(added.last_insert_rowid()))
}

/// Changes a day and counts the save.
pub async fn change(
    connection: &mut SqliteConnection,
    id: ClosedDayId,
    new: &NewClosedDay,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "UPDATE closed_day SET version = version + 1, supplier_id = ?, first_day = ?, last_day = ?, name = ?, kind = ?
        WHERE id = ?",
        new.supplier_id,
        new.first_day,
        new.last_day,
        new.name,
        new.kind,
        id
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Removes a day, or brings it back (`None`).
pub async fn set_removed(
    connection: &mut SqliteConnection,
    id: ClosedDayId,
    at: Option<Moment>,
) -> Result<bool, sqlx::Error> {
    let done =
        sqlx::query!("UPDATE closed_day SET removed_at = ? WHERE id = ?", at, id).execute(connection).await?;
    Ok(done.rows_affected() == 1)
}
