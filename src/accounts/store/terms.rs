//! How the studio invoices, and what an invoice says of a client.

use sqlx::SqliteConnection;

use crate::accounts::document::Category;
use crate::accounts::instalments::Instalment;
use crate::accounts::{CancellationStep, ClientAccount, Terms, Treatment};
use crate::ground::choice::Choice;
use crate::ground::ids::{ClientId, TaxRateId};
use crate::ground::quantity::Share;
use crate::quotes;
use crate::quotes::payment::UsualPart;

/// The studio's terms; the usual ones where nothing was saved yet.
pub async fn terms(connection: &mut SqliteConnection) -> Result<Terms, sqlx::Error> {
    let row = sqlx::query!(
        "SELECT version, country, legal_id, account_holder, iban, bic, number_prefix, first_number, payment_days, words
        FROM account_settings WHERE id = 1"
    )
    .fetch_optional(&mut *connection)
    .await?;
    let treatments = treatments(connection).await?;
    let Some(row) = row else { return Ok(Terms { treatments, ..Terms::new_book() }) };
    Ok(Terms {
        version: row.version,
        country: row.country,
        legal_id: row.legal_id,
        account_holder: row.account_holder,
        iban: row.iban,
        bic: row.bic,
        number_prefix: row.number_prefix,
        first_number: row.first_number,
        payment_days: row.payment_days,
        words: row.words,
        usual: quotes::store::usual_parts(connection).await?.into_iter().map(Instalment::from).collect(),
        cancellation: cancellation(connection).await?,
        treatments,
    })
}

async fn cancellation(connection: &mut SqliteConnection) -> Result<Vec<CancellationStep>, sqlx::Error> {
    sqlx::query_as!(
        CancellationStep,
        r#"SELECT days_before, retained AS "retained: Share" FROM cancellation_step ORDER BY days_before DESC"#
    )
    .fetch_all(connection)
    .await
}

async fn treatments(connection: &mut SqliteConnection) -> Result<Vec<Treatment>, sqlx::Error> {
    sqlx::query_as!(
        Treatment,
        r#"SELECT tax_rate_id AS "rate: TaxRateId", category AS "category: Category", reason FROM tax_treatment
        ORDER BY tax_rate_id"#
    )
    .fetch_all(connection)
    .await
}

/// Keeps the terms and counts the save.
pub async fn keep(connection: &mut SqliteConnection, terms: &Terms) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO account_settings (id, version, country, legal_id, account_holder, iban, bic, number_prefix,
            first_number, payment_days, words) VALUES (1, 1, ?, ?, ?, ?, ?, ?, ?, ?, ?)
        ON CONFLICT (id) DO UPDATE SET version = version + 1, country = excluded.country, legal_id = excluded.legal_id,
            account_holder = excluded.account_holder, iban = excluded.iban, bic = excluded.bic,
            number_prefix = excluded.number_prefix, first_number = excluded.first_number,
            payment_days = excluded.payment_days, words = excluded.words",
        terms.country,
        terms.legal_id,
        terms.account_holder,
        terms.iban,
        terms.bic,
        terms.number_prefix,
        terms.first_number,
        terms.payment_days,
        terms.words
    )
    .execute(&mut *connection)
    .await?;
    let usual: Vec<UsualPart> = terms.usual.iter().map(UsualPart::from).collect();
    quotes::store::keep_usual_parts(connection, &usual).await?;
    keep_cancellation(connection, &terms.cancellation).await?;
    keep_treatments(connection, &terms.treatments).await
}

async fn keep_cancellation(
    connection: &mut SqliteConnection,
    steps: &[CancellationStep],
) -> Result<(), sqlx::Error> {
    sqlx::query!("DELETE FROM cancellation_step").execute(&mut *connection).await?;
    for step in steps {
        sqlx::query!(
            "INSERT INTO cancellation_step (days_before, retained) VALUES (?, ?)",
            step.days_before,
            step.retained
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(())
}

async fn keep_treatments(
    connection: &mut SqliteConnection,
    treatments: &[Treatment],
) -> Result<(), sqlx::Error> {
    sqlx::query!("DELETE FROM tax_treatment").execute(&mut *connection).await?;
    for one in treatments {
        let category = one.category.code();
        sqlx::query!(
            "INSERT INTO tax_treatment (tax_rate_id, category, reason) VALUES (?, ?, ?)",
            one.rate,
            category,
            one.reason
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(())
}

/// What an invoice says of a client; nothing where nothing was saved yet.
pub async fn client_account(
    connection: &mut SqliteConnection,
    client: ClientId,
) -> Result<ClientAccount, sqlx::Error> {
    let row = sqlx::query_as!(
        ClientAccount,
        "SELECT version, country, tax_number, legal_id, reference FROM client_account WHERE client_id = ?",
        client
    )
    .fetch_optional(connection)
    .await?;
    Ok(row.unwrap_or_default())
}

/// Keeps it and counts the save.
pub async fn keep_client_account(
    connection: &mut SqliteConnection,
    client: ClientId,
    new: &ClientAccount,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO client_account (client_id, version, country, tax_number, legal_id, reference)
        VALUES (?, 1, ?, ?, ?, ?)
        ON CONFLICT (client_id) DO UPDATE SET version = version + 1, country = excluded.country,
            tax_number = excluded.tax_number, legal_id = excluded.legal_id, reference = excluded.reference",
        client,
        new.country,
        new.tax_number,
        new.legal_id,
        new.reference
    )
    .execute(connection)
    .await
    .map(drop)
}

/// A client's name and address, also of one that was removed: its account stays.
pub async fn client_on_paper(
    connection: &mut SqliteConnection,
    client: ClientId,
) -> Result<Option<(String, String)>, sqlx::Error> {
    let row = sqlx::query!("SELECT name, address FROM client WHERE id = ?", client)
        .fetch_optional(connection)
        .await?;
    Ok(row.map(|row| (row.name, row.address)))
}
