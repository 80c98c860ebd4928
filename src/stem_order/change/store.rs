//! What was ordered before for some events, and for all that belong with them. Reads only.

use std::collections::{BTreeMap, BTreeSet};

use sqlx::SqliteConnection;

use super::coming::lose_at_the_bench;
use super::{Named, OrderedBefore, Received, Standing};
use crate::events::{self, Ending, Event};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId, PlacedLineId, json_list};
use crate::stem_order::losses::store::lost_at_the_bench;
use crate::stem_order::placing::{self, PlacedLine, PlacedOrder};

/// Orders name events, and those events' orders name others: so far is this followed.
const MOST_ROUNDS: usize = 10;

/// Everything that was ordered for these events and for those that belong with them.
pub async fn ordered_before(
    connection: &mut SqliteConnection,
    asked: &[EventId],
    today: Day,
) -> Result<OrderedBefore, sqlx::Error> {
    let mut ids: BTreeSet<EventId> = asked.iter().copied().collect();
    let mut orders: Vec<PlacedOrder> = Vec::new();
    for _ in 0..MOST_ROUNDS {
        let list: Vec<EventId> = ids.iter().copied().collect();
        orders = placing::store::orders_of_events(connection, &list).await?;
        let known = ids.len();
        ids.extend(orders.iter().flat_map(|order| order.events.iter().copied()));
        if ids.len() == known {
            break;
        }
    }
    if orders.is_empty() {
        return Ok(OrderedBefore::default());
    }
    let list: Vec<EventId> = ids.iter().copied().collect();
    let known = events::store::events(connection, &list).await?;
    let events = list.iter().map(|id| (*id, named(&known, *id, asked, today))).collect();
    let deliveries = || orders.iter().flat_map(|order| &order.deliveries);
    let lines: Vec<&PlacedLine> = deliveries().flat_map(|delivery| &delivery.lines).collect();
    let mut received = received(connection, &lines).await?;
    if let Some(first) = deliveries().map(|delivery| delivery.day).min() {
        let materials: Vec<MaterialId> = lines.iter().map(|line| line.material_id).collect();
        for (material, lost) in lost_at_the_bench(connection, &materials, &list, first).await? {
            let of_it: BTreeSet<PlacedLineId> =
                lines.iter().filter(|line| line.material_id == material).map(|line| line.id).collect();
            let counted = received.iter_mut().filter(|(line, _)| of_it.contains(line));
            lose_at_the_bench(counted.map(|(_, received)| received), lost);
        }
    }
    Ok(OrderedBefore { orders, events, received, deliveries: Vec::new() })
}

fn named(known: &[Event], id: EventId, asked: &[EventId], today: Day) -> Named {
    let Some(event) = known.iter().find(|event| event.id == id) else {
        return Named { name: "An event that was removed".into(), day: None, standing: Standing::Off };
    };
    let closed = matches!(event.ended, Some((_, Ending::Closed)));
    let standing = match event {
        event if !event.is_open() => Standing::Off,
        event if (closed || event.day < today) && !asked.contains(&id) => Standing::Over,
        _ => Standing::Planned,
    };
    Named { name: event.name.clone(), day: Some(event.day), standing }
}

/// What was counted in of these lines, and what of it was taken into stock or written off since.
async fn received(
    connection: &mut SqliteConnection,
    lines: &[&PlacedLine],
) -> Result<BTreeMap<PlacedLineId, Received>, sqlx::Error> {
    let lines = json_list(&lines.iter().map(|line| line.id).collect::<Vec<_>>());
    let rows = sqlx::query!(
        r#"SELECT r.line_id AS "line_id: PlacedLineId", good AS "good!",
            coalesce(taken_in + written_off, 0) AS "gone!: i64"
        FROM receipt_line r LEFT JOIN left_over l ON l.line_id = r.line_id AND l.removed_at IS NULL
        WHERE r.line_id IN (SELECT value FROM json_each(?))"#,
        lines
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.line_id, Received { good: row.good, gone: row.gone })).collect())
}
