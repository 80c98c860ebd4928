//! A client's account: the statement, what is open, what an invoice says of the client.

use askama::Template;
use axum::extract::State;

use super::event::{PaidLine, paid_line};
use super::opening::standing;
use crate::accounts::document::Kind;
use crate::accounts::forms::party::PartyForm;
use crate::accounts::ledger::{Ageing, Billed, Ledger, Paid, ledger};
use crate::accounts::statement::{Entry, Row, statement};
use crate::accounts::store::{invoices, payments, terms};
use crate::ground::ids::ClientId;
use crate::ground::money::Money;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "accounts/client.html")]
struct ClientPage {
    shell: Shell,
    id: ClientId,
    name: String,
    address: String,
    billed: Vec<Billed>,
    paid: Vec<Paid>,
    ledger: Ledger,
    form: PartyForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

/// A row of the statement, ready to be shown.
struct StatementLine {
    day: String,
    what: String,
    path: Option<String>,
    asked: String,
    paid: String,
    balance: String,
}

/// An open invoice, ready to be shown.
struct OpenLine {
    number: String,
    path: String,
    due: String,
    open: String,
    standing: String,
}

impl ClientPage {
    async fn new(visit: &mut Visit, id: ClientId) -> Result<ClientPage, Trouble> {
        let nobody = || Trouble::NotFound("client");
        let (name, address) = terms::client_on_paper(&mut visit.connection, id).await?.ok_or_else(nobody)?;
        let billed = invoices::billed(&mut visit.connection, Some(&[id])).await?;
        let paid = payments::paid(&mut visit.connection, Some(&[id])).await?;
        let account = terms::client_account(&mut visit.connection, id).await?;
        Ok(ClientPage {
            shell: visit.shell(Section::Accounts, format!("Account of {name}")),
            id,
            name,
            address,
            ledger: ledger(&billed, &paid),
            billed,
            paid,
            form: PartyForm::of(&account),
            errors: FieldErrors::default(),
            differences: Vec::new(),
        })
    }

    fn lines(&self) -> Vec<StatementLine> {
        statement(&self.billed, &self.paid).into_iter().filter_map(|row| self.line(row)).collect()
    }

    fn line(&self, row: Row) -> Option<StatementLine> {
        let f = &self.shell.formats;
        let (what, path) = match row.entry {
            Entry::Document(id) => {
                let billed = self.billed.iter().find(|billed| billed.id == id)?;
                let what = if billed.kind == Kind::Credit { "Credit note" } else { "Invoice" };
                (format!("{what} {}", billed.number), Some(format!("/invoices/{id}")))
            }
            Entry::Money(id) => (self.paid_line(id)?.what, None),
        };
        let raises = row.effect > Money::ZERO;
        Some(StatementLine {
            day: f.day(row.day),
            what,
            path,
            asked: if raises { f.money(row.effect) } else { String::new() },
            paid: if raises { String::new() } else { f.money(-row.effect) },
            balance: f.money(row.balance),
        })
    }

    fn paid_line(&self, id: crate::ground::ids::PaymentId) -> Option<PaidLine> {
        let row = self.paid.iter().find(|row| row.id == id)?;
        Some(paid_line(row, &self.paid, &self.ledger, &self.shell))
    }

    fn payments(&self) -> Vec<PaidLine> {
        self.paid.iter().map(|row| paid_line(row, &self.paid, &self.ledger, &self.shell)).collect()
    }

    /// Invoices that are open.
    fn open(&self) -> Vec<OpenLine> {
        let f = self.shell.formats;
        let open = self.ledger.invoices.iter().filter(|account| account.open() > Money::ZERO);
        let row = |account: &crate::accounts::ledger::Account| {
            let invoice = &account.invoice;
            OpenLine {
                number: invoice.number.clone(),
                path: format!("/invoices/{}", invoice.id),
                due: f.day(invoice.due_on),
                open: f.money(account.open()),
                standing: standing(account, f, self.shell.today).1,
            }
        };
        open.map(row).collect()
    }

    fn ageing(&self) -> Vec<(&'static str, String)> {
        let ageing = self.ledger.ageing(self.shell.today);
        Ageing::HEADS.into_iter().zip(ageing.0.map(|amount| self.shell.formats.money(amount))).collect()
    }

    /// What the client owes, or the studio, in words.
    fn owes(&self) -> String {
        let balance = self.ledger.balance();
        let f = &self.shell.formats;
        match balance.cmp(&Money::ZERO) {
            std::cmp::Ordering::Greater => format!("{} to be paid", f.money(balance)),
            std::cmp::Ordering::Equal => "Nothing is owed".to_owned(),
            std::cmp::Ordering::Less => {
                format!("{} to give back or set against the next invoice", f.money(-balance))
            }
        }
    }

    fn can_be_refunded(&self) -> bool {
        self.ledger.on_account > Money::ZERO
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<ClientId>) -> Answer {
    page(&ClientPage::new(&mut visit, id).await?)
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<ClientId>,
    Form(form): Form<PartyForm>,
) -> Answer {
    let new = match form.parse(&visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => {
            return refused(&ClientPage { form, errors, ..ClientPage::new(&mut visit, id).await? });
        }
    };
    let mut tx = app.book.write().await?;
    terms::client_on_paper(&mut tx, id).await?.ok_or(Trouble::NotFound("client"))?;
    let theirs = PartyForm::of(&terms::client_account(&mut tx, id).await?);
    if theirs.version != form.version {
        drop(tx);
        let differences = form.differences(&theirs);
        let form = PartyForm { version: theirs.version, ..form };
        return stale(&ClientPage { form, differences, ..ClientPage::new(&mut visit, id).await? });
    }
    terms::keep_client_account(&mut tx, id, &new).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/clients/{id}/account"), "Saved. The next invoice says so.")
}
