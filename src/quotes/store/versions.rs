//! What was sent and what was accepted. A version's document is written once and never again.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, QuoteId, QuoteVersionId, json_list};
use crate::ground::money::Money;
use crate::quotes::document::{Frozen, InstalmentLine};
use crate::quotes::{Acceptance, Accepted, Decline, Standing, Version};

/// An event's versions with their acceptances, oldest first.
pub async fn versions(
    connection: &mut SqliteConnection,
    event: EventId,
) -> Result<Vec<Version>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT quote_version.id AS "id: QuoteVersionId", number, sent_on AS "sent_on: Day", sent_to, document,
            a.accepted_on AS "accepted_on?: Day", a.accepted_by AS "accepted_by?", a.how AS "how?",
            d.declined_on AS "declined_on?: Day", d.declined_by AS "declined_by?", d.reason AS "reason?"
        FROM quote_version JOIN quote ON quote.id = quote_id
        LEFT JOIN quote_acceptance a ON a.version_id = quote_version.id
        LEFT JOIN quote_decline d ON d.version_id = quote_version.id
        WHERE event_id = ? ORDER BY number"#,
        event
    )
    .fetch_all(connection)
    .await?;
    rows.into_iter()
        .map(|row| {
            let frozen: Frozen =
                serde_json::from_str(&row.document).map_err(|error| sqlx::Error::Decode(error.into()))?;
            let acceptance = row.accepted_on.map(|on| Acceptance {
                on,
                by: row.accepted_by.unwrap_or_default(),
                how: row.how.unwrap_or_default(),
            });
            let decline = row.declined_on.map(|on| Decline {
                on,
                by: row.declined_by.unwrap_or_default(),
                reason: row.reason.unwrap_or_default(),
            });
            Ok(Version {
                id: row.id,
                number: row.number,
                sent_on: row.sent_on,
                sent_to: row.sent_to,
                frozen,
                acceptance,
                decline,
            })
        })
        .collect()
}

/// To which event a version belongs, unless that is removed.
pub async fn event_of_version(
    connection: &mut SqliteConnection,
    version: QuoteVersionId,
) -> Result<Option<EventId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT event.id AS "id: EventId" FROM quote_version
        JOIN quote ON quote.id = quote_id JOIN event ON event.id = event_id
        WHERE quote_version.id = ? AND event.removed_at IS NULL"#,
        version
    )
    .fetch_optional(connection)
    .await
}

/// The version that was made with a once-only key, if that was used.
pub async fn version_of_key(
    connection: &mut SqliteConnection,
    key: &str,
) -> Result<Option<QuoteVersionId>, sqlx::Error> {
    sqlx::query_scalar!(r#"SELECT id AS "id: QuoteVersionId" FROM quote_version WHERE once_key = ?"#, key)
        .fetch_optional(connection)
        .await
}

/// The payment schedules that these versions print.
pub async fn instalments_of_versions(
    connection: &mut SqliteConnection,
    versions: &[QuoteVersionId],
) -> Result<HashMap<QuoteVersionId, Vec<InstalmentLine>>, sqlx::Error> {
    let versions = json_list(versions);
    let rows = sqlx::query!(
        r#"SELECT id AS "id!: QuoteVersionId", coalesce(document -> '$.document.instalments', '[]') AS "lines!: String"
        FROM quote_version WHERE id IN (SELECT value FROM json_each(?))"#,
        versions
    )
    .fetch_all(connection)
    .await?;
    let read = |json: &str| serde_json::from_str(json).map_err(|error| sqlx::Error::Decode(error.into()));
    rows.into_iter().map(|row| Ok((row.id, read(&row.lines)?))).collect()
}

/// Freezes a version with the next number.
pub async fn add_version(
    connection: &mut SqliteConnection,
    quote: QuoteId,
    once_key: &str,
    (sent_on, sent_to): (Day, &str),
    frozen: &Frozen,
) -> Result<QuoteVersionId, sqlx::Error> {
    let document = serde_json::to_string(frozen).map_err(|error| sqlx::Error::Encode(error.into()))?;
    let total = frozen.document.total;
    let added = sqlx::query!(
        "INSERT INTO quote_version (quote_id, number, once_key, sent_on, sent_to, total, document)
        SELECT ?, 1 + coalesce(max(number), 0), ?, ?, ?, ?, ? FROM quote_version WHERE quote_id = ?",
        quote,
        once_key,
        sent_on,
        sent_to,
        total,
        document,
        quote
    )
    .execute(connection)
    .await?;
    Ok(QuoteVersionId(added.last_insert_rowid()))
}

/// Records an acceptance; false where the version was accepted already.
pub async fn accept(
    connection: &mut SqliteConnection,
    version: QuoteVersionId,
    acceptance: &Acceptance,
    now: Moment,
) -> Result<bool, sqlx::Error> {
    let done = sqlx::query!(
        "INSERT INTO quote_acceptance (version_id, accepted_on, accepted_by, how, recorded_at) VALUES (?, ?, ?, ?, ?)
        ON CONFLICT (version_id) DO NOTHING",
        version,
        acceptance.on,
        acceptance.by,
        acceptance.how,
        now
    )
    .execute(connection)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Records that a version was declined; false where that was recorded already.
pub async fn decline(
    connection: &mut SqliteConnection,
    version: QuoteVersionId,
    decline: &Decline,
    now: Moment,
) -> Result<bool, sqlx::Error> {
    let done = sqlx::query!(
        "INSERT INTO quote_decline (version_id, declined_on, declined_by, reason, recorded_at) VALUES (?, ?, ?, ?, ?)
        ON CONFLICT (version_id) DO NOTHING",
        version,
        decline.on,
        decline.by,
        decline.reason,
        now
    )
    .execute(connection)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// How the quotes of these events stand; events without a sent version are left out.
pub async fn standing(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<HashMap<EventId, Standing>, sqlx::Error> {
    let events = json_list(events);
    let rows = sqlx::query!(
        r#"SELECT event_id AS "event_id: EventId", quote_version.id AS "id: QuoteVersionId", number,
            sent_on AS "sent_on: Day", total AS "total: Money",
            document ->> '$.document.valid_until' AS "valid_until?: Day",
            document ->> '$.change.number' AS "note?: i64",
            document ->> '$.change.agreed.version' AS "note_base?: QuoteVersionId",
            a.accepted_on AS "accepted_on?: Day", a.accepted_by AS "accepted_by?",
            d.declined_on AS "declined_on?: Day"
        FROM quote_version JOIN quote ON quote.id = quote_id
        LEFT JOIN quote_acceptance a ON a.version_id = quote_version.id
        LEFT JOIN quote_decline d ON d.version_id = quote_version.id
        WHERE event_id IN (SELECT value FROM json_each(?)) ORDER BY event_id, number"#,
        events
    )
    .fetch_all(connection)
    .await?;
    let mut standings: HashMap<EventId, Standing> = HashMap::new();
    for row in rows {
        let (number, version_id, total) = (row.number, row.id, row.total);
        let accepted = row.accepted_on.map(|on| Accepted {
            number,
            version_id,
            total,
            on,
            by: row.accepted_by.unwrap_or_default(),
        });
        let before = standings.remove(&row.event_id).and_then(|standing| standing.accepted);
        let (sent_on, valid_until) = (row.sent_on, row.valid_until);
        let accepted = later(before, accepted);
        let (declined_on, note) = (row.declined_on, row.note.zip(row.note_base));
        let standing =
            Standing { number, version_id, sent_on, total, valid_until, accepted, declined_on, note };
        standings.insert(row.event_id, standing);
    }
    Ok(standings)
}

/// Of two acceptances the one that counts: the later day, of one day the later version.
fn later(before: Option<Accepted>, after: Option<Accepted>) -> Option<Accepted> {
    match (before, after) {
        (Some(before), Some(after)) if before.on > after.on => Some(before),
        (before, after) => after.or(before),
    }
}
