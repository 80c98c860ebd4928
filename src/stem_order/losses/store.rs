//! All SQL for what the studio made of its counted losses, and the reading of the counts: receiving's tables are only
//! joined here, never written.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;

use super::learned::{Learned, Tally, learned as learned_from};
use super::{LossRule, RuleOf};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId, PlacedDeliveryId, SupplierId, json_list};
use crate::ground::quantity::Share;

/// How many rows a list page holds.
pub const PAGE: i64 = 50;

/// How many counts a material's own page shows.
const LATEST: i64 = 40;

/// What is known of these materials' losses, in two reads however many there are.
pub async fn learned(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
) -> Result<BTreeMap<MaterialId, Learned>, sqlx::Error> {
    let counts = counts(connection, materials).await?;
    let tallies: Vec<Tally> = counts.iter().map(|counts| counts.tally).collect();
    let rules = rules(connection, materials).await?;
    let fixed: Vec<(MaterialId, Share)> =
        rules.iter().filter_map(|of| Some((of.material, of.rule.overruled?))).collect();
    Ok(learned_from(&tallies, &fixed))
}

/// What was counted of a material from one supplier.
#[derive(Debug, Clone)]
pub struct SupplierCounts {
    /// The sums.
    pub tally: Tally,
    /// The supplier's name; empty where it is not known.
    pub supplier: String,
    /// The first day that counts.
    pub since: Day,
}

/// What was counted of these materials, by supplier, as far as it counts.
pub async fn counts(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
) -> Result<Vec<SupplierCounts>, sqlx::Error> {
    let materials = json_list(materials);
    let rows = sqlx::query!(
        r#"WITH counted AS (
            SELECT placed_line.material_id, placed_order.supplier_id, received_on AS on_day, good, lost, 0 AS at_bench
            FROM placed_line JOIN receipt_line ON line_id = placed_line.id
            JOIN placed_delivery ON placed_delivery.id = delivery_id JOIN placed_order ON placed_order.id = order_id
            WHERE placed_line.material_id IN (SELECT value FROM json_each(?1))
            UNION ALL
            SELECT material_id, supplier_id, lost_on, 0, 0, lost FROM bench_loss
            WHERE material_id IN (SELECT value FROM json_each(?1)) AND removed_at IS NULL)
        SELECT counted.material_id AS "material!: MaterialId", supplier_id AS "supplier_id: SupplierId",
            coalesce(supplier.name, '') AS "supplier!: String", min(on_day) AS "since!: Day",
            sum(good) AS "good!: i64", sum(lost) AS "lost!: i64", sum(at_bench) AS "at_bench!: i64"
        FROM counted LEFT JOIN supplier ON supplier.id = supplier_id
        LEFT JOIN loss_rule ON loss_rule.material_id = counted.material_id
        WHERE counted_from IS NULL OR on_day >= counted_from
        GROUP BY counted.material_id, supplier_id ORDER BY supplier.name IS NULL, supplier.name, supplier_id"#,
        materials
    )
    .fetch_all(connection)
    .await?;
    let counts = rows.into_iter().map(|row| SupplierCounts {
        tally: Tally {
            material: row.material,
            supplier: row.supplier_id,
            good: row.good,
            lost: row.lost,
            at_bench: row.at_bench,
        },
        supplier: row.supplier,
        since: row.since,
    });
    Ok(counts.collect())
}

/// What the studio made of these materials' counts; none where nothing was ever said.
pub async fn rules(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
) -> Result<Vec<RuleOf>, sqlx::Error> {
    let materials = json_list(materials);
    let rows = sqlx::query!(
        r#"SELECT material_id AS "material: MaterialId", version, counted_from AS "counted_from: Day",
            overruled AS "overruled: Share"
        FROM loss_rule WHERE material_id IN (SELECT value FROM json_each(?))"#,
        materials
    )
    .fetch_all(connection)
    .await?;
    let of = rows.into_iter().map(|row| RuleOf {
        material: row.material,
        rule: LossRule { version: row.version, counted_from: row.counted_from, overruled: row.overruled },
    });
    Ok(of.collect())
}

/// What the studio made of one material's counts.
pub async fn rule(connection: &mut SqliteConnection, material: MaterialId) -> Result<LossRule, sqlx::Error> {
    let rule = rules(connection, &[material]).await?.pop();
    Ok(rule.map(|of| of.rule).unwrap_or_default())
}

/// Keeps a rule and counts the save, whatever version is given.
pub async fn keep_rule(
    connection: &mut SqliteConnection,
    material: MaterialId,
    rule: &LossRule,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO loss_rule (material_id, counted_from, overruled) VALUES (?, ?, ?)
        ON CONFLICT (material_id) DO UPDATE SET version = version + 1, counted_from = excluded.counted_from,
            overruled = excluded.overruled",
        material,
        rule.counted_from,
        rule.overruled
    )
    .execute(connection)
    .await
    .map(drop)
}

/// What a list of losses is narrowed to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Narrowed {
    /// Everything that wilts.
    #[default]
    All,
    /// What was ever counted.
    Counted,
    /// What the studio fixed.
    Fixed,
}

/// What the bench lost of these materials for these events; booked for no event in particular it counts from a day on.
pub async fn lost_at_the_bench(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    events: &[EventId],
    from: Day,
) -> Result<BTreeMap<MaterialId, i64>, sqlx::Error> {
    let (materials, events) = (json_list(materials), json_list(events));
    let rows = sqlx::query!(
        r#"SELECT material_id AS "material: MaterialId", sum(lost) AS "lost!: i64" FROM bench_loss
        WHERE removed_at IS NULL AND material_id IN (SELECT value FROM json_each(?))
            AND (event_id IN (SELECT value FROM json_each(?)) OR (event_id IS NULL AND lost_on >= ?))
        GROUP BY material_id"#,
        materials,
        events,
        from
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.material, row.lost)).collect())
}

/// A page of the fresh materials whose name holds all the words, with how many there are in all: those that were
/// counted or fixed first, then by name.
pub async fn fresh_materials(
    connection: &mut SqliteConnection,
    words: &str,
    narrowed: Narrowed,
    page: i64,
) -> Result<(Vec<MaterialId>, i64), sqlx::Error> {
    let words: Vec<String> = words.split_whitespace().take(8).map(str::to_ascii_lowercase).collect();
    let (words, offset) = (json_list(&words), page.saturating_mul(PAGE));
    let (only_counted, only_fixed) = (narrowed == Narrowed::Counted, narrowed == Narrowed::Fixed);
    let rows = sqlx::query!(
        r#"WITH counted (material_id) AS (
            SELECT material_id FROM receipt_line JOIN placed_line ON placed_line.id = line_id
            UNION SELECT material_id FROM bench_loss WHERE removed_at IS NULL),
        fixed (material_id) AS (SELECT material_id FROM loss_rule WHERE overruled IS NOT NULL)
        SELECT id AS "id!: MaterialId", count(*) OVER () AS "total!: i64" FROM material
        WHERE removed_at IS NULL AND kind IN ('flower', 'foliage')
            AND (NOT ?1 OR id IN (SELECT material_id FROM counted)) AND (NOT ?2 OR id IN (SELECT material_id FROM fixed))
            AND NOT EXISTS (SELECT 1 FROM json_each(?3)
                WHERE instr(lower(name || ' ' || colour || ' ' || grade), value) = 0)
        ORDER BY id IN (SELECT material_id FROM counted UNION SELECT material_id FROM fixed) DESC, name, id
        LIMIT ?4 OFFSET ?5"#,
        only_counted,
        only_fixed,
        words,
        PAGE,
        offset
    )
    .fetch_all(connection)
    .await?;
    let total = rows.first().map_or(0, |row| row.total);
    Ok((rows.into_iter().map(|row| row.id).collect(), total))
}

/// One count behind a material's rate.
#[derive(Debug, Clone)]
pub struct Count {
    /// When.
    pub on: Day,
    /// From whom; empty where it is not known.
    pub supplier: String,
    /// On which delivery, if it came with one.
    pub delivery: Option<PlacedDeliveryId>,
    /// Good when they came.
    pub good: i64,
    /// Lost then, or at the bench.
    pub lost: i64,
    /// What was noted.
    pub note: String,
}

/// The latest counts of a material, those too that count no longer.
pub async fn latest(
    connection: &mut SqliteConnection,
    material: MaterialId,
) -> Result<Vec<Count>, sqlx::Error> {
    sqlx::query_as!(
        Count,
        r#"SELECT received_on AS "on!: Day", placed_order.supplier AS "supplier!: String",
            delivery_id AS "delivery: PlacedDeliveryId", good AS "good!: i64", lost AS "lost!: i64", '' AS "note!: String"
        FROM placed_line JOIN receipt_line ON line_id = placed_line.id
        JOIN placed_delivery ON placed_delivery.id = delivery_id JOIN placed_order ON placed_order.id = order_id
        WHERE placed_line.material_id = ?1
        UNION ALL
        SELECT lost_on, coalesce(supplier.name, ''), NULL, 0, lost, bench_loss.note
        FROM bench_loss LEFT JOIN supplier ON supplier.id = supplier_id
        WHERE material_id = ?1 AND bench_loss.removed_at IS NULL
        ORDER BY 1 DESC, 2 LIMIT ?2"#,
        material,
        LATEST
    )
    .fetch_all(connection)
    .await
}
