//! All SQL that lists, finds and writes materials.

use sqlx::SqliteConnection;

use super::super::entries::NewMaterial;
use super::super::{MaterialKind, Unit};
use crate::ground::dates::Moment;
use crate::ground::ids::{MaterialId, SupplierId, json_list};
use crate::ground::near_names::near;
use crate::ground::quantity::Share;

/// How many rows a list page holds.
pub const PAGE: i64 = 50;

/// What a list of materials is narrowed to.
#[derive(Debug, Clone, Default)]
pub struct MaterialFilter {
    /// Words that must all stand in the name, colour, grade, kind or a supplier's name.
    pub words: String,
    /// Only this kind.
    pub kind: Option<MaterialKind>,
    /// Only what this supplier offers.
    pub supplier: Option<SupplierId>,
    /// Only what no supplier offers.
    pub unsold: bool,
}

/// A row of the list of materials.
#[derive(Debug, Clone)]
pub struct MaterialRow {
    /// Its identity.
    pub id: MaterialId,
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: MaterialKind,
    /// Its colour.
    pub colour: String,
    /// Its grade.
    pub grade: String,
    /// In what it is counted.
    pub unit: Unit,
    /// Its own loss.
    pub loss: Option<Share>,
    /// Whether it comes back.
    pub loaned: bool,
    /// How many the studio owns.
    pub owned: i64,
    /// How many offers of suppliers there are.
    pub offers: i64,
    /// How many materials the whole list has.
    pub total: i64,
}

/// One page of the materials that are not removed, by name. Letter case of A to Z does not count, as SQLite has it.
pub async fn search_materials(
    connection: &mut SqliteConnection,
    filter: &MaterialFilter,
    page: i64,
) -> Result<Vec<MaterialRow>, sqlx::Error> {
    let words: Vec<String> = filter.words.split_whitespace().take(8).map(str::to_ascii_lowercase).collect();
    let (words, kind, supplier) = (json_list(&words), filter.kind, filter.supplier.map_or(0, |id| id.0));
    let (unsold, limit, offset) = (filter.unsold, PAGE, page.saturating_mul(PAGE));
    sqlx::query_as!(
        MaterialRow,
        r#"WITH sold AS (
            SELECT material_id, count(*) AS offers, group_concat(supplier.name, ' ') AS suppliers,
                max(supplier_id = ?3) AS theirs
            FROM offer JOIN supplier ON supplier.id = supplier_id AND supplier.removed_at IS NULL
            WHERE offer.removed_at IS NULL GROUP BY material_id)
        SELECT id AS "id: MaterialId", name, kind AS "kind: MaterialKind", colour, grade, unit AS "unit: Unit",
            loss AS "loss: Share", loaned AS "loaned: bool", owned, coalesce(offers, 0) AS "offers!: i64",
            count(*) OVER () AS "total!: i64"
        FROM material LEFT JOIN sold ON material_id = id
        WHERE removed_at IS NULL AND (?2 IS NULL OR kind = ?2) AND (?3 = 0 OR theirs) AND (NOT ?4 OR offers IS NULL)
            AND NOT EXISTS (SELECT 1 FROM json_each(?1)
                WHERE instr(lower(name || ' ' || colour || ' ' || grade || ' ' || kind || ' ' || coalesce(suppliers, '')), value) = 0)
        ORDER BY name, id LIMIT ?5 OFFSET ?6"#,
        words,
        kind,
        supplier,
        unsold,
        limit,
        offset
    )
    .fetch_all(connection)
    .await
}

/// A name for a type-ahead, with what helps to tell it from others.
#[derive(Debug, Clone)]
pub struct MaterialName {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: MaterialKind,
    /// Its colour.
    pub colour: String,
    /// In what it is counted.
    pub unit: Unit,
}

/// At most 20 names that hold what was typed, those that begin with it first.
pub async fn material_names(
    connection: &mut SqliteConnection,
    typed: &str,
) -> Result<Vec<MaterialName>, sqlx::Error> {
    let typed = typed.trim().to_ascii_lowercase();
    sqlx::query_as!(
        MaterialName,
        r#"SELECT name, kind AS "kind: MaterialKind", colour, unit AS "unit: Unit" FROM material
        WHERE removed_at IS NULL AND instr(lower(name || ' ' || colour), ?1) > 0
        ORDER BY instr(lower(name), ?1) <> 1, name LIMIT 20"#,
        typed
    )
    .fetch_all(connection)
    .await
}

/// Names of the list that are near one that is not in it.
pub async fn near_materials(
    connection: &mut SqliteConnection,
    typed: &str,
) -> Result<Vec<String>, sqlx::Error> {
    let names = sqlx::query_scalar!("SELECT name FROM material WHERE removed_at IS NULL ORDER BY name")
        .fetch_all(connection)
        .await?;
    let near = near(typed, names.iter().map(String::as_str), 3);
    Ok(near.into_iter().map(str::to_owned).collect())
}

/// When a material was removed; nothing where it is in the list or never was.
pub async fn material_removed(
    connection: &mut SqliteConnection,
    id: MaterialId,
) -> Result<Option<Moment>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT removed_at AS "at!: Moment" FROM material WHERE id = ? AND removed_at IS NOT NULL"#,
        id
    )
    .fetch_optional(connection)
    .await
}

/// Adds a material. Its name must not be in the list yet.
pub async fn add_material(
    connection: &mut SqliteConnection,
    new: &NewMaterial,
) -> Result<MaterialId, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO material (name, kind, colour, grade, unit, head_class, usable_length, loss, preferred_supplier_id,
            inner_height, inner_diameter, loaned, owned, loan_fee, spare_per, conditioning_minutes, hydrate_hours,
            opening_days, holding_days, storage_celsius, vase_days, cut_keeps_hours, care_source, cautions, note)
        VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        new.name,
        new.kind,
        new.colour,
        new.grade,
        new.unit,
        new.head_class,
        new.usable_length,
        new.loss,
        new.preferred_supplier_id,
        new.inner_height,
        new.inner_diameter,
        new.loaned,
        new.owned,
        new.loan_fee,
        new.spare_per,
        new.care.conditioning_minutes,
        new.care.hydrate_hours,
        new.care.opening_days,
        new.care.holding_days,
        new.care.storage_celsius,
        new.care.vase_days,
        new.care.cut_keeps_hours,
        new.care.source,
        new.cautions,
        new.note
    )
    .execute(connection)
    .await?;
    Ok(MaterialId(added.last_insert_rowid()))
}

/// Changes a material and counts the save.
pub async fn change_material(
    connection: &mut SqliteConnection,
    id: MaterialId,
    new: &NewMaterial,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "UPDATE material SET version = version + 1, name = ?, kind = ?, colour = ?, grade = ?, unit = ?,
            head_class = ?, usable_length = ?, loss = ?, preferred_supplier_id = ?, inner_height = ?,
            inner_diameter = ?, loaned = ?, owned = ?, loan_fee = ?, spare_per = ?, conditioning_minutes = ?,
            hydrate_hours = ?, opening_days = ?, holding_days = ?, storage_celsius = ?, vase_days = ?,
            cut_keeps_hours = ?, care_source = ?, cautions = ?, note = ? WHERE id = ?",
        new.name,
        new.kind,
        new.colour,
        new.grade,
        new.unit,
        new.head_class,
        new.usable_length,
        new.loss,
        new.preferred_supplier_id,
        new.inner_height,
        new.inner_diameter,
        new.loaned,
        new.owned,
        new.loan_fee,
        new.spare_per,
        new.care.conditioning_minutes,
        new.care.hydrate_hours,
        new.care.opening_days,
        new.care.holding_days,
        new.care.storage_celsius,
        new.care.vase_days,
        new.care.cut_keeps_hours,
        new.care.source,
        new.cautions,
        new.note,
        id
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Removes a material from the list, or brings it back (`None`). Recipes keep it either way.
pub async fn set_material_removed(
    connection: &mut SqliteConnection,
    id: MaterialId,
    at: Option<Moment>,
) -> Result<bool, sqlx::Error> {
    let done =
        sqlx::query!("UPDATE material SET removed_at = ? WHERE id = ?", at, id).execute(connection).await?;
    Ok(done.rows_affected() == 1)
}
