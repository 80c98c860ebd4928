//! From the book to the troubles: which events were ordered together, what came for them, and what they still need.

use std::collections::{BTreeMap, BTreeSet};

use sqlx::SqliteConnection;

use super::super::Receipt;
use super::super::shortage::{self, BenchLost, Came, Chance, Line, Reserved, Trouble};
use super::receipts;
use crate::events;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId, PlacedLineId, SupplierId, json_list};
use crate::price_list;
use crate::stem_order::calendar::{LocalTime, delivers, order_by};
use crate::stem_order::closed_days;
use crate::stem_order::placing::{self, PlacedDelivery, PlacedOrder};
use crate::stem_order::stock;
use crate::stem_order::store::{LoadError, load_weekend};
use crate::stem_order::weekend::Weekend;
use crate::studio::Studio;

/// The troubles of every event from today on for which something was ordered, worst first.
pub async fn open_troubles(
    connection: &mut SqliteConnection,
    studio: &Studio,
    now: LocalTime,
) -> Result<Vec<Trouble>, LoadError> {
    let events = open_events(connection, now.day).await?;
    troubles(connection, studio, now, &events).await
}

/// The troubles of these events, worst first. Those that were ordered together with them are reckoned too, since they
/// share stems and spares, but not told.
pub async fn troubles(
    connection: &mut SqliteConnection,
    studio: &Studio,
    now: LocalTime,
    of: &[EventId],
) -> Result<Vec<Trouble>, LoadError> {
    let open = open_events(connection, now.day).await?;
    let mut told = Vec::new();
    for (events, orders) in ordered_together(connection, of).await? {
        let events: Vec<EventId> = events.into_iter().filter(|event| open.contains(event)).collect();
        if events.is_empty() {
            continue;
        }
        told.extend(together(connection, studio, now, &events, &orders).await?);
    }
    told.retain(|trouble| of.contains(&trouble.event));
    told.sort_by_cached_key(shortage::Trouble::rank);
    Ok(told)
}

/// Open events from a day on for which something was ordered.
async fn open_events(connection: &mut SqliteConnection, from: Day) -> Result<Vec<EventId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT id AS "id: EventId" FROM event
        WHERE day >= ? AND removed_at IS NULL AND ending IS NULL
            AND id IN (SELECT event_id FROM placed_order_event) ORDER BY day, id"#,
        from
    )
    .fetch_all(connection)
    .await
}

/// The events with all that were ordered together with them, and their orders, set by set.
async fn ordered_together(
    connection: &mut SqliteConnection,
    of: &[EventId],
) -> Result<Vec<(BTreeSet<EventId>, Vec<PlacedOrder>)>, sqlx::Error> {
    let mut events: BTreeSet<EventId> = of.iter().copied().collect();
    let orders = loop {
        let asked: Vec<EventId> = events.iter().copied().collect();
        let orders = placing::store::orders_of_events(connection, &asked).await?;
        events.extend(orders.iter().flat_map(|order| &order.events));
        if events.len() == asked.len() {
            break orders;
        }
    };
    let mut sets: Vec<(BTreeSet<EventId>, Vec<PlacedOrder>)> = Vec::new();
    for order in orders {
        let mut joined: (BTreeSet<EventId>, Vec<PlacedOrder>) =
            (order.events.iter().copied().collect(), vec![order]);
        let (touching, apart): (Vec<_>, Vec<_>) =
            sets.into_iter().partition(|(events, _)| !events.is_disjoint(&joined.0));
        for (events, orders) in touching {
            joined.0.extend(events);
            joined.1.extend(orders);
        }
        sets = apart;
        sets.push(joined);
    }
    Ok(sets)
}

async fn together(
    connection: &mut SqliteConnection,
    studio: &Studio,
    now: LocalTime,
    events: &[EventId],
    orders: &[PlacedOrder],
) -> Result<Vec<Trouble>, LoadError> {
    let weekend = load_weekend(connection, studio, events).await?;
    let mut pieces: BTreeMap<EventId, Vec<events::Piece>> = BTreeMap::new();
    for piece in events::store::pieces(connection, events).await? {
        pieces.entry(piece.event_id).or_default().push(piece);
    }
    let deliveries: Vec<&PlacedDelivery> = orders.iter().flat_map(|order| &order.deliveries).collect();
    let ids: Vec<PlacedLineId> =
        deliveries.iter().flat_map(|delivery| &delivery.lines).map(|line| line.id).collect();
    let receipts = receipts(connection, &ids).await?;
    let first = receipts.iter().map(|receipt| receipt.received_on).min();
    let bench = match first {
        Some(first) => bench_lost(connection, &weekend, events, first).await?,
        None => Vec::new(),
    };
    let reserved: Vec<Reserved> = stock::store::reserved_for(connection, events)
        .await?
        .into_iter()
        .map(|(material, one)| Reserved { event: one.event, material, count: one.count })
        .collect();
    let chances = chances(connection, &weekend, now).await?;
    let gone = left_over(connection, &ids).await?;
    let lines = lines(&deliveries, &receipts, &gone);
    let came = Came {
        weekend: &weekend,
        pieces: &pieces,
        lines: &lines,
        reserved: &reserved,
        bench: &bench,
        chances: &chances,
    };
    Ok(shortage::troubles(&came))
}

/// Stems of these lines that went into stock or were written off: they serve nobody as delivered any more.
async fn left_over(
    connection: &mut SqliteConnection,
    lines: &[PlacedLineId],
) -> Result<BTreeMap<PlacedLineId, i64>, sqlx::Error> {
    let lines = json_list(lines);
    let rows = sqlx::query!(
        r#"SELECT line_id AS "line: PlacedLineId", taken_in + written_off AS "gone!: i64" FROM left_over
        WHERE line_id IN (SELECT value FROM json_each(?)) AND removed_at IS NULL"#,
        lines
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.line, row.gone)).collect())
}

/// Placed lines by day: what came good and is not gone, or what is expected.
fn lines(
    deliveries: &[&PlacedDelivery],
    receipts: &[Receipt],
    gone: &BTreeMap<PlacedLineId, i64>,
) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    for delivery in deliveries {
        for line in &delivery.lines {
            let receipt = receipts.iter().find(|receipt| receipt.line == line.id);
            let promised = line.shares.iter().map(|share| (share.event_id, share.stems)).collect();
            lines.push(Line {
                material: line.material_id,
                day: delivery.day,
                supplier: delivery.supplier.clone(),
                received: receipt.is_some(),
                stems: receipt.map_or_else(
                    || line.expected_stems(),
                    |receipt| receipt.good - gone.get(&line.id).copied().unwrap_or(0),
                ),
                promised,
            });
        }
    }
    lines.sort_by_key(|line| line.day);
    lines
}

/// What the bench lost of these events' materials: for them, or for nobody in particular since their first stems came.
async fn bench_lost(
    connection: &mut SqliteConnection,
    weekend: &Weekend,
    events: &[EventId],
    since: Day,
) -> Result<Vec<BenchLost>, sqlx::Error> {
    let materials: Vec<MaterialId> = weekend.book.materials.keys().copied().collect();
    let (materials, events) = (json_list(&materials), json_list(events));
    sqlx::query_as!(
        BenchLost,
        r#"SELECT event_id AS "event: EventId", material_id AS "material: MaterialId", sum(lost) AS "count!: i64"
        FROM bench_loss WHERE removed_at IS NULL AND lost_on >= ? AND material_id IN (SELECT value FROM json_each(?))
            AND (event_id IS NULL OR event_id IN (SELECT value FROM json_each(?)))
        GROUP BY event_id, material_id"#,
        since,
        materials,
        events
    )
    .fetch_all(connection)
    .await
}

/// Deliveries that can still be had of each material before the last of these events, the next first.
async fn chances(
    connection: &mut SqliteConnection,
    weekend: &Weekend,
    now: LocalTime,
) -> Result<BTreeMap<MaterialId, Vec<Chance>>, sqlx::Error> {
    let Some(last) = weekend.events.iter().map(|event| event.event.day).max() else {
        return Ok(BTreeMap::new());
    };
    let suppliers = price_list::store::suppliers(connection).await?;
    let closed = closed_days::store::closed_days(connection).await?;
    let mut coming: BTreeMap<SupplierId, Vec<Chance>> = BTreeMap::new();
    for supplier in &suppliers {
        let days = (0..=last.days_after(now.day)).map(|later| now.day.plus(later));
        let chances = days.filter(|day| delivers(supplier, *day, &closed)).filter_map(|day| {
            let order_by = order_by(supplier, day, &closed);
            (now <= order_by).then(|| Chance { supplier: supplier.name.clone(), day, order_by })
        });
        coming.insert(supplier.id, chances.collect());
    }
    let materials: Vec<MaterialId> = weekend.book.materials.keys().copied().collect();
    let mut chances: BTreeMap<MaterialId, Vec<Chance>> = BTreeMap::new();
    for offer in price_list::store::offers(connection, &materials, now.day).await? {
        let known = chances.entry(offer.material_id).or_default();
        known.extend(coming.get(&offer.supplier_id).into_iter().flatten().cloned());
    }
    for chances in chances.values_mut() {
        chances.sort_by(|one, other| (one.day, &one.supplier).cmp(&(other.day, &other.supplier)));
        chances.dedup();
    }
    Ok(chances)
}
