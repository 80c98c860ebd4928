//! From what a plan of some events is made, as a key: plans are remembered while nothing of it has changed. This week's page,
//! an event's pages, order, sheets, freshness and calendar ask for the same plans again and again.

use jiff::civil::Time;
use sqlx::SqliteConnection;

use super::planning::local;
use crate::db::remembered::State;
use crate::events;
use crate::ground::dates::{Moment, TimeOfDay};
use crate::ground::ids::{EventId, json_list};
use crate::stem_order::calendar::LocalTime;
use crate::studio::Studio;

/// Tables that no plan reads, beside those whose rows belong to one event or are its client's.
const NOT_READ: &[&str] = &[
    "client",
    "client_account",
    "invoice",
    "payment",
    "charged_loan",
    "account_settings",
    "usual_instalment",
    "cancellation_step",
    "tax_treatment",
    "reminder_setting",
    "reminder_mark",
    "piece_set",
    "piece_set_line",
    "calendar_feed",
    "backup_place",
    "logo",
    "person",
];

/// From what the plan of some events is made: equal bases, equal plans.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Basis {
    state: State,
    until: LocalTime,
}

impl Basis {
    /// The basis of a plan made now; none inside a transaction that writes. The hour matters to a plan only by the cut-offs
    /// that are past, so it is the same until the day's next cut-off or the day's end.
    pub async fn of(
        connection: &mut SqliteConnection,
        studio: &Studio,
        events: &[EventId],
        now: Moment,
    ) -> Result<Option<Basis>, sqlx::Error> {
        let reached = reached(connection, events).await?;
        let Some(state) = events::store::state(connection, &reached, NOT_READ).await? else {
            return Ok(None);
        };
        let act = last_act_of_any_event(connection).await?;
        let until = next_cut_off(connection, local(now, studio)).await?;
        Ok(Some(Basis { state: state.and(act), until }))
    }

    /// Whether both are of one book.
    #[must_use]
    pub fn of_one_book(&self, other: &Basis) -> bool {
        self.state.of_one_book(&other.state)
    }
}

/// These events and all for which stems were ordered with them.
async fn reached(connection: &mut SqliteConnection, events: &[EventId]) -> Result<Vec<EventId>, sqlx::Error> {
    let events = json_list(events);
    sqlx::query_scalar!(
        r#"WITH RECURSIVE reached(id) AS (
            SELECT value FROM json_each(?)
            UNION SELECT other.event_id FROM reached
                JOIN placed_order_event own ON own.event_id = reached.id
                JOIN placed_order_event other ON other.order_id = own.order_id)
        SELECT id AS "id!: EventId" FROM reached"#,
        events
    )
    .fetch_all(connection)
    .await
}

/// The last act that changed what any event is: its day, its end.
async fn last_act_of_any_event(connection: &mut SqliteConnection) -> Result<i64, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT coalesce(max(act_id), 0) AS "act!: i64" FROM act_change
        WHERE table_name = 'event' AND before IS NOT NULL"#
    )
    .fetch_one(connection)
    .await
}

/// The first time at or after this one at which something that is to be ordered today closes; else the end of the day.
async fn next_cut_off(connection: &mut SqliteConnection, now: LocalTime) -> Result<LocalTime, sqlx::Error> {
    let closing = sqlx::query_scalar!(
        r#"SELECT cutoff_time AS "closes: TimeOfDay" FROM supplier
        UNION SELECT order_by_time FROM placed_delivery WHERE order_by_day = ?"#,
        now.day
    )
    .fetch_all(connection)
    .await?;
    let next = closing.into_iter().filter(|closes| *closes >= now.time).min();
    Ok(LocalTime { day: now.day, time: next.unwrap_or(TimeOfDay(Time::MAX)) })
}

#[cfg(test)]
mod tests {
    use sqlx::Connection;

    use super::*;

    #[tokio::test]
    async fn a_plan_is_another_once_a_cut_off_is_past() {
        let mut connection = SqliteConnection::connect("sqlite::memory:").await.unwrap();
        sqlx::migrate!().run(&mut connection).await.unwrap();
        let suppliers = "INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
            VALUES (1, 'Alder', 127, 1, '11:00', 0, 0), (2, 'Brook', 127, 2, '15:30', 0, 0)";
        sqlx::query(suppliers).execute(&mut connection).await.unwrap();
        for (now, until) in [
            ("00:00:00", "11:00:00"),
            ("10:59:59", "11:00:00"),
            ("11:00:00", "11:00:00"),
            ("11:00:01", "15:30:00"),
            ("15:30:00", "15:30:00"),
        ] {
            let at = |time: &str| LocalTime {
                day: "2026-05-04".parse().unwrap(),
                time: TimeOfDay(time.parse().unwrap()),
            };
            assert_eq!(next_cut_off(&mut connection, at(now)).await.unwrap(), at(until), "{now}");
        }
        let evening = LocalTime { day: "2026-05-04".parse().unwrap(), time: "15:31".parse().unwrap() };
        assert_eq!(next_cut_off(&mut connection, evening).await.unwrap().time, TimeOfDay(Time::MAX));
    }

    #[tokio::test]
    async fn what_is_not_read_are_tables_of_the_book() {
        events::store::assert_tables(NOT_READ).await;
    }
}
