//! All SQL for what the bench lost.

use sqlx::SqliteConnection;

use super::super::{BenchLoss, NewBenchLoss};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{BenchLossId, EventId, MaterialId, SupplierId};

/// The losses at the bench since a day, the latest first.
pub async fn bench_losses(
    connection: &mut SqliteConnection,
    since: Day,
) -> Result<Vec<BenchLoss>, sqlx::Error> {
    sqlx::query_as!(
        BenchLoss,
        r#"SELECT bench_loss.id AS "id: BenchLossId", material_id AS "material_id: MaterialId",
            material.name AS material, coalesce(supplier.name, '') AS "supplier!: String",
            event_id AS "event_id: EventId", coalesce(event.name, '') AS "event!: String", lost,
            lost_on AS "lost_on: Day", bench_loss.note, recorded_at AS "recorded_at: Moment"
        FROM bench_loss JOIN material ON material.id = material_id LEFT JOIN supplier ON supplier.id = supplier_id
        LEFT JOIN event ON event.id = event_id
        WHERE lost_on >= ? AND bench_loss.removed_at IS NULL
        ORDER BY lost_on DESC, recorded_at DESC, bench_loss.id DESC LIMIT 200"#,
        since
    )
    .fetch_all(connection)
    .await
}

/// Whether a loss with this key was booked already.
pub async fn loss_of_key(
    connection: &mut SqliteConnection,
    key: &str,
) -> Result<Option<BenchLossId>, sqlx::Error> {
    sqlx::query_scalar!(r#"SELECT id AS "id: BenchLossId" FROM bench_loss WHERE once_key = ?"#, key)
        .fetch_optional(connection)
        .await
}

/// Books a loss.
pub async fn add_loss(
    connection: &mut SqliteConnection,
    loss: &NewBenchLoss,
    now: Moment,
) -> Result<BenchLossId, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO bench_loss (once_key, material_id, supplier_id, event_id, lost, lost_on, note, recorded_at)
        VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        loss.once_key,
        loss.material,
        loss.supplier,
        loss.event,
        loss.lost,
        loss.lost_on,
        loss.note,
        now
    )
    .execute(connection)
    .await?;
    Ok(BenchLossId(added.last_insert_rowid()))
}

/// Removes a loss, or brings it back (`None`).
pub async fn set_loss_removed(
    connection: &mut SqliteConnection,
    id: BenchLossId,
    at: Option<Moment>,
) -> Result<bool, sqlx::Error> {
    let done =
        sqlx::query!("UPDATE bench_loss SET removed_at = ? WHERE id = ?", at, id).execute(connection).await?;
    Ok(done.rows_affected() == 1)
}

/// From whom a material came that was counted in since a day, for an event where one is named: the supplier, if there
/// is only one.
pub async fn known_from(
    connection: &mut SqliteConnection,
    material: MaterialId,
    event: Option<EventId>,
    since: Day,
) -> Result<Option<SupplierId>, sqlx::Error> {
    let suppliers = sqlx::query_scalar!(
        r#"SELECT DISTINCT supplier_id AS "id: SupplierId" FROM placed_line line
        JOIN receipt_line ON line_id = line.id JOIN placed_delivery ON placed_delivery.id = delivery_id
        JOIN placed_order ON placed_order.id = order_id
        WHERE material_id = ?1 AND received_on >= ?2 AND (?3 IS NULL OR EXISTS (
            SELECT 1 FROM placed_share share WHERE share.line_id = line.id AND share.event_id = ?3))"#,
        material,
        since,
        event
    )
    .fetch_all(connection)
    .await?;
    Ok(if let [only] = suppliers[..] { Some(only) } else { None })
}

/// The names of what was delivered lately or will be soon.
pub async fn names_on_the_bench(
    connection: &mut SqliteConnection,
    from: Day,
    to: Day,
) -> Result<Vec<String>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT DISTINCT material.name AS "name!: String" FROM placed_line JOIN material ON material.id = material_id
        JOIN placed_delivery ON placed_delivery.id = delivery_id
        WHERE placed_delivery.day BETWEEN ? AND ? AND material.removed_at IS NULL ORDER BY material.name LIMIT 200"#,
        from,
        to
    )
    .fetch_all(connection)
    .await
}
