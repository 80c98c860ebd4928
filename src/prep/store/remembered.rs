//! What prep plans are computed from, remembered while nothing it was read from has changed: this week's page, an event's
//! page, sheets, freshness and calendar ask for the same week again and again.
//!
//! The history tells what changed: its acts are numbered, so the highest number among the tables and events that a plan
//! reads stands for their state. A table that is not named here counts as read.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use sqlx::SqliteConnection;

use crate::db;
use crate::db::history::records::{Part, part_of};
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

/// What was asked for, and in which state its sources were.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Key {
    file: String,
    state: i64,
    events: Vec<EventId>,
    at: Moment,
}

struct Entry {
    key: Key,
    budget: Duration,
    inputs: Arc<PrepInputs>,
}

static ENTRIES: Mutex<VecDeque<Entry>> = Mutex::new(VecDeque::new());

/// Held while something is read that was not known: whoever asks for the same meanwhile waits and then knows it.
pub(super) static READING: tokio::sync::Mutex<()> = tokio::sync::Mutex::const_new(());

/// The key for some events, whose plan also reads the `beside`; none inside a transaction that writes, which may be taken back.
pub(super) async fn key(
    connection: &mut SqliteConnection,
    (events, beside): (&[EventId], &[EventId]),
    at: Moment,
) -> Result<Option<Key>, sqlx::Error> {
    let Some(file) = db::file_of_reader(connection).await? else { return Ok(None) };
    let tables: Vec<String> =
        sqlx::query_scalar!(r#"SELECT name AS "name!" FROM sqlite_schema WHERE type = 'table'"#)
            .fetch_all(&mut *connection)
            .await?;
    let read: Vec<&String> = tables.iter().filter(|table| is_read(table)).collect();
    let read = serde_json::to_string(&read).unwrap_or_default();
    let (own, also) = (json_list(events), json_list(beside));
    let state = sqlx::query_scalar!(
        r#"SELECT max(
            coalesce((SELECT max((SELECT max(act_id) FROM act_change WHERE table_name = t.value)) FROM json_each(?) t), 0),
            coalesce((SELECT max((SELECT max(act_id) FROM act_change WHERE record = 'event-' || e.value))
                FROM (SELECT value FROM json_each(?) UNION SELECT value FROM json_each(?)) e), 0),
            coalesce((SELECT max(act_id) FROM act_change WHERE table_name = 'event' AND before IS NOT NULL), 0)
        ) AS "state!: i64""#,
        read,
        own,
        also
    )
    .fetch_one(connection)
    .await?;
    Ok(Some(Key { file, state, events: events.to_vec(), at }))
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

/// What is remembered under a key, if it was given as much time.
pub(super) fn known(key: &Key, budget: Duration) -> Option<Arc<PrepInputs>> {
    let entries = ENTRIES.lock().unwrap_or_else(PoisonError::into_inner);
    let found = entries.iter().find(|entry| entry.key == *key && budget <= entry.budget)?;
    Some(Arc::clone(&found.inputs))
}

/// Remembers inputs in the place of older ones for the same events.
pub(super) fn keep(key: Key, budget: Duration, inputs: &Arc<PrepInputs>) {
    let mut entries = ENTRIES.lock().unwrap_or_else(PoisonError::into_inner);
    let older = |entry: &Entry| {
        entry.key.file == key.file && entry.key.events == key.events && entry.key.at <= key.at
    };
    entries.retain(|entry| !older(entry));
    entries.push_front(Entry { key, budget, inputs: Arc::clone(inputs) });
    entries.truncate(REMEMBERED);
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
