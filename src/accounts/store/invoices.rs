//! Invoices and credit notes. A document is written once and never again.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;

use crate::accounts::document::{Document, Kind};
use crate::accounts::ledger::Billed;
use crate::ground::choice::Choice;
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{ClientId, EventId, InstalmentId, InvoiceId, json_list};
use crate::ground::money::Money;

/// A document with where it belongs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// Its identity.
    pub id: InvoiceId,
    /// Whose.
    pub client_id: ClientId,
    /// For which event.
    pub event_id: Option<EventId>,
    /// For which part of its payment.
    pub instalment_id: Option<InstalmentId>,
    /// Which invoice it takes back.
    pub credits_id: Option<InvoiceId>,
    /// What it says.
    pub document: Document,
}

/// Where a new document belongs.
#[derive(Debug, Clone, Copy)]
pub struct Place {
    /// Whose.
    pub client: ClientId,
    /// For which event.
    pub event: Option<EventId>,
    /// For which part of its payment.
    pub instalment: Option<InstalmentId>,
    /// Which invoice it takes back.
    pub credits: Option<InvoiceId>,
}

/// The number that the next document gets. Asked within the transaction that keeps it, so that none is given twice and
/// none left out.
pub async fn next_number(connection: &mut SqliteConnection, first: i64) -> Result<i64, sqlx::Error> {
    let last = sqlx::query_scalar!(r#"SELECT max(number) AS "last: i64" FROM invoice"#)
        .fetch_one(connection)
        .await?;
    Ok(last.map_or(first, |last| last + 1))
}

/// Keeps a document under its number.
pub async fn add(
    connection: &mut SqliteConnection,
    number: i64,
    place: Place,
    document: &Document,
    (once_key, now): (&str, Moment),
) -> Result<InvoiceId, sqlx::Error> {
    let json = serde_json::to_string(document).map_err(|error| sqlx::Error::Encode(error.into()))?;
    let (kind, total) = (document.kind.code(), document.figures.total);
    let added = sqlx::query!(
        "INSERT INTO invoice (number, kind, client_id, event_id, instalment_id, credits_id, issued_on, due_on, total,
            document, once_key, recorded_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        number,
        kind,
        place.client,
        place.event,
        place.instalment,
        place.credits,
        document.issued_on,
        document.due_on,
        total,
        json,
        once_key,
        now
    )
    .execute(connection)
    .await?;
    Ok(InvoiceId(added.last_insert_rowid()))
}

/// The document that was made with a once-only key, if that was used.
pub async fn of_key(connection: &mut SqliteConnection, key: &str) -> Result<Option<InvoiceId>, sqlx::Error> {
    sqlx::query_scalar!(r#"SELECT id AS "id: InvoiceId" FROM invoice WHERE once_key = ?"#, key)
        .fetch_optional(connection)
        .await
}

/// Documents with these identities, or all of an event (`None` asks for none of them), oldest number first.
async fn kept(
    connection: &mut SqliteConnection,
    ids: &[InvoiceId],
    event: Option<EventId>,
    issued: Option<(Day, Day)>,
) -> Result<Vec<Kept>, sqlx::Error> {
    let ids = json_list(ids);
    let (from, to) = issued.unzip();
    let rows = sqlx::query!(
        r#"SELECT id AS "id: InvoiceId", client_id AS "client_id: ClientId", event_id AS "event_id: EventId",
            instalment_id AS "instalment_id: InstalmentId", credits_id AS "credits_id: InvoiceId", document
        FROM invoice WHERE id IN (SELECT value FROM json_each(?)) OR event_id = ? OR issued_on BETWEEN ? AND ?
        ORDER BY number"#,
        ids,
        event,
        from,
        to
    )
    .fetch_all(connection)
    .await?;
    let document = |json: &str| serde_json::from_str(json).map_err(|error| sqlx::Error::Decode(error.into()));
    rows.into_iter()
        .map(|row| {
            Ok(Kept {
                id: row.id,
                client_id: row.client_id,
                event_id: row.event_id,
                instalment_id: row.instalment_id,
                credits_id: row.credits_id,
                document: document(&row.document)?,
            })
        })
        .collect()
}

/// One document.
pub async fn invoice(connection: &mut SqliteConnection, id: InvoiceId) -> Result<Option<Kept>, sqlx::Error> {
    Ok(kept(connection, &[id], None, None).await?.pop())
}

/// The documents of an event, oldest number first.
pub async fn of_event(connection: &mut SqliteConnection, event: EventId) -> Result<Vec<Kept>, sqlx::Error> {
    kept(connection, &[], Some(event), None).await
}

/// The credit notes of an invoice, oldest number first.
pub async fn credits_of(
    connection: &mut SqliteConnection,
    invoice: InvoiceId,
) -> Result<Vec<Kept>, sqlx::Error> {
    let ids =
        sqlx::query_scalar!(r#"SELECT id AS "id: InvoiceId" FROM invoice WHERE credits_id = ?"#, invoice)
            .fetch_all(&mut *connection)
            .await?;
    kept(connection, &ids, None, None).await
}

/// The documents dated from one day to another, both included, oldest number first.
pub async fn issued_between(
    connection: &mut SqliteConnection,
    from: Day,
    to: Day,
) -> Result<Vec<Kept>, sqlx::Error> {
    kept(connection, &[], None, Some((from, to))).await
}

/// The rows of some clients, or of all, without what they say; oldest number first.
pub async fn billed(
    connection: &mut SqliteConnection,
    clients: Option<&[ClientId]>,
) -> Result<Vec<Billed>, sqlx::Error> {
    let clients = clients.map(json_list);
    sqlx::query_as!(
        Billed,
        r#"SELECT id AS "id: InvoiceId", document ->> '$.number' AS "number!: String", kind AS "kind: Kind",
            client_id AS "client_id: ClientId", event_id AS "event_id: EventId", credits_id AS "credits: InvoiceId",
            issued_on AS "issued_on: Day", due_on AS "due_on: Day", total AS "total: Money"
        FROM invoice WHERE ? IS NULL OR client_id IN (SELECT value FROM json_each(?)) ORDER BY invoice.number"#,
        clients,
        clients
    )
    .fetch_all(connection)
    .await
}

/// What was invoiced of each part of an event's payment, less what was credited.
pub async fn invoiced_of_parts(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<BTreeMap<InstalmentId, Money>, sqlx::Error> {
    let events = json_list(events);
    let rows = sqlx::query!(
        r#"SELECT i.instalment_id AS "instalment!: InstalmentId",
            sum(i.total - coalesce((SELECT sum(c.total) FROM invoice c WHERE c.credits_id = i.id), 0))
                AS "invoiced!: Money"
        FROM invoice i WHERE i.instalment_id IS NOT NULL AND i.event_id IN (SELECT value FROM json_each(?))
        GROUP BY i.instalment_id"#,
        events
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.instalment, row.invoiced)).collect())
}

/// The names of clients that have an invoice or paid something, also of removed ones.
pub async fn client_names(
    connection: &mut SqliteConnection,
) -> Result<BTreeMap<ClientId, String>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT id AS "id: ClientId", name FROM client
        WHERE id IN (SELECT client_id FROM invoice UNION SELECT client_id FROM payment)"#
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.name)).collect())
}
