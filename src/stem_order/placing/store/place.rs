//! Adding rows: an order that leaves the house, and what is said of its lines afterwards.

use serde::Serialize;
use sqlx::SqliteConnection;

use crate::ground::choice::Choice;
use crate::ground::dates::Moment;
use crate::ground::ids::{PlacedDeliveryId, PlacedLineId, PlacedOrderId, json_list};
use crate::ground::money::Money;
use crate::stem_order::placing::{AnswerKind, NewDelivery, NewOrder, NewPlacement};

/// Places one order a supplier, in the placement's order, and gives their identities. An order whose key was used
/// before is not placed again: its identity is given. Nothing is kept unless the caller commits.
pub async fn place(
    connection: &mut SqliteConnection,
    new: &NewPlacement,
) -> Result<Vec<PlacedOrderId>, sqlx::Error> {
    let mut placed = Vec::new();
    for order in &new.orders {
        let key = format!("{}/{}", new.once_key, order.supplier_id);
        let known = sqlx::query_scalar!(
            r#"SELECT id AS "id: PlacedOrderId" FROM placed_order WHERE once_key = ?"#,
            key
        )
        .fetch_optional(&mut *connection)
        .await?;
        placed.push(match known {
            Some(known) => known,
            None => add_order(connection, new, order, &key).await?,
        });
    }
    Ok(placed)
}

/// The orders that were placed with a placement's key, by number.
pub async fn orders_of_key(
    connection: &mut SqliteConnection,
    once_key: &str,
) -> Result<Vec<PlacedOrderId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT id AS "id: PlacedOrderId" FROM placed_order
        WHERE once_key = ?1 || '/' || supplier_id ORDER BY number"#,
        once_key
    )
    .fetch_all(connection)
    .await
}

async fn add_order(
    connection: &mut SqliteConnection,
    new: &NewPlacement,
    order: &NewOrder,
    key: &str,
) -> Result<PlacedOrderId, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO placed_order (number, once_key, supplier_id, supplier, account, contact, email, phone, placed_on,
            recorded_at, note)
        SELECT coalesce(max(number), 0) + 1, ?, ?, ?, ?, ?, ?, ?, ?, ?, ? FROM placed_order",
        key,
        order.supplier_id,
        order.supplier,
        order.account,
        order.contact,
        order.email,
        order.phone,
        new.placed_on,
        new.recorded_at,
        new.note
    )
    .execute(&mut *connection)
    .await?;
    let id = PlacedOrderId(added.last_insert_rowid());
    let events = json_list(&order.events);
    sqlx::query!(
        "INSERT INTO placed_order_event (order_id, event_id) SELECT ?, value FROM json_each(?)",
        id,
        events
    )
    .execute(&mut *connection)
    .await?;
    for delivery in &order.deliveries {
        add_delivery(connection, id, delivery).await?;
    }
    Ok(id)
}

async fn add_delivery(
    connection: &mut SqliteConnection,
    order: PlacedOrderId,
    delivery: &NewDelivery,
) -> Result<(), sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO placed_delivery (order_id, day, order_by_day, order_by_time, fee) VALUES (?, ?, ?, ?, ?)",
        order,
        delivery.day,
        delivery.order_by_day,
        delivery.order_by_time,
        delivery.fee
    )
    .execute(&mut *connection)
    .await?;
    let id = PlacedDeliveryId(added.last_insert_rowid());
    add_lines(connection, id, delivery).await?;
    add_shares(connection, id, delivery).await
}

async fn add_lines(
    connection: &mut SqliteConnection,
    delivery: PlacedDeliveryId,
    new: &NewDelivery,
) -> Result<(), sqlx::Error> {
    let lines = new.lines.iter().map(|line| {
        (
            line.offer_id,
            line.material_id,
            (&line.name, &line.looks, &line.pack_name),
            (line.pack_size, line.packs, line.price),
            &line.working,
        )
    });
    let lines = json(&lines.collect::<Vec<_>>())?;
    sqlx::query!(
        "INSERT INTO placed_line (delivery_id, position, offer_id, material_id, name, looks, pack_name, pack_size, packs, price,
            working)
        SELECT ?, key + 1, value ->> '$[0]', value ->> '$[1]', value ->> '$[2][0]', value ->> '$[2][1]', value ->> '$[2][2]',
            value ->> '$[3][0]', value ->> '$[3][1]', value ->> '$[3][2]', value ->> '$[4]'
        FROM json_each(?) ORDER BY key",
        delivery,
        lines
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Each share finds its line by the line's position on the delivery.
async fn add_shares(
    connection: &mut SqliteConnection,
    delivery: PlacedDeliveryId,
    new: &NewDelivery,
) -> Result<(), sqlx::Error> {
    let shares = (1..).zip(&new.lines).flat_map(|(position, line): (i64, _)| {
        line.shares.iter().map(move |share| (position, share.event_id, share.stems, share.goods))
    });
    let shares = json(&shares.collect::<Vec<_>>())?;
    sqlx::query!(
        "INSERT INTO placed_share (line_id, event_id, stems, goods)
        SELECT placed_line.id, share.value ->> '$[1]', share.value ->> '$[2]', share.value ->> '$[3]'
        FROM json_each(?) share JOIN placed_line ON delivery_id = ? AND position = share.value ->> '$[0]' ORDER BY share.key",
        shares,
        delivery
    )
    .execute(connection)
    .await
    .map(drop)
}

/// The kind of a row that takes back what was said.
const TAKEN_BACK: &str = "placed";

/// What is to be known of a line from now on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NewAnswer {
    /// Which line.
    pub line_id: PlacedLineId,
    /// Who spoke; none where what was said is taken back, so that the line counts as placed.
    pub kind: Option<AnswerKind>,
    /// Packs that will come.
    pub packs: i64,
    /// At which price a pack.
    pub price: Money,
}

/// Records what is known of some lines from now on.
pub async fn answer(
    connection: &mut SqliteConnection,
    answers: &[NewAnswer],
    note: &str,
    now: Moment,
) -> Result<(), sqlx::Error> {
    let kind = |new: &NewAnswer| new.kind.map_or(TAKEN_BACK, Choice::code);
    let answers: Vec<_> = answers.iter().map(|new| (new.line_id, kind(new), new.packs, new.price)).collect();
    let answers = json(&answers)?;
    sqlx::query!(
        "INSERT INTO placed_line_answer (line_id, kind, packs, price, note, recorded_at)
        SELECT value ->> '$[0]', value ->> '$[1]', value ->> '$[2]', value ->> '$[3]', ?, ? FROM json_each(?) ORDER BY key",
        note,
        now,
        answers
    )
    .execute(connection)
    .await
    .map(drop)
}

fn json<T: Serialize>(rows: &T) -> Result<String, sqlx::Error> {
    serde_json::to_string(rows).map_err(|error| sqlx::Error::Encode(error.into()))
}
