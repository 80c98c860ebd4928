//! Money that came in or went back.

use sqlx::SqliteConnection;

use crate::accounts::ledger::{Ledger, NewPayment, Paid, ledgers};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{ClientId, EventId, InvoiceId, PaymentId, json_list};
use crate::ground::money::Money;

/// The rows of some clients, or of all, in the order in which they were recorded.
pub async fn paid(
    connection: &mut SqliteConnection,
    clients: Option<&[ClientId]>,
) -> Result<Vec<Paid>, sqlx::Error> {
    let clients = clients.map(json_list);
    sqlx::query_as!(
        Paid,
        r#"SELECT id AS "id: PaymentId", client_id AS "client_id: ClientId", event_id AS "event_id: EventId",
            invoice_id AS "invoice_id: InvoiceId", kind = 'refund' AS "refund!: bool",
            reverses_id AS "reverses: PaymentId", paid_on AS "paid_on: Day", amount AS "amount: Money", how, reference,
            note
        FROM payment WHERE ? IS NULL OR client_id IN (SELECT value FROM json_each(?)) ORDER BY id"#,
        clients,
        clients
    )
    .fetch_all(connection)
    .await
}

/// Keeps a row; nothing where the key was used already, or where the row was reversed already.
pub async fn add(
    connection: &mut SqliteConnection,
    new: &NewPayment,
    (once_key, now): (&str, Moment),
) -> Result<Option<PaymentId>, sqlx::Error> {
    let kind = if new.refund { "refund" } else { "payment" };
    let added = sqlx::query!(
        "INSERT INTO payment (kind, client_id, event_id, invoice_id, reverses_id, paid_on, amount, how, reference, note,
            once_key, recorded_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
        kind,
        new.client_id,
        new.event_id,
        new.invoice_id,
        new.reverses,
        new.paid_on,
        new.amount,
        new.how,
        new.reference,
        new.note,
        once_key,
        now
    )
    .execute(connection)
    .await?;
    Ok((added.rows_affected() == 1).then(|| PaymentId(added.last_insert_rowid())))
}

/// Whether a once-only key was used.
pub async fn is_used(connection: &mut SqliteConnection, key: &str) -> Result<bool, sqlx::Error> {
    sqlx::query_scalar!(r#"SELECT EXISTS (SELECT 1 FROM payment WHERE once_key = ?) AS "used: bool""#, key)
        .fetch_one(connection)
        .await
}

/// A client's events.
pub async fn events_of(
    connection: &mut SqliteConnection,
    client: ClientId,
) -> Result<Vec<EventId>, sqlx::Error> {
    sqlx::query_scalar!(r#"SELECT id AS "id: EventId" FROM event WHERE client_id = ?"#, client)
        .fetch_all(connection)
        .await
}

/// One row.
pub async fn payment(connection: &mut SqliteConnection, id: PaymentId) -> Result<Option<Paid>, sqlx::Error> {
    let client = sqlx::query_scalar!(r#"SELECT client_id AS "id: ClientId" FROM payment WHERE id = ?"#, id)
        .fetch_optional(&mut *connection)
        .await?;
    let Some(client) = client else { return Ok(None) };
    Ok(paid(connection, Some(&[client])).await?.into_iter().find(|row| row.id == id))
}

/// One client's account.
pub async fn ledger_of(connection: &mut SqliteConnection, client: ClientId) -> Result<Ledger, sqlx::Error> {
    let billed = super::invoices::billed(connection, Some(&[client])).await?;
    let paid = paid(connection, Some(&[client])).await?;
    Ok(ledgers(billed, paid).remove(&client).unwrap_or_default())
}
