//! All SQL for crates and vans; reads all that a load sheet is computed from.

use sqlx::SqliteConnection;

use super::sheet::LoadInputs;
use super::{CrateKind, Van};
use crate::ground::dates::Moment;
use crate::ground::ids::{CrateKindId, EventId, VanId};
use crate::ground::quantity::Length;
use crate::ground::weight::Weight;
use crate::pull_list;

/// Everything the load sheet of some events is computed from; those that are not there are left out.
pub async fn load(connection: &mut SqliteConnection, events: &[EventId]) -> Result<LoadInputs, sqlx::Error> {
    let mut drops = Vec::new();
    for event in events {
        drops.extend(pull_list::store::load(connection, *event).await?);
    }
    let (kinds, vans) = (crate_kinds(connection).await?, vans(connection).await?);
    Ok(LoadInputs { drops, kinds, vans })
}

/// The studio's crates, in its order.
pub async fn crate_kinds(connection: &mut SqliteConnection) -> Result<Vec<CrateKind>, sqlx::Error> {
    sqlx::query_as!(
        CrateKind,
        r#"SELECT id AS "id?: CrateKindId", name, inner_length AS "length: Length", inner_width AS "width: Length",
            clear_height AS "clear_height: Length", own_weight AS "own_weight: Weight",
            most_weight AS "most_weight: Weight", stackable AS "stackable: bool"
        FROM crate_kind WHERE removed_at IS NULL ORDER BY position, id"#
    )
    .fetch_all(connection)
    .await
}

/// The studio's vans, in its order.
pub async fn vans(connection: &mut SqliteConnection) -> Result<Vec<Van>, sqlx::Error> {
    sqlx::query_as!(
        Van,
        r#"SELECT id AS "id?: VanId", name, floor_length AS "length: Length", floor_width AS "width: Length",
            inner_height AS "height: Length", payload AS "payload: Weight"
        FROM van WHERE removed_at IS NULL ORDER BY position, id"#
    )
    .fetch_all(connection)
    .await
}

/// A number that grows with every change of crates and vans, so that a stale save is noticed.
pub async fn version(connection: &mut SqliteConnection) -> Result<i64, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT (SELECT coalesce(sum(version), 0) FROM crate_kind) + (SELECT coalesce(sum(version), 0) FROM van)
            AS "version!: i64""#
    )
    .fetch_one(connection)
    .await
}

/// Keeps the crates: known ones are changed, new ones added, those left out are removed. Gives how many were removed.
pub async fn keep_crates(
    connection: &mut SqliteConnection,
    kinds: &[CrateKind],
    now: Moment,
) -> Result<u64, sqlx::Error> {
    let had = sqlx::query!(
        "UPDATE crate_kind SET removed_at = ?, version = version + 1 WHERE removed_at IS NULL",
        now
    )
    .execute(&mut *connection)
    .await?
    .rows_affected();
    let mut kept = 0;
    for (position, kind) in (0_i64..).zip(kinds) {
        kept += u64::from(kind.id.is_some());
        sqlx::query!(
            "INSERT INTO crate_kind (id, name, inner_length, inner_width, clear_height, own_weight, most_weight,
                stackable, position) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
            ON CONFLICT (id) DO UPDATE SET name = excluded.name, inner_length = excluded.inner_length,
                inner_width = excluded.inner_width, clear_height = excluded.clear_height,
                own_weight = excluded.own_weight, most_weight = excluded.most_weight, stackable = excluded.stackable,
                position = excluded.position, removed_at = NULL",
            kind.id,
            kind.name,
            kind.length,
            kind.width,
            kind.clear_height,
            kind.own_weight,
            kind.most_weight,
            kind.stackable,
            position
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(had.saturating_sub(kept))
}

/// Keeps the vans: known ones are changed, new ones added, those left out are removed. Gives how many were removed.
pub async fn keep_vans(
    connection: &mut SqliteConnection,
    vans: &[Van],
    now: Moment,
) -> Result<u64, sqlx::Error> {
    let had =
        sqlx::query!("UPDATE van SET removed_at = ?, version = version + 1 WHERE removed_at IS NULL", now)
            .execute(&mut *connection)
            .await?
            .rows_affected();
    let mut kept = 0;
    for (position, van) in (0_i64..).zip(vans) {
        kept += u64::from(van.id.is_some());
        sqlx::query!(
            "INSERT INTO van (id, name, floor_length, floor_width, inner_height, payload, position)
            VALUES (?, ?, ?, ?, ?, ?, ?)
            ON CONFLICT (id) DO UPDATE SET name = excluded.name, floor_length = excluded.floor_length,
                floor_width = excluded.floor_width, inner_height = excluded.inner_height,
                payload = excluded.payload, position = excluded.position, removed_at = NULL",
            van.id,
            van.name,
            van.length,
            van.width,
            van.height,
            van.payload,
            position
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(had.saturating_sub(kept))
}

/// Brings back the crates and vans that were removed at a moment, but for names that have been given anew since.
pub async fn restore(connection: &mut SqliteConnection, removed_at: Moment) -> Result<u64, sqlx::Error> {
    let crates = sqlx::query!(
        "UPDATE OR IGNORE crate_kind SET removed_at = NULL, version = version + 1 WHERE removed_at = ?",
        removed_at
    )
    .execute(&mut *connection)
    .await?;
    let vans = sqlx::query!(
        "UPDATE OR IGNORE van SET removed_at = NULL, version = version + 1 WHERE removed_at = ?",
        removed_at
    )
    .execute(connection)
    .await?;
    Ok(crates.rows_affected() + vans.rows_affected())
}
