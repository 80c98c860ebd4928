//! Reservations of lots for events.

use sqlx::SqliteConnection;

use super::{When, holdings_by};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, MaterialId, StockLotId, json_list};
use crate::stem_order::stock::{Reservation, StockUse};

/// What became of reserving.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reserving {
    /// It is reserved now.
    Done,
    /// It was reserved so already: the same key, or exactly the same pieces.
    Already,
    /// Of this lot there is not so much free any more; nothing was reserved.
    Short(StockLotId),
}

/// The reservations of these lots that count, by the event's day.
pub(super) async fn reservations_of(
    connection: &mut SqliteConnection,
    lots: &[StockLotId],
) -> Result<Vec<Reservation>, sqlx::Error> {
    let lots = json_list(lots);
    sqlx::query_as!(
        Reservation,
        r#"SELECT stock_reservation.id AS "id!", lot_id AS "lot: StockLotId", event_id AS "event: EventId",
            event.name AS event_name, event.day AS "event_day: Day", stock_reservation.count
        FROM stock_reservation JOIN stock_lot ON stock_lot.id = lot_id JOIN event ON event.id = event_id
        WHERE lot_id IN (SELECT value FROM json_each(?)) AND released_at IS NULL AND event.removed_at IS NULL
            AND coalesce(event.ending, 'closed') = 'closed' AND event.day >= counted_on
        ORDER BY event.day, stock_reservation.id"#,
        lots
    )
    .fetch_all(connection)
    .await
}

/// What these events have reserved, with the material: what they may count on beside what is ordered.
pub async fn reserved_for(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<Vec<(MaterialId, StockUse)>, sqlx::Error> {
    let events = json_list(events);
    let rows = sqlx::query!(
        r#"SELECT material_id AS "material: MaterialId", lot_id AS "lot: StockLotId", event_id AS "event: EventId", count
        FROM stock_reservation JOIN stock_lot ON stock_lot.id = lot_id
        WHERE event_id IN (SELECT value FROM json_each(?)) AND released_at IS NULL AND stock_lot.removed_at IS NULL
        ORDER BY arrived_on, lot_id, event_id"#,
        events
    )
    .fetch_all(connection)
    .await?;
    let used = |lot, event, count| StockUse { lot, event, count };
    Ok(rows.into_iter().map(|row| (row.material, used(row.lot, row.event, row.count))).collect())
}

/// Reserves what an order takes from stock for its events, in place of what they had reserved before: a new plan
/// supersedes the old one. Pressed twice with one key, reserved once; where a lot has not so much free any more, nothing is.
pub async fn reserve(
    connection: &mut SqliteConnection,
    once_key: &str,
    (events, uses): (&[EventId], &[StockUse]),
    (today, now): When,
) -> Result<Reserving, sqlx::Error> {
    let known = sqlx::query_scalar!(
        r#"SELECT EXISTS (SELECT 1 FROM stock_reservation WHERE once_key = ?) AS "known: bool""#,
        once_key
    )
    .fetch_one(&mut *connection)
    .await?;
    let mut before: Vec<StockUse> =
        reserved_for(connection, events).await?.into_iter().map(|(_, one)| one).collect();
    let mut wanted: Vec<StockUse> = uses.iter().copied().filter(|one| one.count > 0).collect();
    let place = |one: &StockUse| (one.lot, one.event, one.count);
    before.sort_by_key(place);
    wanted.sort_by_key(place);
    if known || before == wanted {
        return Ok(Reserving::Already);
    }
    if let Some(short) = short(connection, events, &wanted).await? {
        return Ok(Reserving::Short(short));
    }
    release_coming(connection, events, (today, now)).await?;
    insert(connection, once_key, &wanted, now).await?;
    Ok(Reserving::Done)
}

/// The first lot of which more is wanted than the events may have.
async fn short(
    connection: &mut SqliteConnection,
    events: &[EventId],
    uses: &[StockUse],
) -> Result<Option<StockLotId>, sqlx::Error> {
    let lots: Vec<StockLotId> = uses.iter().map(|one| one.lot).collect();
    let holdings = holdings_by(connection, &lots).await?;
    let free = |lot: StockLotId| {
        let holding = holdings.iter().find(|holding| holding.lot.id == lot);
        holding.map_or(0, |holding| holding.free_for(events))
    };
    let wanted =
        |lot: StockLotId| -> i64 { uses.iter().filter(|one| one.lot == lot).map(|one| one.count).sum() };
    Ok(lots.into_iter().find(|lot| wanted(*lot) > free(*lot)))
}

/// Past events keep theirs: that is used up.
async fn release_coming(
    connection: &mut SqliteConnection,
    events: &[EventId],
    (today, now): When,
) -> Result<(), sqlx::Error> {
    let events = json_list(events);
    sqlx::query!(
        "UPDATE stock_reservation SET released_at = ? WHERE released_at IS NULL AND event_id IN
            (SELECT id FROM event WHERE day >= ? AND id IN (SELECT value FROM json_each(?)))",
        now,
        today,
        events
    )
    .execute(connection)
    .await
    .map(drop)
}

async fn insert(
    connection: &mut SqliteConnection,
    once_key: &str,
    uses: &[StockUse],
    now: Moment,
) -> Result<(), sqlx::Error> {
    let rows: Vec<(StockLotId, EventId, i64)> =
        uses.iter().map(|one| (one.lot, one.event, one.count)).collect();
    let rows = json_list(&rows);
    sqlx::query!(
        "INSERT INTO stock_reservation (lot_id, event_id, count, once_key, recorded_at)
        SELECT json_extract(value, '$[0]'), json_extract(value, '$[1]'), json_extract(value, '$[2]'), ?, ? FROM json_each(?)",
        once_key,
        now,
        rows
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Releases a reservation, or takes that back (`None`); tells of which lot.
pub async fn set_released(
    connection: &mut SqliteConnection,
    id: i64,
    at: Option<Moment>,
) -> Result<Option<StockLotId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"UPDATE stock_reservation SET released_at = ? WHERE id = ? RETURNING lot_id AS "lot: StockLotId""#,
        at,
        id
    )
    .fetch_optional(connection)
    .await
}
