//! All SQL for materials, suppliers, offers and prices: here what later rooms read, in the parts what the pages list
//! and everything that writes.

mod file;
mod materials;
mod offers;
mod owned;
mod prices;
mod suppliers;

pub use file::*;
pub use materials::*;
pub use offers::*;
pub use owned::*;
pub use prices::*;
pub use suppliers::*;

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::{Care, CareSource, HeadClass, Material, MaterialKind, Supplier, Unit};
use crate::db::remembered::{Remembered, State};
use crate::ground::caution::Cautions;
use crate::ground::dates::{TimeOfDay, Weekdays};
use crate::ground::ids::{MaterialId, SupplierId, json_list};
use crate::ground::money::Money;
use crate::ground::quantity::{Length, Share};

/// The materials with these identities, removed ones too: old recipes still name them. All are remembered while none changes.
pub async fn materials(
    connection: &mut SqliteConnection,
    ids: &[MaterialId],
) -> Result<HashMap<MaterialId, Material>, sqlx::Error> {
    static ALL: Remembered<State, HashMap<MaterialId, Material>> = Remembered::new(2, State::of_one_book);
    let Some(state) = State::of(connection, &["material"]).await? else {
        return read_materials(connection, ids).await;
    };
    let all = ALL.or_read(state, read_all_materials(connection)).await?;
    Ok(ids.iter().filter_map(|id| Some((*id, all.get(id)?.clone()))).collect())
}

async fn read_all_materials(
    connection: &mut SqliteConnection,
) -> Result<HashMap<MaterialId, Material>, sqlx::Error> {
    let ids = sqlx::query_scalar!(r#"SELECT id AS "id: MaterialId" FROM material"#)
        .fetch_all(&mut *connection)
        .await?;
    read_materials(connection, &ids).await
}

async fn read_materials(
    connection: &mut SqliteConnection,
    ids: &[MaterialId],
) -> Result<HashMap<MaterialId, Material>, sqlx::Error> {
    let ids = json_list(ids);
    let rows = sqlx::query!(
        r#"SELECT id AS "id: MaterialId", version, name, kind AS "kind: MaterialKind", colour, grade,
            unit AS "unit: Unit", head_class AS "head_class: HeadClass", usable_length AS "usable_length: Length",
            loss AS "loss: Share", preferred_supplier_id AS "preferred_supplier_id: SupplierId",
            inner_height AS "inner_height: Length", inner_diameter AS "inner_diameter: Length",
            loaned AS "loaned: bool", owned, loan_fee AS "loan_fee: Money", spare_per, conditioning_minutes,
            hydrate_hours, opening_days, holding_days, storage_celsius, vase_days, cut_keeps_hours,
            care_source AS "care_source: CareSource", cautions AS "cautions: Cautions", note
        FROM material WHERE id IN (SELECT value FROM json_each(?))"#,
        ids
    )
    .fetch_all(connection)
    .await?;
    let materials = rows.into_iter().map(|row| Material {
        id: row.id,
        version: row.version,
        name: row.name,
        kind: row.kind,
        colour: row.colour,
        grade: row.grade,
        unit: row.unit,
        head_class: row.head_class,
        usable_length: row.usable_length,
        loss: row.loss,
        preferred_supplier_id: row.preferred_supplier_id,
        inner_height: row.inner_height,
        inner_diameter: row.inner_diameter,
        loaned: row.loaned,
        owned: row.owned,
        loan_fee: row.loan_fee,
        spare_per: row.spare_per,
        care: Care {
            conditioning_minutes: row.conditioning_minutes,
            hydrate_hours: row.hydrate_hours,
            opening_days: row.opening_days,
            holding_days: row.holding_days,
            storage_celsius: row.storage_celsius,
            vase_days: row.vase_days,
            cut_keeps_hours: row.cut_keeps_hours,
            source: row.care_source,
        },
        cautions: row.cautions,
        note: row.note,
    });
    Ok(materials.map(|material| (material.id, material)).collect())
}

/// The material with a name, unless removed; letter case does not matter.
pub async fn material_named(
    connection: &mut SqliteConnection,
    name: &str,
) -> Result<Option<MaterialId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT id AS "id: MaterialId" FROM material WHERE name = ? AND removed_at IS NULL"#,
        name
    )
    .fetch_optional(connection)
    .await
}

/// All suppliers that are not removed, by name.
pub async fn suppliers(connection: &mut SqliteConnection) -> Result<Vec<Supplier>, sqlx::Error> {
    sqlx::query_as!(
        Supplier,
        r#"SELECT id AS "id: SupplierId", version, name, contact, email, phone, account,
            delivery_weekdays AS "delivery_weekdays: Weekdays", cutoff_days, cutoff_time AS "cutoff_time: TimeOfDay",
            delivery_fee AS "delivery_fee: Money", fee_waived_over AS "fee_waived_over: Money",
            least_order AS "least_order: Money", note
        FROM supplier WHERE removed_at IS NULL ORDER BY name"#
    )
    .fetch_all(connection)
    .await
}
