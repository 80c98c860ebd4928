//! All SQL for placed orders. Rows are added, never changed.

mod place;
mod rows;

pub use place::{NewAnswer, answer, orders_of_key, place};

use sqlx::SqliteConnection;

use super::{PlacedDelivery, PlacedOrder, Said};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, PlacedDeliveryId, PlacedOrderId, SupplierId, json_list};

/// How many orders a list page holds.
pub const PAGE: i64 = 50;

/// Which orders a list shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Listed {
    /// Only those with a delivery on or after this day.
    pub coming_from: Option<Day>,
    /// Only those with this supplier.
    pub supplier: Option<SupplierId>,
}

/// Every order that names one of these events, by number.
pub async fn orders_of_events(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<Vec<PlacedOrder>, sqlx::Error> {
    let events = json_list(events);
    let ids = sqlx::query_scalar!(
        r#"SELECT DISTINCT order_id AS "id: PlacedOrderId" FROM placed_order_event
        WHERE event_id IN (SELECT value FROM json_each(?))"#,
        events
    )
    .fetch_all(&mut *connection)
    .await?;
    orders(connection, &ids).await
}

/// One order.
pub async fn order(
    connection: &mut SqliteConnection,
    id: PlacedOrderId,
) -> Result<Option<PlacedOrder>, sqlx::Error> {
    Ok(orders(connection, &[id]).await?.pop())
}

/// A page of orders, the latest first; one more than a page, to tell whether more follow.
pub async fn recent(
    connection: &mut SqliteConnection,
    listed: Listed,
    page: i64,
) -> Result<Vec<PlacedOrder>, sqlx::Error> {
    let (limit, offset) = (PAGE + 1, page.saturating_mul(PAGE));
    let ids = sqlx::query_scalar!(
        r#"SELECT id AS "id: PlacedOrderId" FROM placed_order o
        WHERE (?1 IS NULL OR supplier_id = ?1)
            AND (?2 IS NULL OR EXISTS (SELECT 1 FROM placed_delivery WHERE order_id = o.id AND day >= ?2))
        ORDER BY number DESC LIMIT ?3 OFFSET ?4"#,
        listed.supplier,
        listed.coming_from,
        limit,
        offset
    )
    .fetch_all(&mut *connection)
    .await?;
    let mut orders = orders(connection, &ids).await?;
    orders.reverse();
    Ok(orders)
}

/// Whether any order was ever placed.
pub async fn any(connection: &mut SqliteConnection) -> Result<bool, sqlx::Error> {
    let any = sqlx::query_scalar!(r#"SELECT EXISTS (SELECT 1 FROM placed_order) AS "any: bool""#);
    any.fetch_one(connection).await
}

/// These orders, by number, in six reads however many they are.
pub async fn orders(
    connection: &mut SqliteConnection,
    ids: &[PlacedOrderId],
) -> Result<Vec<PlacedOrder>, sqlx::Error> {
    let mut orders = rows::orders(connection, ids).await?;
    for (order, event) in rows::events(connection, ids).await? {
        if let Some(order) = orders.iter_mut().find(|known| known.id == order) {
            order.events.push(event);
        }
    }
    let deliveries = rows::deliveries_of(connection, ids).await?;
    for delivery in with_lines(connection, deliveries).await? {
        if let Some(order) = orders.iter_mut().find(|order| order.id == delivery.order_id) {
            order.deliveries.push(delivery);
        }
    }
    Ok(orders)
}

/// What comes on these days, both included: by day, then supplier.
pub async fn deliveries_between(
    connection: &mut SqliteConnection,
    from: Day,
    to: Day,
) -> Result<Vec<PlacedDelivery>, sqlx::Error> {
    let deliveries = rows::deliveries_between(connection, from, to).await?;
    with_lines(connection, deliveries).await
}

/// One delivery.
pub async fn delivery(
    connection: &mut SqliteConnection,
    id: PlacedDeliveryId,
) -> Result<Option<PlacedDelivery>, sqlx::Error> {
    let delivery = rows::delivery(connection, id).await?;
    Ok(with_lines(connection, delivery.into_iter().collect()).await?.pop())
}

/// Everything that was ever said of an order's lines, oldest first.
pub async fn history(connection: &mut SqliteConnection, id: PlacedOrderId) -> Result<Vec<Said>, sqlx::Error> {
    rows::history(connection, id).await
}

/// Puts the lines, their latest answers and their shares in.
async fn with_lines(
    connection: &mut SqliteConnection,
    mut deliveries: Vec<PlacedDelivery>,
) -> Result<Vec<PlacedDelivery>, sqlx::Error> {
    let ids: Vec<PlacedDeliveryId> = deliveries.iter().map(|delivery| delivery.id).collect();
    let mut shares = rows::shares(connection, &ids).await?;
    let mut answers = rows::answers(connection, &ids).await?;
    for (of, mut line) in rows::lines(connection, &ids).await? {
        line.shares = shares.remove(&line.id).unwrap_or_default();
        line.answer = answers.remove(&line.id);
        if let Some(delivery) = deliveries.iter_mut().find(|delivery| delivery.id == of) {
            delivery.lines.push(line);
        }
    }
    Ok(deliveries)
}

#[cfg(test)]
mod tests;
