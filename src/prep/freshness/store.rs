//! How warm it is on the way, kept: the setting and the venues with a temperature of their own. And on which days a material
//! can still be had.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;

use super::lives::Climate;
use super::mending::{SupplierDay, SupplierDays};
use super::temperatures::Temperatures;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId, json_list};
use crate::ground::quantity::Factor;
use crate::prep::event_work;
use crate::price_list;
use crate::stem_order::calendar::{LocalTime, delivers, order_by};
use crate::stem_order::closed_days;

/// More days than these are not searched for another delivery.
const LONGEST_SEARCH: i64 = 14;

/// The way's temperatures; the usual ones where nothing was typed.
pub async fn temperatures(connection: &mut SqliteConnection) -> Result<Temperatures, sqlx::Error> {
    let kept = sqlx::query_as!(
        Temperatures,
        r#"SELECT version, cooler, bench, finished, van, venue, q10 AS "q10: Factor" FROM temperature_path WHERE id = 1"#
    )
    .fetch_optional(connection)
    .await?;
    Ok(kept.unwrap_or(Temperatures::USUAL))
}

/// Keeps the way's temperatures, and counts the save.
pub async fn keep_temperatures(
    connection: &mut SqliteConnection,
    kept: &Temperatures,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO temperature_path (id, cooler, bench, finished, van, venue, q10) VALUES (1, ?, ?, ?, ?, ?, ?)
        ON CONFLICT (id) DO UPDATE SET version = version + 1, cooler = excluded.cooler, bench = excluded.bench,
            finished = excluded.finished, van = excluded.van, venue = excluded.venue, q10 = excluded.q10",
        kept.cooler,
        kept.bench,
        kept.finished,
        kept.van,
        kept.venue,
        kept.q10
    )
    .execute(connection)
    .await
    .map(drop)
}

/// An event's own venue temperature with the number of its saves; none, 0 where nothing was ever typed.
pub async fn venue(
    connection: &mut SqliteConnection,
    event: EventId,
) -> Result<(Option<i64>, i64), sqlx::Error> {
    let kept = sqlx::query!("SELECT celsius, version FROM venue_temperature WHERE event_id = ?", event)
        .fetch_optional(connection)
        .await?;
    Ok(kept.map_or((None, 0), |kept| (kept.celsius, kept.version)))
}

/// Keeps an event's own venue temperature, or that it has none.
pub async fn keep_venue(
    connection: &mut SqliteConnection,
    event: EventId,
    celsius: Option<i64>,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO venue_temperature (event_id, celsius) VALUES (?, ?)
        ON CONFLICT (event_id) DO UPDATE SET version = version + 1, celsius = excluded.celsius",
        event,
        celsius
    )
    .execute(connection)
    .await
    .map(drop)
}

/// How warm it is on the way to these events, and what they take beside the making.
pub async fn climate(connection: &mut SqliteConnection, events: &[EventId]) -> Result<Climate, sqlx::Error> {
    let list = json_list(events);
    let rows = sqlx::query!(
        r#"SELECT event_id AS "event_id: EventId", celsius AS "celsius!" FROM venue_temperature
        WHERE celsius IS NOT NULL AND event_id IN (SELECT value FROM json_each(?))"#,
        list
    )
    .fetch_all(&mut *connection)
    .await?;
    let venues = rows.into_iter().map(|row| (row.event_id, row.celsius)).collect();
    let temperatures = Some(temperatures(connection).await?);
    let works = event_work::store::event_works(connection, events).await?.into_iter().collect();
    Ok(Climate { temperatures, venues, works })
}

/// The days from the first to the last on which someone brings these materials and still takes orders.
pub async fn supplier_days(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    (first, last): (Day, Day),
    now: LocalTime,
) -> Result<SupplierDays, sqlx::Error> {
    let mut found: SupplierDays = BTreeMap::new();
    if materials.is_empty() {
        return Ok(found);
    }
    let suppliers = price_list::store::suppliers(connection).await?;
    let closed = closed_days::store::closed_days(connection).await?;
    let days = (0..=last.days_after(first).clamp(0, LONGEST_SEARCH)).map(|later| first.plus(later));
    let offers = price_list::store::offers_on(connection, materials, &days.collect()).await?;
    for (day, offers) in offers {
        for offer in offers {
            let Some(supplier) = suppliers.iter().find(|known| known.id == offer.supplier_id) else {
                continue;
            };
            let by = order_by(supplier, day, &closed);
            let days = found.entry(offer.material_id).or_default();
            let known = days.iter().any(|at| at.day == day && at.supplier == supplier.name);
            if delivers(supplier, day, &closed) && now <= by && !known {
                days.push(SupplierDay { day, supplier: supplier.name.clone(), order_by: (by.day, by.time) });
            }
        }
    }
    Ok(found)
}
