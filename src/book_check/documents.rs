//! Frozen papers: each can be read, adds up, and says what its row says; each client's account is the sum of its rows.

use futures_util::TryStreamExt;
use sqlx::SqliteConnection;

use super::Finding;
use crate::accounts::document::{Document, Figures};
use crate::accounts::ledger::{Billed, Paid, ledgers};
use crate::accounts::store::{invoices, payments};
use crate::close_out;
use crate::ground::money::Money;
use crate::quotes::document::{Document as QuoteDocument, Frozen};

pub(super) async fn findings(connection: &mut SqliteConnection) -> Result<Vec<Finding>, sqlx::Error> {
    let mut found = quotes(connection).await?;
    found.extend(invoiced(connection).await?);
    found.extend(closings(connection).await?);
    found.extend(accounts(connection).await?);
    Ok(found)
}

async fn quotes(connection: &mut SqliteConnection) -> Result<Vec<Finding>, sqlx::Error> {
    let (mut unread, mut untied) = (Vec::new(), Vec::new());
    let mut rows = sqlx::query!(
        r#"SELECT event.name, number, total AS "total: Money", document FROM quote_version
        JOIN quote ON quote.id = quote_id JOIN event ON event.id = event_id ORDER BY quote_version.id"#
    )
    .fetch(connection);
    while let Some(row) = rows.try_next().await? {
        let which = format!("version {} of {}", row.number, row.name);
        match serde_json::from_str::<Frozen>(&row.document) {
            Err(_) => unread.push(which),
            Ok(frozen) if frozen.document.total != row.total || !quote_adds_up(&frozen.document) => {
                untied.push(which);
            }
            Ok(_) => {}
        }
    }
    Ok([
        Finding::wrong("A quote that was sent cannot be read any more", unread),
        Finding::wrong("A quote that was sent does not add up", untied),
    ]
    .into_iter()
    .flatten()
    .collect())
}

/// Lines make their sum; lines less discount and charges make the total with tax in the prices, else what is before tax;
/// that and the taxes make the total.
fn quote_adds_up(document: &QuoteDocument) -> bool {
    let lines: Money =
        document.places.iter().flat_map(|place| &place.lines).filter_map(|line| line.amount).sum();
    let charges: Money = document.charges.iter().map(|charge| charge.amount).sum();
    let taxes: Money = document.taxes.iter().map(|tax| tax.amount).sum();
    let priced = if document.inclusive { document.total } else { document.before_tax };
    lines == document.lines
        && lines - document.discount.amount + charges == priced
        && document.before_tax + taxes == document.total
}

async fn invoiced(connection: &mut SqliteConnection) -> Result<Vec<Finding>, sqlx::Error> {
    let (mut unread, mut untied) = (Vec::new(), Vec::new());
    let mut rows =
        sqlx::query!(r#"SELECT number, total AS "total: Money", document FROM invoice ORDER BY number"#)
            .fetch(connection);
    while let Some(row) = rows.try_next().await? {
        let which = format!("no. {}", row.number);
        match serde_json::from_str::<Document>(&row.document) {
            Err(_) => unread.push(which),
            Ok(document) if document.figures.total != row.total || !adds_up(&document.figures) => {
                untied.push(which);
            }
            Ok(_) => {}
        }
    }
    Ok([
        Finding::wrong("An invoice cannot be read any more", unread),
        Finding::wrong("An invoice does not add up", untied),
    ]
    .into_iter()
    .flatten()
    .collect())
}

fn adds_up(figures: &Figures) -> bool {
    let lines: Money = figures.lines.iter().map(|line| line.amount).sum();
    let beside =
        |list: &[crate::accounts::document::Beside]| list.iter().map(|one| one.amount).sum::<Money>();
    let taxes: Money = figures.taxes.iter().map(|tax| tax.amount).sum();
    let priced = if figures.inclusive { figures.total } else { figures.before_tax };
    lines == figures.lines_total
        && lines - beside(&figures.off) + beside(&figures.charges) == priced
        && taxes == figures.tax
        && figures.before_tax + figures.tax == figures.total
}

async fn closings(connection: &mut SqliteConnection) -> Result<Vec<Finding>, sqlx::Error> {
    let rows = sqlx::query!(
        "SELECT event.name, figures FROM close_out JOIN event ON event.id = event_id WHERE kind = 'closed'"
    )
    .fetch_all(connection)
    .await?;
    let read = |json: &str| serde_json::from_str::<close_out::figures::Figures>(json).is_ok();
    let unread = rows.into_iter().filter(|row| !read(&row.figures)).map(|row| row.name).collect();
    Ok(Finding::wrong("An event's close-out cannot be read any more", unread).into_iter().collect())
}

/// What a client owes by the ledger, invoice by invoice, is the plain sum of the rows.
async fn accounts(connection: &mut SqliteConnection) -> Result<Vec<Finding>, sqlx::Error> {
    let billed = invoices::billed(connection, None).await?;
    let paid = payments::paid(connection, None).await?;
    let names = sqlx::query!("SELECT id, name FROM client").fetch_all(connection).await?;
    let mut otherwise = Vec::new();
    for (client, ledger) in ledgers(billed.clone(), paid.clone()) {
        let asked: Money = billed.iter().filter(|row| row.client_id == client).map(effect).sum();
        let came: Money = paid.iter().filter(|row| row.client_id == client).map(Paid::effect).sum();
        if ledger.balance() != asked + came {
            let name = names.iter().find(|row| row.id == client.0).map(|row| row.name.clone());
            otherwise.push(name.unwrap_or_else(|| format!("client no. {client}")));
        }
    }
    Ok(Finding::wrong("A client's account is not the sum of its rows", otherwise).into_iter().collect())
}

fn effect(row: &Billed) -> Money {
    if row.credits.is_some() { Money::ZERO - row.total } else { row.total }
}
