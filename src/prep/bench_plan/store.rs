//! All SQL for shifts, days that are otherwise, how long dressing takes, and pins.

mod weeks;

use sqlx::SqliteConnection;

use super::BenchInputs;
use super::pins::Pin;
use super::shifts::{Exception, Otherwise, Shifts, WeekdayShift};
use crate::ground::dates::{Day, Moment, TimeOfDay};
use crate::ground::ids::{BenchPinId, EventId, json_list};
use crate::prep::event_work;

pub use weeks::{lives_of, making, planned, sheets, week_fit};

/// What the bench plan of some events is made from, beside the prep plan's own.
pub async fn inputs(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<BenchInputs, sqlx::Error> {
    Ok(BenchInputs {
        shifts: shifts(connection).await?,
        works: event_work::store::event_works(connection, events).await?,
        pins: pins(connection, events).await?,
        dress_minutes: dress_minutes(connection).await?,
    })
}

/// Who works when.
pub async fn shifts(connection: &mut SqliteConnection) -> Result<Shifts, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT weekday, begin_time AS "begin_time: TimeOfDay", people, minutes, more_minutes FROM shift ORDER BY weekday"#
    )
    .fetch_all(&mut *connection)
    .await?;
    let mut week = [None; 7];
    for row in rows {
        let shift = WeekdayShift {
            begins: row.begin_time,
            people: row.people,
            minutes: row.minutes,
            more_minutes: row.more_minutes,
        };
        if let Some(day) = usize::try_from(row.weekday).ok().and_then(|day| week.get_mut(day)) {
            *day = Some(shift);
        }
    }
    let exceptions = sqlx::query_as!(
        Exception,
        r#"SELECT day AS "day: Day", kind AS "kind: Otherwise", people, minutes, note FROM shift_exception ORDER BY day, id"#
    )
    .fetch_all(connection)
    .await?;
    Ok(Shifts { week, exceptions })
}

/// Person-minutes of dressing a vessel, where somebody said so.
pub async fn dress_minutes(connection: &mut SqliteConnection) -> Result<Option<i64>, sqlx::Error> {
    sqlx::query_scalar!("SELECT dress_minutes FROM bench_rule WHERE id = 1").fetch_optional(connection).await
}

/// Keeps who works when, and how long dressing takes.
pub async fn keep_shifts(
    connection: &mut SqliteConnection,
    shifts: &Shifts,
    dress_minutes: Option<i64>,
) -> Result<(), sqlx::Error> {
    sqlx::query!("DELETE FROM shift").execute(&mut *connection).await?;
    for (weekday, shift) in (0_i64..).zip(&shifts.week) {
        let Some(shift) = shift else { continue };
        sqlx::query!(
            "INSERT INTO shift (weekday, begin_time, people, minutes, more_minutes) VALUES (?, ?, ?, ?, ?)",
            weekday,
            shift.begins,
            shift.people,
            shift.minutes,
            shift.more_minutes
        )
        .execute(&mut *connection)
        .await?;
    }
    sqlx::query!("DELETE FROM shift_exception").execute(&mut *connection).await?;
    for exception in &shifts.exceptions {
        sqlx::query!(
            "INSERT INTO shift_exception (day, kind, people, minutes, note) VALUES (?, ?, ?, ?, ?)",
            exception.day,
            exception.kind,
            exception.people,
            exception.minutes,
            exception.note
        )
        .execute(&mut *connection)
        .await?;
    }
    sqlx::query!("DELETE FROM bench_rule").execute(&mut *connection).await?;
    if let Some(minutes) = dress_minutes {
        sqlx::query!("INSERT INTO bench_rule (id, dress_minutes) VALUES (1, ?)", minutes)
            .execute(connection)
            .await?;
    }
    Ok(())
}

/// The pins of some events, in the order in which they were set.
pub async fn pins(connection: &mut SqliteConnection, events: &[EventId]) -> Result<Vec<Pin>, sqlx::Error> {
    let events = json_list(events);
    sqlx::query_as!(
        Pin,
        r#"SELECT id AS "id!: BenchPinId", task, day AS "day: Day", count FROM bench_pin
        WHERE event_id IN (SELECT value FROM json_each(?)) ORDER BY pinned_at, id"#,
        events
    )
    .fetch_all(connection)
    .await
}

/// Every event of which something is pinned.
pub(super) async fn pinned_events(connection: &mut SqliteConnection) -> Result<Vec<EventId>, sqlx::Error> {
    sqlx::query_scalar!(r#"SELECT DISTINCT event_id AS "id: EventId" FROM bench_pin"#)
        .fetch_all(connection)
        .await
}

/// Pins so many pieces of a task to a day; a pin of the same task and day is replaced.
pub async fn pin(
    connection: &mut SqliteConnection,
    event: EventId,
    (task, day, count): (&str, Day, i64),
    now: Moment,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO bench_pin (event_id, task, day, count, pinned_at) VALUES (?, ?, ?, ?, ?)
        ON CONFLICT (task, day) DO UPDATE SET count = excluded.count, pinned_at = excluded.pinned_at",
        event,
        task,
        day,
        count,
        now
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Takes a pin out, and gives what it was.
pub async fn unpin(connection: &mut SqliteConnection, id: BenchPinId) -> Result<Option<Pin>, sqlx::Error> {
    sqlx::query_as!(
        Pin,
        r#"DELETE FROM bench_pin WHERE id = ?
        RETURNING id AS "id!: BenchPinId", task AS "task!", day AS "day!: Day", count AS "count!""#,
        id
    )
    .fetch_optional(connection)
    .await
}
