//! The state of all that figures of some events are made of: they are remembered while nothing of it changes. Many pages
//! ask for the same ones again and again.
//!
//! A table that is not named as left out counts as read. Of what belongs to one event, only these events' own records do.

use sqlx::SqliteConnection;

use crate::db::history::records::{Part, part_of};
use crate::db::remembered::State;
use crate::ground::ids::{EventId, json_list};

/// Tables that tell nothing of events' pieces, of their recipes, or of what their materials cost: money, orders, stock, shifts,
/// reminders. Clients are told by their own records.
pub const BEYOND_PIECES: &[&str] = &[
    "client",
    "client_account",
    "invoice",
    "payment",
    "charged_loan",
    "piece_set",
    "piece_set_line",
    "person",
    "placed_order",
    "placed_order_event",
    "placed_delivery",
    "placed_line",
    "placed_line_answer",
    "placed_share",
    "receipt_line",
    "left_over",
    "stock_lot",
    "stock_change",
    "stock_reservation",
    "bench_loss",
    "shift",
    "shift_exception",
    "reminder_setting",
    "reminder_mark",
    "calendar_feed",
    "backup_place",
];

/// The state of these events, of their clients, and of every table whose rows belong to no event, but for those that are not
/// read; none inside a transaction that writes.
pub async fn state(
    connection: &mut SqliteConnection,
    events: &[EventId],
    not_read: &[&str],
) -> Result<Option<State>, sqlx::Error> {
    let tables: Vec<String> =
        sqlx::query_scalar!(r#"SELECT name AS "name!" FROM sqlite_schema WHERE type = 'table'"#)
            .fetch_all(&mut *connection)
            .await?;
    let is_read = |table: &&str| !is_of_event(table) && !not_read.contains(table);
    let read: Vec<&str> = tables.iter().map(String::as_str).filter(is_read).collect();
    let Some(state) = State::of(connection, &read).await? else { return Ok(None) };
    Ok(Some(state.and(last_act(connection, events).await?)))
}

/// The last act that touched these events or their clients.
async fn last_act(connection: &mut SqliteConnection, events: &[EventId]) -> Result<i64, sqlx::Error> {
    let events = json_list(events);
    sqlx::query_scalar!(
        r#"SELECT max(
            coalesce((SELECT max((SELECT max(act_id) FROM act_change WHERE record = 'event-' || asked.value))
                FROM json_each(?) asked), 0),
            coalesce((SELECT max((SELECT max(act_id) FROM act_change WHERE record = 'client-' || client_id))
                FROM event WHERE id IN (SELECT value FROM json_each(?))), 0)
        ) AS "act!: i64""#,
        events,
        events
    )
    .fetch_one(connection)
    .await
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

/// Fails where a name is no table of the book: one that is misspelt leaves nothing out.
#[cfg(test)]
pub(crate) async fn assert_tables(names: &[&str]) {
    use sqlx::Connection;

    let mut connection = SqliteConnection::connect("sqlite::memory:").await.unwrap();
    sqlx::migrate!().run(&mut connection).await.unwrap();
    for table in names {
        let kept: bool = sqlx::query_scalar("SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE name = ?)")
            .bind(table)
            .fetch_one(&mut connection)
            .await
            .unwrap();
        assert!(kept, "{table}");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_belongs_to_an_event_is_told_by_its_record() {
        for table in ["event", "piece", "quote_line", "quote_acceptance", "bench_pin", "extra_travel"] {
            assert!(is_of_event(table), "{table}");
        }
        for table in
            ["material", "offer_price", "placed_share", "recipe_line", "stock_reservation", "shift", "studio"]
        {
            assert!(!is_of_event(table), "{table}");
        }
        assert!(!is_of_event("a_table_to_come"));
    }

    #[tokio::test]
    async fn what_tells_nothing_of_pieces_are_tables_of_the_book() {
        assert_tables(BEYOND_PIECES).await;
    }
}
