//! Reading the tables of placed orders, one read each, many orders at once.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use crate::ground::choice::Choice;
use crate::ground::dates::{Day, Moment, TimeOfDay};
use crate::ground::ids::{
    EventId, MaterialId, OfferId, PlacedDeliveryId, PlacedLineId, PlacedOrderId, SupplierId, json_list,
};
use crate::ground::money::Money;
use crate::price_list::Unit;
use crate::stem_order::placing::{
    AnswerKind, Answered, PlacedDelivery, PlacedLine, PlacedOrder, PlacedShare, Said,
};

pub(super) async fn orders(
    connection: &mut SqliteConnection,
    ids: &[PlacedOrderId],
) -> Result<Vec<PlacedOrder>, sqlx::Error> {
    let ids = json_list(ids);
    let rows = sqlx::query!(
        r#"SELECT id AS "id: PlacedOrderId", number, supplier_id AS "supplier_id: SupplierId", supplier, account, contact,
            email, phone, placed_on AS "placed_on: Day", recorded_at AS "recorded_at: Moment", note
        FROM placed_order WHERE id IN (SELECT value FROM json_each(?)) ORDER BY number"#,
        ids
    )
    .fetch_all(connection)
    .await?;
    let order = rows.into_iter().map(|row| PlacedOrder {
        id: row.id,
        number: row.number,
        supplier_id: row.supplier_id,
        supplier: row.supplier,
        account: row.account,
        contact: row.contact,
        email: row.email,
        phone: row.phone,
        placed_on: row.placed_on,
        recorded_at: row.recorded_at,
        note: row.note,
        events: Vec::new(),
        deliveries: Vec::new(),
    });
    Ok(order.collect())
}

pub(super) async fn events(
    connection: &mut SqliteConnection,
    orders: &[PlacedOrderId],
) -> Result<Vec<(PlacedOrderId, EventId)>, sqlx::Error> {
    let orders = json_list(orders);
    let rows = sqlx::query!(
        r#"SELECT order_id AS "order_id: PlacedOrderId", event_id AS "event_id: EventId" FROM placed_order_event
        WHERE order_id IN (SELECT value FROM json_each(?)) ORDER BY order_id, event_id"#,
        orders
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.order_id, row.event_id)).collect())
}

/// A delivery without its lines, as its row and its order's tell it.
struct DeliveryRow {
    id: PlacedDeliveryId,
    order_id: PlacedOrderId,
    supplier_id: SupplierId,
    supplier: String,
    day: Day,
    order_by_day: Day,
    order_by_time: TimeOfDay,
    fee: Money,
}

impl From<DeliveryRow> for PlacedDelivery {
    fn from(row: DeliveryRow) -> PlacedDelivery {
        PlacedDelivery {
            id: row.id,
            order_id: row.order_id,
            supplier_id: row.supplier_id,
            supplier: row.supplier,
            day: row.day,
            order_by_day: row.order_by_day,
            order_by_time: row.order_by_time,
            fee: row.fee,
            lines: Vec::new(),
        }
    }
}

pub(super) async fn deliveries_of(
    connection: &mut SqliteConnection,
    orders: &[PlacedOrderId],
) -> Result<Vec<PlacedDelivery>, sqlx::Error> {
    let orders = json_list(orders);
    let rows = sqlx::query_as!(
        DeliveryRow,
        r#"SELECT d.id AS "id: PlacedDeliveryId", order_id AS "order_id: PlacedOrderId", supplier_id AS "supplier_id: SupplierId",
            supplier, day AS "day: Day", order_by_day AS "order_by_day: Day", order_by_time AS "order_by_time: TimeOfDay",
            fee AS "fee: Money"
        FROM placed_delivery d JOIN placed_order o ON o.id = order_id
        WHERE order_id IN (SELECT value FROM json_each(?)) ORDER BY day, supplier, d.id"#,
        orders
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(PlacedDelivery::from).collect())
}

pub(super) async fn deliveries_between(
    connection: &mut SqliteConnection,
    from: Day,
    to: Day,
) -> Result<Vec<PlacedDelivery>, sqlx::Error> {
    let rows = sqlx::query_as!(
        DeliveryRow,
        r#"SELECT d.id AS "id: PlacedDeliveryId", order_id AS "order_id: PlacedOrderId", supplier_id AS "supplier_id: SupplierId",
            supplier, day AS "day: Day", order_by_day AS "order_by_day: Day", order_by_time AS "order_by_time: TimeOfDay",
            fee AS "fee: Money"
        FROM placed_delivery d JOIN placed_order o ON o.id = order_id
        WHERE day BETWEEN ? AND ? ORDER BY day, supplier, d.id"#,
        from,
        to
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(PlacedDelivery::from).collect())
}

pub(super) async fn delivery(
    connection: &mut SqliteConnection,
    id: PlacedDeliveryId,
) -> Result<Option<PlacedDelivery>, sqlx::Error> {
    let row = sqlx::query_as!(
        DeliveryRow,
        r#"SELECT d.id AS "id: PlacedDeliveryId", order_id AS "order_id: PlacedOrderId", supplier_id AS "supplier_id: SupplierId",
            supplier, day AS "day: Day", order_by_day AS "order_by_day: Day", order_by_time AS "order_by_time: TimeOfDay",
            fee AS "fee: Money"
        FROM placed_delivery d JOIN placed_order o ON o.id = order_id WHERE d.id = ?"#,
        id
    )
    .fetch_optional(connection)
    .await?;
    Ok(row.map(PlacedDelivery::from))
}

/// Lines in their order on the paper, each with the delivery it is on. The unit is the material's.
pub(super) async fn lines(
    connection: &mut SqliteConnection,
    deliveries: &[PlacedDeliveryId],
) -> Result<Vec<(PlacedDeliveryId, PlacedLine)>, sqlx::Error> {
    let deliveries = json_list(deliveries);
    let rows = sqlx::query!(
        r#"SELECT l.id AS "id: PlacedLineId", delivery_id AS "delivery_id: PlacedDeliveryId", offer_id AS "offer_id: OfferId",
            material_id AS "material_id: MaterialId", l.name, looks, m.unit AS "unit: Unit", pack_name, pack_size, packs,
            price AS "price: Money", working
        FROM placed_line l JOIN material m ON m.id = material_id
        WHERE delivery_id IN (SELECT value FROM json_each(?)) ORDER BY delivery_id, position, l.id"#,
        deliveries
    )
    .fetch_all(connection)
    .await?;
    let line = rows.into_iter().map(|row| {
        let line = PlacedLine {
            id: row.id,
            offer_id: row.offer_id,
            material_id: row.material_id,
            name: row.name,
            looks: row.looks,
            unit: row.unit,
            pack_name: row.pack_name,
            pack_size: row.pack_size,
            packs: row.packs,
            price: row.price,
            working: row.working,
            answer: None,
            shares: Vec::new(),
        };
        (row.delivery_id, line)
    });
    Ok(line.collect())
}

pub(super) async fn shares(
    connection: &mut SqliteConnection,
    deliveries: &[PlacedDeliveryId],
) -> Result<HashMap<PlacedLineId, Vec<PlacedShare>>, sqlx::Error> {
    let deliveries = json_list(deliveries);
    let rows = sqlx::query!(
        r#"SELECT line_id AS "line_id: PlacedLineId", event_id AS "event_id: EventId", stems, goods AS "goods: Money"
        FROM placed_share s JOIN placed_line l ON l.id = line_id
        WHERE delivery_id IN (SELECT value FROM json_each(?)) ORDER BY s.id"#,
        deliveries
    )
    .fetch_all(connection)
    .await?;
    let mut shares: HashMap<PlacedLineId, Vec<PlacedShare>> = HashMap::new();
    for row in rows {
        let share = PlacedShare { event_id: row.event_id, stems: row.stems, goods: row.goods };
        shares.entry(row.line_id).or_default().push(share);
    }
    Ok(shares)
}

/// The latest answer to each line that has one.
pub(super) async fn answers(
    connection: &mut SqliteConnection,
    deliveries: &[PlacedDeliveryId],
) -> Result<HashMap<PlacedLineId, Answered>, sqlx::Error> {
    let deliveries = json_list(deliveries);
    let rows = sqlx::query!(
        r#"SELECT a.line_id AS "line_id: PlacedLineId", kind, a.packs, a.price AS "price: Money", note,
            recorded_at AS "recorded_at: Moment"
        FROM placed_line_answer a JOIN placed_line l ON l.id = a.line_id
        WHERE delivery_id IN (SELECT value FROM json_each(?))
            AND NOT EXISTS (SELECT 1 FROM placed_line_answer later WHERE later.line_id = a.line_id AND later.id > a.id)"#,
        deliveries
    )
    .fetch_all(connection)
    .await?;
    // A row of no kind takes back what was said.
    let answer = rows.into_iter().filter_map(|row| {
        let kind = AnswerKind::from_code(&row.kind)?;
        let answer = Answered {
            kind,
            packs: row.packs,
            price: row.price,
            note: row.note,
            recorded_at: row.recorded_at,
        };
        Some((row.line_id, answer))
    });
    Ok(answer.collect())
}

/// Everything that was ever said of an order's lines, oldest first.
pub(super) async fn history(
    connection: &mut SqliteConnection,
    order: PlacedOrderId,
) -> Result<Vec<Said>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT a.id AS "id: i64", l.delivery_id AS "delivery_id: PlacedDeliveryId", a.line_id AS "line_id: PlacedLineId",
            kind, a.packs, a.price AS "price: Money", note, recorded_at AS "recorded_at: Moment"
        FROM placed_line_answer a JOIN placed_line l ON l.id = a.line_id JOIN placed_delivery d ON d.id = l.delivery_id
        WHERE d.order_id = ? ORDER BY a.id"#,
        order
    )
    .fetch_all(connection)
    .await?;
    let said = rows.into_iter().map(|row| Said {
        id: row.id,
        delivery_id: row.delivery_id,
        line_id: row.line_id,
        kind: AnswerKind::from_code(&row.kind),
        packs: row.packs,
        price: row.price,
        note: row.note,
        recorded_at: row.recorded_at,
    });
    Ok(said.collect())
}
