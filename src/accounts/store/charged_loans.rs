//! Which lent pieces an invoice has charged.

use sqlx::SqliteConnection;

use crate::accounts::loan_charges::Charged;
use crate::ground::ids::{EventId, InvoiceId, MaterialId};
use crate::ground::money::Money;

/// What an event's invoices have charged; those that were credited whole are left out.
pub async fn charged(connection: &mut SqliteConnection, event: EventId) -> Result<Vec<Charged>, sqlx::Error> {
    sqlx::query_as!(
        Charged,
        r#"SELECT l.material_id AS "material: MaterialId", m.name, l.pieces, l.each AS "each: Money"
        FROM charged_loan l JOIN invoice i ON i.id = l.invoice_id JOIN material m ON m.id = l.material_id
        WHERE i.event_id = ? AND i.total > coalesce((SELECT sum(c.total) FROM invoice c WHERE c.credits_id = i.id), 0)
        ORDER BY m.name, l.invoice_id"#,
        event
    )
    .fetch_all(connection)
    .await
}

/// Keeps what an invoice charges.
pub async fn keep(
    connection: &mut SqliteConnection,
    invoice: InvoiceId,
    charged: &[Charged],
) -> Result<(), sqlx::Error> {
    for one in charged {
        sqlx::query!(
            "INSERT INTO charged_loan (invoice_id, material_id, pieces, each) VALUES (?, ?, ?, ?)",
            invoice,
            one.material,
            one.pieces,
            one.each
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(())
}
