//! What prep plans are computed from, remembered while nothing it was read from has changed: this week's page, an event's
//! page, sheets, freshness and calendar ask for the same week again and again.
//! A table that is not named here counts as read.

use std::sync::Arc;
use std::time::Duration;

use sqlx::SqliteConnection;

use super::PLAN_BUDGET;
use crate::db::history::records::{Part, part_of};
use crate::db::remembered::{Remembered, State};
use crate::ground::dates::Moment;
use crate::ground::ids::{EventId, json_list};
use crate::prep::plan::PrepInputs;

/// So many plans' inputs are remembered: a busy fortnight's, seen from a handful of pages.
const REMEMBERED: usize = 8;

/// Tables that no prep plan reads, beside those whose rows belong to one event.
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

/// What was asked for, in which state its sources were, and how long the order's plan may take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Key {
    state: State,
    events: Vec<EventId>,
    at: Moment,
    budget: Duration,
}

impl Key {
    /// The key for some events, whose plan also reads the `beside`; none inside a transaction that writes.
    pub(super) async fn of(
        connection: &mut SqliteConnection,
        (events, beside): (&[EventId], &[EventId]),
        at: Moment,
        budget: Duration,
    ) -> Result<Option<Key>, sqlx::Error> {
        let tables: Vec<String> =
            sqlx::query_scalar!(r#"SELECT name AS "name!" FROM sqlite_schema WHERE type = 'table'"#)
                .fetch_all(&mut *connection)
                .await?;
        let read: Vec<&str> = tables.iter().map(String::as_str).filter(|table| is_read(table)).collect();
        let Some(state) = State::of(connection, &read).await? else { return Ok(None) };
        let (own, also) = (json_list(events), json_list(beside));
        let act = sqlx::query_scalar!(
            r#"SELECT max(
                coalesce((SELECT max((SELECT max(act_id) FROM act_change WHERE record = 'event-' || e.value))
                    FROM (SELECT value FROM json_each(?) UNION SELECT value FROM json_each(?)) e), 0),
                coalesce((SELECT max(act_id) FROM act_change WHERE table_name = 'event' AND before IS NOT NULL), 0)
            ) AS "act!: i64""#,
            own,
            also
        )
        .fetch_one(connection)
        .await?;
        Ok(Some(Key { state: state.and(act), events: events.to_vec(), at, budget }))
    }
}

/// What is remembered, by what it was read from.
static INPUTS: Remembered<Key, PrepInputs> = Remembered::new(REMEMBERED, |new, old| {
    new.state.of_one_book(&old.state)
        && new.events == old.events
        && new.budget >= old.budget
        && new.at >= old.at
});

/// The inputs under a key, or those for which more time was given; else what is read now.
pub(super) async fn or_read<E>(
    key: Key,
    read: impl Future<Output = Result<PrepInputs, E>>,
) -> Result<Arc<PrepInputs>, E> {
    let longer = Key { budget: PLAN_BUDGET, ..key.clone() };
    match INPUTS.known(&longer) {
        Some(known) => Ok(known),
        None => INPUTS.or_read(key, read).await,
    }
}

fn is_read(table: &str) -> bool {
    !NOT_READ.contains(&table) && !is_of_event(table)
}

/// Whether a table's rows belong to one event: then the event's own record tells of their changes.
fn is_of_event(table: &str) -> bool {
    match part_of(table) {
        Part::Of(record, _) => record == "event",
        Part::By(parent, _) => is_of_event(parent),
        Part::Itself => table == "event",
        Part::EventOrClient | Part::List(_) => false,
    }
}

#[cfg(test)]
mod tests {
    use sqlx::Connection;

    use super::*;

    #[test]
    fn what_belongs_to_an_event_is_told_by_its_record() {
        for table in ["event", "piece", "quote_line", "quote_acceptance", "bench_pin", "extra_travel"] {
            assert!(is_of_event(table), "{table}");
        }
        for table in
            ["material", "offer_price", "placed_share", "recipe_line", "stock_reservation", "shift", "studio"]
        {
            assert!(is_read(table), "{table}");
        }
        assert!(!is_read("payment") && !is_read("piece"));
        assert!(is_read("a_table_to_come"));
    }

    #[tokio::test]
    async fn what_is_not_read_are_tables_of_the_book() {
        let mut connection = SqliteConnection::connect("sqlite::memory:").await.unwrap();
        sqlx::migrate!().run(&mut connection).await.unwrap();
        for table in NOT_READ {
            let kept: bool = sqlx::query_scalar("SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE name = ?)")
                .bind(table)
                .fetch_one(&mut connection)
                .await
                .unwrap();
            assert!(kept, "{table}");
        }
    }
}
