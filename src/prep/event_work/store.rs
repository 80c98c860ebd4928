//! All SQL for what events take beside the making.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::EventWork;
use crate::ground::ids::{EventId, json_list};

/// What was typed about an event's work; nothing is a version of 0.
pub async fn event_work(connection: &mut SqliteConnection, id: EventId) -> Result<EventWork, sqlx::Error> {
    Ok(event_works(connection, &[id]).await?.remove(&id).unwrap_or_default())
}

/// The same of many events; those about which nothing was typed are left out.
pub async fn event_works(
    connection: &mut SqliteConnection,
    ids: &[EventId],
) -> Result<HashMap<EventId, EventWork>, sqlx::Error> {
    let ids = json_list(ids);
    let rows = sqlx::query!(
        r#"SELECT event_id AS "event_id!: EventId", version, load_minutes, drive_minutes, set_minutes, strike_minutes, crew
        FROM event_work WHERE event_id IN (SELECT value FROM json_each(?))"#,
        ids
    )
    .fetch_all(connection)
    .await?;
    let works = rows.into_iter().map(|row| {
        let work = EventWork {
            version: row.version,
            load_minutes: row.load_minutes,
            drive_minutes: row.drive_minutes,
            set_minutes: row.set_minutes,
            strike_minutes: row.strike_minutes,
            crew: row.crew,
        };
        (row.event_id, work)
    });
    Ok(works.collect())
}

/// Keeps what was typed, and counts the save.
pub async fn keep(
    connection: &mut SqliteConnection,
    id: EventId,
    work: &EventWork,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO event_work (event_id, load_minutes, drive_minutes, set_minutes, strike_minutes, crew)
        VALUES (?, ?, ?, ?, ?, ?)
        ON CONFLICT (event_id) DO UPDATE SET version = version + 1, load_minutes = excluded.load_minutes,
            drive_minutes = excluded.drive_minutes, set_minutes = excluded.set_minutes,
            strike_minutes = excluded.strike_minutes, crew = excluded.crew",
        id,
        work.load_minutes,
        work.drive_minutes,
        work.set_minutes,
        work.strike_minutes,
        work.crew
    )
    .execute(connection)
    .await
    .map(drop)
}
