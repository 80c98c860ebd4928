//! All SQL for drives between venues, hand-overs and returns; reads all that a day is computed from.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::day::DayInputs;
use super::forms::{NewHandOver, NewReturn};
use super::{HandOver, ReturnLine, VanReturn};
use crate::events;
use crate::ground::dates::{Day, Moment, TimeOfDay};
use crate::ground::ids::{EventId, json_list};
use crate::prep::event_work;
use crate::pull_list::loading;

/// Everything a day is computed from: its events that were neither lost nor called off.
pub async fn load(connection: &mut SqliteConnection, day: Day) -> Result<DayInputs, sqlx::Error> {
    let events = events::store::open_between(connection, day, day).await?;
    let ids: Vec<EventId> = events.iter().map(|event| event.id).collect();
    let typed = drives(connection, &ids).await?;
    Ok(DayInputs {
        day,
        load: loading::store::load(connection, &ids).await?,
        works: event_work::store::event_works(connection, &ids).await?,
        drives: typed.into_iter().filter_map(|(pair, (_, minutes))| Some((pair, minutes?))).collect(),
        van: None,
        second: Vec::new(),
    })
}

/// From which event's venue to which.
pub type Way = (EventId, EventId);

/// The drives between the venues of some events: each with how often it was saved, and its minutes where they are typed.
pub async fn drives(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<HashMap<Way, (i64, Option<i64>)>, sqlx::Error> {
    let events = json_list(events);
    let rows = sqlx::query!(
        r#"SELECT from_event_id AS "from: EventId", to_event_id AS "to: EventId", version, minutes FROM run_drive
        WHERE from_event_id IN (SELECT value FROM json_each(?1)) AND to_event_id IN (SELECT value FROM json_each(?1))"#,
        events
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| ((row.from, row.to), (row.version, row.minutes))).collect())
}

/// Keeps how long a drive takes, and counts the save.
pub async fn keep_drive(
    connection: &mut SqliteConnection,
    (from, to): Way,
    minutes: Option<i64>,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO run_drive (from_event_id, to_event_id, minutes) VALUES (?, ?, ?)
        ON CONFLICT (from_event_id, to_event_id) DO UPDATE SET version = version + 1, minutes = excluded.minutes",
        from,
        to,
        minutes
    )
    .execute(connection)
    .await
    .map(drop)
}

/// How events were handed over, the latest first.
pub async fn hand_overs(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<Vec<HandOver>, sqlx::Error> {
    let events = json_list(events);
    sqlx::query_as!(
        HandOver,
        r#"SELECT event_id AS "event: EventId", handed_to AS "to", handed_on AS "on: Day",
            handed_time AS "at: TimeOfDay", remarks
        FROM hand_over WHERE event_id IN (SELECT value FROM json_each(?)) ORDER BY id DESC"#,
        events
    )
    .fetch_all(connection)
    .await
}

/// Writes down a hand-over, once for each key.
pub async fn add_hand_over(
    connection: &mut SqliteConnection,
    event: EventId,
    new: &NewHandOver,
    now: Moment,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO hand_over (once_key, event_id, handed_to, handed_on, handed_time, remarks, recorded_at)
        VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT (once_key) DO NOTHING",
        new.once_key,
        event,
        new.to,
        new.on,
        new.at,
        new.remarks,
        now
    )
    .execute(connection)
    .await
    .map(drop)
}

/// What came back after some events: of each the latest count.
pub async fn returns(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<HashMap<EventId, VanReturn>, sqlx::Error> {
    let events = json_list(events);
    let rows = sqlx::query!(
        r#"SELECT id, event_id AS "event: EventId", counted_on AS "on: Day", counted_by, flowers, note FROM van_return
        WHERE id IN (SELECT max(id) FROM van_return WHERE event_id IN (SELECT value FROM json_each(?)) GROUP BY event_id)"#,
        events
    )
    .fetch_all(&mut *connection)
    .await?;
    let latest = json_list(&rows.iter().map(|row| row.id).collect::<Vec<_>>());
    let lines = sqlx::query!(
        "SELECT return_id, what, went, back FROM van_return_line
        WHERE return_id IN (SELECT value FROM json_each(?)) ORDER BY return_id, position",
        latest
    )
    .fetch_all(connection)
    .await?;
    let returns = rows.into_iter().map(|row| {
        let own = lines.iter().filter(|line| line.return_id == row.id);
        let line = |what: &str, went, back| ReturnLine { what: what.to_owned(), went, back };
        let lines = own.map(|own| line(&own.what, own.went, own.back)).collect();
        let (on, by, flowers, note) = (row.on, row.counted_by, row.flowers, row.note);
        (row.event, VanReturn { event: row.event, on, by, flowers, note, lines })
    });
    Ok(returns.collect())
}

/// Writes down what came back, once for each key.
pub async fn add_return(
    connection: &mut SqliteConnection,
    event: EventId,
    new: &NewReturn,
    now: Moment,
) -> Result<(), sqlx::Error> {
    let added = sqlx::query_scalar!(
        "INSERT INTO van_return (once_key, event_id, counted_on, counted_by, flowers, note, recorded_at)
        VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT (once_key) DO NOTHING RETURNING id",
        new.once_key,
        event,
        new.on,
        new.by,
        new.flowers,
        new.note,
        now
    )
    .fetch_optional(&mut *connection)
    .await?;
    let Some(id) = added else { return Ok(()) };
    for (position, line) in (0_i64..).zip(&new.lines) {
        sqlx::query!(
            "INSERT INTO van_return_line (return_id, position, what, went, back) VALUES (?, ?, ?, ?, ?)",
            id,
            position,
            line.what,
            line.went,
            line.back
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(())
}
