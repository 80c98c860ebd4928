//! All SQL that finds and writes suppliers.

use sqlx::SqliteConnection;

use super::super::Supplier;
use super::super::entries::NewSupplier;
use crate::ground::dates::{Moment, TimeOfDay, Weekdays};
use crate::ground::ids::SupplierId;
use crate::ground::money::Money;

/// One supplier, removed or not: old orders still name it.
pub async fn supplier(
    connection: &mut SqliteConnection,
    id: SupplierId,
) -> Result<Option<Supplier>, sqlx::Error> {
    sqlx::query_as!(
        Supplier,
        r#"SELECT id AS "id: SupplierId", version, name, contact, email, phone, account,
            delivery_weekdays AS "delivery_weekdays: Weekdays", cutoff_days, cutoff_time AS "cutoff_time: TimeOfDay",
            delivery_fee AS "delivery_fee: Money", fee_waived_over AS "fee_waived_over: Money",
            least_order AS "least_order: Money", note
        FROM supplier WHERE id = ?"#,
        id
    )
    .fetch_optional(connection)
    .await
}

/// When a supplier was removed; nothing where it is in the list or never was.
pub async fn supplier_removed(
    connection: &mut SqliteConnection,
    id: SupplierId,
) -> Result<Option<Moment>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT removed_at AS "at!: Moment" FROM supplier WHERE id = ? AND removed_at IS NOT NULL"#,
        id
    )
    .fetch_optional(connection)
    .await
}

/// The supplier with a name, unless removed; letter case does not matter.
pub async fn supplier_named(
    connection: &mut SqliteConnection,
    name: &str,
) -> Result<Option<SupplierId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT id AS "id: SupplierId" FROM supplier WHERE name = ? AND removed_at IS NULL"#,
        name
    )
    .fetch_optional(connection)
    .await
}

/// How many offers each supplier has, of materials in the list; suppliers without any are left out.
pub async fn offer_counts(
    connection: &mut SqliteConnection,
) -> Result<std::collections::HashMap<SupplierId, i64>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT supplier_id AS "id: SupplierId", count(*) AS "offers!: i64" FROM offer
        JOIN material ON material.id = material_id AND material.removed_at IS NULL
        WHERE offer.removed_at IS NULL GROUP BY supplier_id"#
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.offers)).collect())
}

/// Adds a supplier. Its name must not be in the list yet.
pub async fn add_supplier(
    connection: &mut SqliteConnection,
    new: &NewSupplier,
) -> Result<SupplierId, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO supplier (name, contact, email, phone, account, delivery_weekdays, cutoff_days, cutoff_time,
            delivery_fee, fee_waived_over, least_order, note) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        new.name,
        new.contact,
        new.email,
        new.phone,
        new.account,
        new.delivery_weekdays,
        new.cutoff_days,
        new.cutoff_time,
        new.delivery_fee,
        new.fee_waived_over,
        new.least_order,
        new.note
    )
    .execute(connection)
    .await?;
    Ok(SupplierId(added.last_insert_rowid()))
}

/// Changes a supplier and counts the save.
pub async fn change_supplier(
    connection: &mut SqliteConnection,
    id: SupplierId,
    new: &NewSupplier,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "UPDATE supplier SET version = version + 1, name = ?, contact = ?, email = ?, phone = ?, account = ?,
            delivery_weekdays = ?, cutoff_days = ?, cutoff_time = ?, delivery_fee = ?, fee_waived_over = ?,
            least_order = ?, note = ? WHERE id = ?",
        new.name,
        new.contact,
        new.email,
        new.phone,
        new.account,
        new.delivery_weekdays,
        new.cutoff_days,
        new.cutoff_time,
        new.delivery_fee,
        new.fee_waived_over,
        new.least_order,
        new.note,
        id
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Removes a supplier and with it its offers from what can be bought, or brings all back (`None`).
pub async fn set_supplier_removed(
    connection: &mut SqliteConnection,
    id: SupplierId,
    at: Option<Moment>,
) -> Result<bool, sqlx::Error> {
    let done =
        sqlx::query!("UPDATE supplier SET removed_at = ? WHERE id = ?", at, id).execute(connection).await?;
    Ok(done.rows_affected() == 1)
}
