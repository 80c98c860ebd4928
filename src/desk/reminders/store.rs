//! All SQL of the reminders' two tables.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;

use super::{Mark, Rules};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::json_list;

/// When the desk reminds.
pub async fn rules(connection: &mut SqliteConnection) -> Result<Rules, sqlx::Error> {
    let rules = sqlx::query_as!(
        Rules,
        "SELECT version, unanswered, before_last, counts, before_due FROM reminder_setting WHERE id = 1"
    )
    .fetch_optional(connection)
    .await?;
    Ok(rules.unwrap_or(Rules::USUAL))
}

/// Keeps when the desk reminds and counts the save.
pub async fn keep_rules(connection: &mut SqliteConnection, rules: &Rules) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO reminder_setting (id, unanswered, before_last, counts, before_due) VALUES (1, ?, ?, ?, ?)
        ON CONFLICT (id) DO UPDATE SET version = version + 1, unanswered = excluded.unanswered,
            before_last = excluded.before_last, counts = excluded.counts, before_due = excluded.before_due",
        rules.unanswered,
        rules.before_last,
        rules.counts,
        rules.before_due
    )
    .execute(connection)
    .await
    .map(drop)
}

/// The latest mark of each of these reminders.
pub async fn marks(
    connection: &mut SqliteConnection,
    keys: &[&str],
) -> Result<BTreeMap<String, Mark>, sqlx::Error> {
    let keys = json_list(keys);
    let rows = sqlx::query_as!(
        Mark,
        r#"SELECT key, marked_on AS "on: Day", marked_by AS by, again_on AS "again_on: Day" FROM reminder_mark
        WHERE id IN (SELECT max(id) FROM reminder_mark WHERE key IN (SELECT value FROM json_each(?)) GROUP BY key)"#,
        keys
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|mark| (mark.key.clone(), mark)).collect())
}

/// Keeps that somebody saw to a reminder.
pub async fn mark(connection: &mut SqliteConnection, mark: &Mark, now: Moment) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO reminder_mark (key, marked_on, marked_by, again_on, recorded_at) VALUES (?, ?, ?, ?, ?)",
        mark.key,
        mark.on,
        mark.by,
        mark.again_on,
        now
    )
    .execute(connection)
    .await
    .map(drop)
}
