//! Tax by period and rate, and the books of a period as files.

use askama::Template;
use serde::Deserialize;
use sqlx::SqliteConnection;

use crate::accounts::books::{self, Names};
use crate::accounts::document::Document;
use crate::accounts::ledger::Paid;
use crate::accounts::store::{invoices, payments};
use crate::accounts::tax_report::{RateSum, by_rate, csv};
use crate::ground::dates::Day;
use crate::ground::money::Money;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, download, page, refused};
use crate::web::forms::{Checker, FieldErrors, Query};

/// The period that is asked for.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Asked {
    from: String,
    to: String,
}

impl Asked {
    /// The period; unasked it is the present month from its first day.
    fn read(&self, visit: &Visit) -> Result<(Day, Day), FieldErrors> {
        let mut c = Checker::new(&visit.studio.formats);
        let from = c.day_or_none("from", &self.from).unwrap_or(Day(visit.today.0.first_of_month()));
        let to = c.day_or_none("to", &self.to).unwrap_or(Day(from.0.last_of_month()));
        if to < from && c.is_fine("to") {
            c.refuse("to", "The last day lies before the first.");
        }
        c.done((from, to))
    }
}

#[derive(Template)]
#[template(path = "accounts/tax.html")]
struct TaxPage {
    shell: Shell,
    from: String,
    to: String,
    sums: Vec<RateSum>,
    documents: usize,
    errors: FieldErrors,
}

impl TaxPage {
    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    fn net(&self) -> Money {
        self.sums.iter().map(|sum| sum.net).sum()
    }

    fn tax(&self) -> Money {
        self.sums.iter().map(|sum| sum.tax).sum()
    }

    /// The addresses of both files for the same period.
    fn file(&self, name: &str) -> String {
        let path =
            self.shell.list_path(&format!("/accounts/{name}.csv"), &[("from", &self.from), ("to", &self.to)]);
        path.trim_end_matches('&').to_owned()
    }
}

async fn documents(
    connection: &mut SqliteConnection,
    (from, to): (Day, Day),
) -> Result<Vec<Document>, Trouble> {
    let kept = invoices::issued_between(connection, from, to).await?;
    Ok(kept.into_iter().map(|one| one.document).collect())
}

pub(super) async fn show(mut visit: Visit, Query(asked): Query<Asked>) -> Answer {
    let shell = visit.shell(Section::Accounts, "Tax and books");
    let (from, to) = match asked.read(&visit) {
        Ok(period) => period,
        Err(errors) => {
            let Asked { from, to } = asked;
            return refused(&TaxPage { shell, from, to, sums: Vec::new(), documents: 0, errors });
        }
    };
    let found = documents(&mut visit.connection, (from, to)).await?;
    page(&TaxPage {
        shell,
        from: from.to_string(),
        to: to.to_string(),
        sums: by_rate(&found),
        documents: found.len(),
        errors: FieldErrors::default(),
    })
}

fn period(asked: &Asked, visit: &Visit) -> Result<(Day, Day), Trouble> {
    let first = |errors: FieldErrors| {
        let message = errors.list().first().map(|(_, message)| message.clone()).unwrap_or_default();
        Trouble::Conflict(format!("No file was made. {message}"))
    };
    asked.read(visit).map_err(first)
}

pub(super) async fn tax_file(mut visit: Visit, Query(asked): Query<Asked>) -> Answer {
    let (from, to) = period(&asked, &visit)?;
    let found = documents(&mut visit.connection, (from, to)).await?;
    let content = csv(&by_rate(&found), (from, to), &visit.studio.formats)?;
    download(&format!("tax-{from}-{to}.csv"), "text/csv; charset=utf-8", content)
}

pub(super) async fn books_file(mut visit: Visit, Query(asked): Query<Asked>) -> Answer {
    let (from, to) = period(&asked, &visit)?;
    let found = documents(&mut visit.connection, (from, to)).await?;
    let mut paid: Vec<Paid> = payments::paid(&mut visit.connection, None).await?;
    paid.retain(|row| (from..=to).contains(&row.paid_on));
    paid.sort_by_key(|row| (row.paid_on, row.id));
    let names = Names {
        clients: invoices::client_names(&mut visit.connection).await?,
        invoices: invoices::billed(&mut visit.connection, None)
            .await?
            .into_iter()
            .map(|billed| (billed.id, billed.number))
            .collect(),
    };
    let content = books::csv(&found, &paid, &names, &visit.studio.formats)?;
    download(&format!("books-{from}-{to}.csv"), "text/csv; charset=utf-8", content)
}
