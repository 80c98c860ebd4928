//! An event's own parts of the payment.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use crate::accounts::instalments::Instalment;
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, InstalmentId, json_list};
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::quotes::payment::{Due, DueKind, Part};
use crate::quotes::store::PartRow;

/// An event's plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// Counts saves.
    pub version: i64,
    /// Its parts, in order.
    pub parts: Vec<Instalment>,
}

/// The plans of these events, so far as they have their own.
pub async fn plans(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<HashMap<EventId, Plan>, sqlx::Error> {
    let events = json_list(events);
    let rows = sqlx::query!(
        r#"SELECT p.event_id AS "event_id: EventId", version, i.id AS "id?: InstalmentId", label AS "label?",
            share AS "share: Share", amount AS "amount: Money", due AS "due?: DueKind", due_days AS "due_days?",
            due_on AS "due_on: Day"
        FROM payment_plan p LEFT JOIN event_instalment i ON i.event_id = p.event_id AND i.removed_at IS NULL
        WHERE p.event_id IN (SELECT value FROM json_each(?)) ORDER BY p.event_id, position, i.id"#,
        events
    )
    .fetch_all(connection)
    .await?;
    let mut plans: HashMap<EventId, Plan> = HashMap::new();
    for row in rows {
        let plan = plans.entry(row.event_id).or_insert(Plan { version: row.version, parts: Vec::new() });
        let (Some(id), Some(label), Some(kind)) = (row.id, row.label, row.due) else { continue };
        plan.parts.push(Instalment {
            id: Some(id),
            label,
            part: Part::of_columns(row.share, row.amount),
            due: Due::of_columns(kind, row.due_days.unwrap_or_default(), row.due_on),
        });
    }
    Ok(plans)
}

/// Keeps an event's parts and counts the save: known ones are changed, new ones added, those left out removed. Parts of
/// which something is invoiced must be among them; one whose invoice was wholly credited keeps its row.
pub async fn keep(
    connection: &mut SqliteConnection,
    event: EventId,
    parts: &[Instalment],
    now: Moment,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO payment_plan (event_id) VALUES (?) ON CONFLICT (event_id) DO UPDATE SET version = version + 1",
        event
    )
    .execute(&mut *connection)
    .await?;
    let known = json_list(&parts.iter().filter_map(|part| part.id).collect::<Vec<_>>());
    sqlx::query!(
        "DELETE FROM event_instalment WHERE event_id = ? AND id NOT IN (SELECT value FROM json_each(?))
            AND id NOT IN (SELECT instalment_id FROM invoice WHERE instalment_id IS NOT NULL)",
        event,
        known
    )
    .execute(&mut *connection)
    .await?;
    sqlx::query!(
        "UPDATE event_instalment SET removed_at = ?
        WHERE event_id = ? AND id NOT IN (SELECT value FROM json_each(?)) AND removed_at IS NULL",
        now,
        event,
        known
    )
    .execute(&mut *connection)
    .await?;
    let rows: Vec<PartRow<'_>> =
        parts.iter().map(|own| PartRow::of(own.id, &own.label, own.part, own.due)).collect();
    let rows = json_list(&rows);
    sqlx::query!(
        "INSERT INTO event_instalment (id, event_id, position, label, share, amount, due, due_days, due_on)
        SELECT value ->> 'id', ?, key, value ->> 'label', value ->> 'share', value ->> 'amount', value ->> 'due',
            value ->> 'days', value ->> 'day' FROM json_each(?) WHERE true
        ON CONFLICT (id) DO UPDATE SET position = excluded.position, label = excluded.label, share = excluded.share,
            amount = excluded.amount, due = excluded.due, due_days = excluded.due_days, due_on = excluded.due_on",
        event,
        rows
    )
    .execute(connection)
    .await
    .map(drop)
}
