//! All SQL for lots: reading what lies on hand, taking in, counting, writing off. Reservations and left-overs have
//! files of their own.

mod left_overs;
mod reservations;

pub use left_overs::*;
pub use reservations::*;

use std::collections::{BTreeMap, HashMap};

use sqlx::SqliteConnection;

use super::holding::{Holding, OnHand};
use super::{Change, ChangeKind, Lot, Reservation};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, MaterialId, StockLotId, json_list};

/// A lot as it comes in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewLot {
    /// Of what.
    pub material: MaterialId,
    /// When it came.
    pub arrived_on: Day,
    /// How many.
    pub count: i64,
    /// Where from, what to remember.
    pub note: String,
    /// Taken in once under this key; none where nothing can be sent twice.
    pub once_key: Option<String>,
}

/// When a change is made: the studio's day and the moment.
pub type When = (Day, Moment);

/// Every lot that is not removed, with what is reserved of it; the oldest first.
pub async fn holdings(connection: &mut SqliteConnection) -> Result<Vec<Holding>, sqlx::Error> {
    let lots = sqlx::query_as!(
        Lot,
        r#"SELECT id AS "id!: StockLotId", version, material_id AS "material: MaterialId",
            arrived_on AS "arrived_on: Day", on_hand, counted_on AS "counted_on: Day", note
        FROM stock_lot WHERE removed_at IS NULL ORDER BY arrived_on, id"#
    )
    .fetch_all(&mut *connection)
    .await?;
    with_reservations(connection, lots).await
}

/// The lots of these materials, the oldest first.
pub async fn holdings_of(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
) -> Result<Vec<Holding>, sqlx::Error> {
    let materials = json_list(materials);
    let lots = sqlx::query_as!(
        Lot,
        r#"SELECT id AS "id!: StockLotId", version, material_id AS "material: MaterialId",
            arrived_on AS "arrived_on: Day", on_hand, counted_on AS "counted_on: Day", note
        FROM stock_lot WHERE removed_at IS NULL AND material_id IN (SELECT value FROM json_each(?))
        ORDER BY arrived_on, id"#,
        materials
    )
    .fetch_all(&mut *connection)
    .await?;
    with_reservations(connection, lots).await
}

/// One lot.
pub async fn holding(
    connection: &mut SqliteConnection,
    id: StockLotId,
) -> Result<Option<Holding>, sqlx::Error> {
    Ok(holdings_by(connection, &[id]).await?.into_iter().next())
}

/// These lots, the oldest first.
pub async fn holdings_by(
    connection: &mut SqliteConnection,
    lots: &[StockLotId],
) -> Result<Vec<Holding>, sqlx::Error> {
    let lots = json_list(lots);
    let lots = sqlx::query_as!(
        Lot,
        r#"SELECT id AS "id!: StockLotId", version, material_id AS "material: MaterialId",
            arrived_on AS "arrived_on: Day", on_hand, counted_on AS "counted_on: Day", note
        FROM stock_lot WHERE removed_at IS NULL AND id IN (SELECT value FROM json_each(?)) ORDER BY arrived_on, id"#,
        lots
    )
    .fetch_all(&mut *connection)
    .await?;
    with_reservations(connection, lots).await
}

/// What lies on hand of these materials, as an order for these events sees it; the oldest first.
pub async fn on_hand(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    events: &[EventId],
) -> Result<BTreeMap<MaterialId, Vec<OnHand>>, sqlx::Error> {
    let mut on_hand: BTreeMap<MaterialId, Vec<OnHand>> = BTreeMap::new();
    for holding in holdings_of(connection, materials).await? {
        if holding.lot.on_hand > 0 {
            on_hand.entry(holding.lot.material).or_default().push(holding.for_order(events));
        }
    }
    Ok(on_hand)
}

async fn with_reservations(
    connection: &mut SqliteConnection,
    lots: Vec<Lot>,
) -> Result<Vec<Holding>, sqlx::Error> {
    let ids: Vec<StockLotId> = lots.iter().map(|lot| lot.id).collect();
    let mut by_lot: HashMap<StockLotId, Vec<Reservation>> = HashMap::new();
    for reservation in reservations_of(connection, &ids).await? {
        by_lot.entry(reservation.lot).or_default().push(reservation);
    }
    let holding = |lot: Lot| Holding { reservations: by_lot.remove(&lot.id).unwrap_or_default(), lot };
    Ok(lots.into_iter().map(holding).collect())
}

/// Takes a lot into stock; none where that was done under the same key before.
pub async fn take_in(
    connection: &mut SqliteConnection,
    new: &NewLot,
    (today, now): When,
) -> Result<Option<StockLotId>, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO stock_lot (material_id, arrived_on, on_hand, counted_on, note, once_key) VALUES (?, ?, ?, ?, ?, ?)
        ON CONFLICT (once_key) DO NOTHING",
        new.material,
        new.arrived_on,
        new.count,
        today,
        new.note,
        new.once_key
    )
    .execute(&mut *connection)
    .await?;
    if added.rows_affected() == 0 {
        return Ok(None);
    }
    let id = StockLotId(added.last_insert_rowid());
    note_change(connection, (id, ChangeKind::TakenIn, new.count), &new.note, (today, now)).await?;
    Ok(Some(id))
}

/// Counts a lot anew: what events before today have taken is in the count.
pub async fn count(
    connection: &mut SqliteConnection,
    id: StockLotId,
    count: i64,
    (today, now): When,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "UPDATE stock_lot SET version = version + 1, on_hand = ?, counted_on = ? WHERE id = ?",
        count,
        today,
        id
    )
    .execute(&mut *connection)
    .await?;
    note_change(connection, (id, ChangeKind::Counted, count), "", (today, now)).await
}

/// Writes some of a lot off.
pub async fn write_off(
    connection: &mut SqliteConnection,
    (id, count): (StockLotId, i64),
    why: &str,
    (today, now): When,
) -> Result<i64, sqlx::Error> {
    sqlx::query!("UPDATE stock_lot SET version = version + 1, on_hand = on_hand - ? WHERE id = ?", count, id)
        .execute(&mut *connection)
        .await?;
    note_change(connection, (id, ChangeKind::WrittenOff, count), why, (today, now)).await?;
    sqlx::query_scalar!(r#"SELECT max(id) AS "id!: i64" FROM stock_change WHERE lot_id = ?"#, id)
        .fetch_one(connection)
        .await
}

async fn note_change(
    connection: &mut SqliteConnection,
    (lot, kind, count): (StockLotId, ChangeKind, i64),
    note: &str,
    (today, now): When,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO stock_change (lot_id, kind, count, changed_on, note, recorded_at) VALUES (?, ?, ?, ?, ?, ?)",
        lot,
        kind,
        count,
        today,
        note,
        now
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Takes a write-off back, unless that was done or the lot was counted since.
pub async fn undo_write_off(
    connection: &mut SqliteConnection,
    change: i64,
    now: Moment,
) -> Result<Option<StockLotId>, sqlx::Error> {
    let undone = sqlx::query!(
        r#"UPDATE stock_change SET undone_at = ? WHERE id = ? AND kind = 'written_off' AND undone_at IS NULL
            AND NOT EXISTS (SELECT 1 FROM stock_change later WHERE later.lot_id = stock_change.lot_id
                AND later.kind = 'counted' AND later.id > stock_change.id)
        RETURNING lot_id AS "lot_id: StockLotId", count"#,
        now,
        change
    )
    .fetch_optional(&mut *connection)
    .await?;
    let Some(undone) = undone else { return Ok(None) };
    sqlx::query!(
        "UPDATE stock_lot SET version = version + 1, on_hand = on_hand + ? WHERE id = ?",
        undone.count,
        undone.lot_id
    )
    .execute(connection)
    .await?;
    Ok(Some(undone.lot_id))
}

/// Changes when a lot came and what to remember of it.
pub async fn change(
    connection: &mut SqliteConnection,
    id: StockLotId,
    arrived_on: Day,
    note: &str,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "UPDATE stock_lot SET version = version + 1, arrived_on = ?, note = ? WHERE id = ?",
        arrived_on,
        note,
        id
    )
    .execute(connection)
    .await
    .map(drop)
}

/// What happened to a lot, the latest first.
pub async fn changes(connection: &mut SqliteConnection, lot: StockLotId) -> Result<Vec<Change>, sqlx::Error> {
    sqlx::query_as!(
        Change,
        r#"SELECT id AS "id!", lot_id AS "lot: StockLotId", kind AS "kind: ChangeKind", count,
            changed_on AS "changed_on: Day", note, recorded_at AS "recorded_at: Moment", undone_at AS "undone_at: Moment"
        FROM stock_change WHERE lot_id = ? ORDER BY id DESC"#,
        lot
    )
    .fetch_all(connection)
    .await
}
