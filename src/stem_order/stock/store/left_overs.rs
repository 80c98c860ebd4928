//! Left-overs of deliveries that were counted in: reading them, and what became of them. Placed orders, receipts and bench
//! losses are only read.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use sqlx::SqliteConnection;

use super::{NewLot, When, reserved_for, take_in};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, MaterialId, PlacedLineId, PlacedOrderId, StockLotId, json_list};
use crate::stem_order::losses::store::lost_at_the_bench;
use crate::stem_order::stock::left::{Used, left, together};
use crate::stem_order::store::{LoadError, load_weekend};
use crate::stem_order::weekend::Weekend;
use crate::studio::Studio;

/// Deliveries are looked back at for so many days.
pub const DAYS_BACK: i64 = 35;

/// A delivered line that was counted in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivered {
    /// Which line.
    pub line: PlacedLineId,
    /// Of which order.
    pub order: PlacedOrderId,
    /// From whom.
    pub supplier: String,
    /// When it came.
    pub day: Day,
    /// Of what.
    pub material: MaterialId,
    /// Its name, as ordered.
    pub name: String,
    /// How many came good.
    pub good: i64,
    /// How many of these went into stock, if that was decided.
    pub taken_in: Option<i64>,
    /// How many of these were written off, if that was decided.
    pub written_off: Option<i64>,
    /// The lot they went into.
    pub lot: Option<StockLotId>,
}

/// A delivered line with what is left of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftLine {
    /// The line.
    pub delivered: Delivered,
    /// What is left of it by the book.
    pub left: i64,
    /// What of the material all deliveries for these events brought.
    pub good: i64,
    /// And what of it is used or still wanted.
    pub used: Used,
    /// Whether all its events are over.
    pub over: bool,
}

/// What becomes of a line's left-overs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decision {
    /// Of which line.
    pub line: PlacedLineId,
    /// How many go into stock.
    pub taken_in: i64,
    /// How many are written off.
    pub written_off: i64,
}

/// The lines of deliveries of the last [`DAYS_BACK`] days that were counted in, by day, supplier and name.
pub async fn delivered(connection: &mut SqliteConnection, today: Day) -> Result<Vec<Delivered>, sqlx::Error> {
    let from = today.plus(-DAYS_BACK);
    sqlx::query_as!(
        Delivered,
        r#"SELECT placed_line.id AS "line!: PlacedLineId", order_id AS "order: PlacedOrderId", supplier,
            placed_delivery.day AS "day: Day", material_id AS "material: MaterialId", name, good,
            taken_in AS "taken_in?", written_off AS "written_off?", lot_id AS "lot?: StockLotId"
        FROM receipt_line JOIN placed_line ON placed_line.id = receipt_line.line_id
        JOIN placed_delivery ON placed_delivery.id = delivery_id JOIN placed_order ON placed_order.id = order_id
        LEFT JOIN left_over ON left_over.line_id = placed_line.id AND left_over.removed_at IS NULL
        WHERE placed_delivery.day >= ? AND good > 0
        ORDER BY placed_delivery.day DESC, supplier, name, placed_line.id"#,
        from
    )
    .fetch_all(connection)
    .await
}

/// These lines with what is left of each.
pub async fn left_lines(
    connection: &mut SqliteConnection,
    studio: &Studio,
    today: Day,
) -> Result<Vec<LeftLine>, LoadError> {
    let delivered = delivered(connection, today).await?;
    let orders: BTreeSet<PlacedOrderId> = delivered.iter().map(|line| line.order).collect();
    let mut lines = HashMap::new();
    for group in together(&order_events(connection, &orders).await?) {
        let own: Vec<&Delivered> =
            delivered.iter().filter(|line| group.orders.contains(&line.order)).collect();
        let events: Vec<EventId> = group.events.iter().copied().collect();
        let weekend = load_weekend(connection, studio, &events).await?;
        let materials: Vec<MaterialId> = own.iter().map(|line| line.material).collect();
        let lost = match own.iter().map(|line| line.day).min() {
            Some(first) => lost_at_the_bench(connection, &materials, &events, first).await?,
            None => BTreeMap::new(),
        };
        let reserved = reserved_for(connection, &events).await?;
        let over = weekend.events.iter().all(|event| event.event.day < today);
        let used = |material: MaterialId| Used {
            lost: lost.get(&material).copied().unwrap_or(0),
            from_stock: reserved.iter().filter(|one| one.0 == material).map(|one| one.1.count).sum(),
            ..wanted(&weekend, material, over)
        };
        for line in of_group(&own, used, over) {
            lines.insert(line.delivered.line, line);
        }
    }
    Ok(delivered.iter().filter_map(|line| lines.remove(&line.line)).collect())
}

fn wanted(weekend: &Weekend, material: MaterialId, over: bool) -> Used {
    let need = weekend.need_of(material);
    let spare = need.filter(|_| !over).map_or(0, |need| need.spare.count);
    Used { need: need.map_or(0, |need| need.need), spare, ..Used::default() }
}

fn of_group(own: &[&Delivered], used: impl Fn(MaterialId) -> Used, over: bool) -> Vec<LeftLine> {
    let materials: BTreeSet<MaterialId> = own.iter().map(|line| line.material).collect();
    let mut lines = Vec::new();
    for material in materials {
        let these: Vec<&&Delivered> = own.iter().filter(|line| line.material == material).collect();
        let came: Vec<(Day, i64)> = these.iter().map(|line| (line.day, line.good)).collect();
        let used = used(material);
        let good = came.iter().map(|one| one.1).sum();
        for (line, left) in these.into_iter().zip(left(&came, used.total())) {
            lines.push(LeftLine { delivered: (*line).clone(), left, good, used, over });
        }
    }
    lines
}

async fn order_events(
    connection: &mut SqliteConnection,
    orders: &BTreeSet<PlacedOrderId>,
) -> Result<Vec<(PlacedOrderId, EventId)>, sqlx::Error> {
    let orders = json_list(&orders.iter().collect::<Vec<_>>());
    let rows = sqlx::query!(
        r#"SELECT order_id AS "order: PlacedOrderId", event_id AS "event: EventId" FROM placed_order_event
        WHERE order_id IN (SELECT value FROM json_each(?)) ORDER BY order_id, event_id"#,
        orders
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.order, row.event)).collect())
}

/// Keeps what becomes of a line's left-overs, once: what goes into stock is a lot that came on the delivery's day.
/// False where that was decided before.
pub async fn decide(
    connection: &mut SqliteConnection,
    line: &Delivered,
    decision: Decision,
    (today, now): When,
) -> Result<bool, sqlx::Error> {
    let decided = sqlx::query!(
        "INSERT INTO left_over (line_id, taken_in, written_off, decided_on, recorded_at) VALUES (?, ?, ?, ?, ?)
        ON CONFLICT (line_id) DO UPDATE SET taken_in = excluded.taken_in, written_off = excluded.written_off, lot_id = NULL,
            decided_on = excluded.decided_on, recorded_at = excluded.recorded_at, removed_at = NULL
            WHERE left_over.removed_at IS NOT NULL",
        decision.line,
        decision.taken_in,
        decision.written_off,
        today,
        now
    )
    .execute(&mut *connection)
    .await?;
    if decided.rows_affected() == 0 {
        return Ok(false);
    }
    if decision.taken_in > 0 {
        let new = NewLot {
            material: line.material,
            arrived_on: line.day.min(today),
            count: decision.taken_in,
            note: format!("left over from {}", line.supplier),
            once_key: None,
        };
        let lot = take_in(connection, &new, (today, now)).await?;
        sqlx::query!("UPDATE left_over SET lot_id = ? WHERE line_id = ?", lot, decision.line)
            .execute(connection)
            .await?;
    }
    Ok(true)
}

/// Takes a decision back: its lot is removed, unless it was counted, written off or reserved since. False where it cannot be.
pub async fn undo(
    connection: &mut SqliteConnection,
    line: PlacedLineId,
    now: Moment,
) -> Result<bool, sqlx::Error> {
    let undone = sqlx::query!(
        r#"UPDATE left_over SET removed_at = ? WHERE line_id = ? AND removed_at IS NULL
            AND NOT EXISTS (SELECT 1 FROM stock_lot WHERE stock_lot.id = left_over.lot_id AND version > 1)
            AND NOT EXISTS (SELECT 1 FROM stock_reservation
                WHERE stock_reservation.lot_id = left_over.lot_id AND released_at IS NULL)
        RETURNING lot_id AS "lot: StockLotId""#,
        now,
        line
    )
    .fetch_optional(&mut *connection)
    .await?;
    let Some(undone) = undone else { return Ok(false) };
    sqlx::query!("UPDATE stock_lot SET removed_at = ? WHERE id = ?", now, undone.lot)
        .execute(connection)
        .await?;
    Ok(true)
}
