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

/// Writes down a hand-over. The same sent again from the same form is kept once; another is a correction.
pub async fn add_hand_over(
    connection: &mut SqliteConnection,
    event: EventId,
    new: &NewHandOver,
    now: Moment,
) -> Result<(), sqlx::Error> {
    let sent = sqlx::query!(
        r#"SELECT handed_to, handed_on AS "on: Day", handed_time AS "at: TimeOfDay", remarks,
            count(*) OVER () AS "times: i64" FROM hand_over
        WHERE event_id = ?1 AND substr(once_key, 1, length(?2) + 1) = ?2 || '#' ORDER BY id DESC LIMIT 1"#,
        event,
        new.once_key
    )
    .fetch_optional(&mut *connection)
    .await?;
    let last = sent.as_ref().map(|row| (&row.handed_to, row.on, row.at, &row.remarks));
    if last == Some((&new.to, new.on, new.at, &new.remarks)) {
        return Ok(());
    }
    let key = form_key(&new.once_key, sent.map_or(0, |row| row.times));
    sqlx::query!(
        "INSERT INTO hand_over (once_key, event_id, handed_to, handed_on, handed_time, remarks, recorded_at)
        VALUES (?, ?, ?, ?, ?, ?, ?)",
        key,
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

/// Whether a kept return says what a form says.
async fn is_same(connection: &mut SqliteConnection, kept: i64, new: &NewReturn) -> Result<bool, sqlx::Error> {
    let kept = returns_by_id(connection, &[kept]).await?.into_iter().next();
    Ok(kept.is_some_and(|kept| {
        (kept.on, &kept.by, &kept.flowers, &kept.note, &kept.lines)
            == (new.on, &new.by, &new.flowers, &new.note, &new.lines)
    }))
}

/// What came back after some events: of each the latest count.
pub async fn returns(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<HashMap<EventId, VanReturn>, sqlx::Error> {
    let events = json_list(events);
    let latest = sqlx::query_scalar!(
        r#"SELECT max(id) AS "id!: i64" FROM van_return
        WHERE event_id IN (SELECT value FROM json_each(?)) GROUP BY event_id"#,
        events
    )
    .fetch_all(&mut *connection)
    .await?;
    let returns = returns_by_id(connection, &latest).await?;
    Ok(returns.into_iter().map(|own| (own.event, own)).collect())
}

async fn returns_by_id(
    connection: &mut SqliteConnection,
    ids: &[i64],
) -> Result<Vec<VanReturn>, sqlx::Error> {
    let ids = json_list(ids);
    let rows = sqlx::query!(
        r#"SELECT id, event_id AS "event: EventId", counted_on AS "on: Day", counted_by, flowers, note FROM van_return
        WHERE id IN (SELECT value FROM json_each(?))"#,
        ids
    )
    .fetch_all(&mut *connection)
    .await?;
    let lines = sqlx::query!(
        "SELECT return_id, what, went, back FROM van_return_line
        WHERE return_id IN (SELECT value FROM json_each(?)) ORDER BY return_id, position",
        ids
    )
    .fetch_all(connection)
    .await?;
    let returns = rows.into_iter().map(|row| {
        let own = lines.iter().filter(|line| line.return_id == row.id);
        let line = |what: &str, went, back| ReturnLine { what: what.to_owned(), went, back };
        let lines = own.map(|own| line(&own.what, own.went, own.back)).collect();
        let (on, by, flowers, note) = (row.on, row.counted_by, row.flowers, row.note);
        VanReturn { event: row.event, on, by, flowers, note, lines }
    });
    Ok(returns.collect())
}

/// The key of what a form keeps after so many of its own.
fn form_key(once_key: &str, before: i64) -> String {
    format!("{once_key}#{}", before + 1)
}

/// Writes down what came back. The same sent again from the same form is kept once; another is a correction.
pub async fn add_return(
    connection: &mut SqliteConnection,
    event: EventId,
    new: &NewReturn,
    now: Moment,
) -> Result<(), sqlx::Error> {
    let sent = sqlx::query!(
        r#"SELECT id, count(*) OVER () AS "times: i64" FROM van_return
        WHERE event_id = ?1 AND substr(once_key, 1, length(?2) + 1) = ?2 || '#' ORDER BY id DESC LIMIT 1"#,
        event,
        new.once_key
    )
    .fetch_optional(&mut *connection)
    .await?;
    let (last, before) = sent.map_or((None, 0), |row| (Some(row.id), row.times));
    if let Some(last) = last
        && is_same(connection, last, new).await?
    {
        return Ok(());
    }
    let key = form_key(&new.once_key, before);
    let id = sqlx::query_scalar!(
        "INSERT INTO van_return (once_key, event_id, counted_on, counted_by, flowers, note, recorded_at)
        VALUES (?, ?, ?, ?, ?, ?, ?) RETURNING id",
        key,
        event,
        new.on,
        new.by,
        new.flowers,
        new.note,
        now
    )
    .fetch_one(&mut *connection)
    .await?;
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
