//! Recording what came in or went back, and reversing a row that was wrong.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use sqlx::SqliteConnection;

use crate::accounts::forms::payments::PaymentForm;
use crate::accounts::ledger::{Account, Ledger, NewPayment, Paid, ledger};
use crate::accounts::store::{invoices, payments, terms};
use crate::ground::fingerprint::fingerprint;
use crate::ground::ids::{ClientId, EventId, PaymentId};
use crate::ground::money::Money;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::chance::secret;
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

/// What a new form begins with.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Begin {
    kind: String,
    invoice: String,
    event: String,
}

#[derive(Template)]
#[template(path = "accounts/payment.html")]
struct PaymentPage {
    shell: Shell,
    client: ClientId,
    name: String,
    ledger: Ledger,
    form: PaymentForm,
    errors: FieldErrors,
}

impl PaymentPage {
    fn back(&self) -> String {
        back(self.client, &self.form)
    }

    /// Invoices that are open, with what is open, for the choice.
    fn open(&self) -> Vec<(String, String)> {
        let f = &self.shell.formats;
        let row = |account: &Account| {
            let invoice = &account.invoice;
            let words = format!(
                "Invoice {}, {} open, due {}",
                invoice.number,
                f.money(account.open()),
                f.day(invoice.due_on)
            );
            (invoice.id.to_string(), words)
        };
        let any = (String::new(), "The oldest first".to_owned());
        let open = self.ledger.invoices.iter().filter(|account| account.open() > Money::ZERO).map(row);
        std::iter::once(any).chain(open).collect()
    }

    /// What is to be paid before this payment.
    fn owed(&self) -> String {
        let balance = self.ledger.balance();
        if balance > Money::ZERO {
            format!("{} is to be paid.", self.shell.formats.money(balance))
        } else {
            "Nothing is to be paid: what comes in lies on the account.".to_owned()
        }
    }

    fn asks_for_day(&self) -> bool {
        self.form.is_long_ago(self.shell.today)
    }

    fn on_account(&self) -> String {
        self.shell.formats.money(self.ledger.on_account)
    }
}

fn back(client: ClientId, form: &PaymentForm) -> String {
    match form.event.parse::<EventId>() {
        Ok(event) => format!("/events/{event}/account"),
        Err(_) => format!("/clients/{client}/account"),
    }
}

async fn client_name(connection: &mut SqliteConnection, id: ClientId) -> Result<String, Trouble> {
    let (name, _) = terms::client_on_paper(connection, id).await?.ok_or(Trouble::NotFound("client"))?;
    Ok(name)
}

pub(super) async fn ask(mut visit: Visit, Path(id): Path<ClientId>, Query(begin): Query<Begin>) -> Answer {
    let name = client_name(&mut visit.connection, id).await?;
    let ledger = payments::ledger_of(&mut visit.connection, id).await?;
    let f = &visit.studio.formats;
    let refund = begin.kind == "refund";
    let named = ledger.invoices.iter().find(|account| account.invoice.id.to_string() == begin.invoice);
    let amount = match named {
        _ if refund => f.money_input(ledger.on_account.max(Money::ZERO)),
        Some(account) => f.money_input(account.open()),
        None => String::new(),
    };
    let form = PaymentForm {
        once_key: secret()?,
        kind: if refund { "refund" } else { "payment" }.into(),
        amount,
        paid_on: visit.today.to_string(),
        invoice: begin.invoice,
        event: begin.event,
        ..PaymentForm::default()
    };
    let shell = visit.shell(Section::Accounts, title(refund));
    page(&PaymentPage { shell, client: id, name, ledger, form, errors: FieldErrors::default() })
}

fn title(refund: bool) -> &'static str {
    if refund { "Record a refund" } else { "Record a payment" }
}

pub(super) async fn record(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<ClientId>,
    Form(form): Form<PaymentForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let name = client_name(&mut tx, id).await?;
    let ledger = payments::ledger_of(&mut tx, id).await?;
    let key = key(id, &form);
    // Asked before the form is read: what the first click changed must not refuse the second.
    if payments::is_used(&mut tx, &key).await? {
        return onward_saying(&app, back(id, &form), "This was recorded already.");
    }
    let events = payments::events_of(&mut tx, id).await?;
    let paid = payments::paid(&mut tx, Some(&[id])).await?;
    let new = match form.parse(id, (&ledger, &paid), &events, (visit.today, &visit.studio.formats)) {
        Ok(new) => new,
        Err(errors) => {
            let shell = visit.shell(Section::Accounts, title(form.is_refund()));
            return refused(&PaymentPage { shell, client: id, name, ledger, form, errors });
        }
    };
    let Some(payment) = payments::add(&mut tx, &new, (&key, visit.now)).await? else {
        return onward_saying(&app, back(id, &form), "This was recorded already.");
    };
    tx.commit().await?;
    let amount = visit.studio.formats.money(new.amount);
    let what = if new.refund { "went back to" } else { "came in from" };
    onward_undo(
        &app,
        back(id, &form),
        format!("{amount} {what} {name}."),
        format!("/payments/{payment}/reversal"),
    )
}

/// Every showing of the form has its own mark, and what was typed is in the key: sent twice it is one row, the same from
/// two open forms is two, something else from the same form is another.
fn key(client: ClientId, form: &PaymentForm) -> String {
    format!("payment-{client}-{}", fingerprint(form))
}

/// The client's account as it would be without a row.
async fn ledger_without(connection: &mut SqliteConnection, row: &Paid) -> Result<Ledger, sqlx::Error> {
    let client = [row.client_id];
    let billed = invoices::billed(connection, Some(&client)).await?;
    let mut paid = payments::paid(connection, Some(&client)).await?;
    paid.retain(|other| other.id != row.id && other.reverses != Some(row.id));
    Ok(ledger(&billed, &paid))
}

pub(super) async fn reverse(State(app): State<App>, visit: Visit, Path(id): Path<PaymentId>) -> Answer {
    let mut tx = app.book.write().await?;
    let row = payments::payment(&mut tx, id).await?.ok_or(Trouble::NotFound("payment"))?;
    if row.reverses.is_some() {
        return Err(Trouble::Conflict(
            "This row reverses another one. Record the payment anew instead.".into(),
        ));
    }
    let account = ledger_without(&mut tx, &row).await?;
    if !row.refund && account.on_account < Money::ZERO {
        let back = visit.studio.formats.money(-account.on_account);
        return Err(Trouble::Conflict(format!(
            "{back} of it has gone back to the client. Reverse the refund first, then the payment."
        )));
    }
    let reversal = NewPayment {
        id: (),
        client_id: row.client_id,
        event_id: row.event_id,
        invoice_id: row.invoice_id,
        refund: row.refund,
        reverses: Some(id),
        paid_on: visit.today,
        amount: row.amount,
        how: row.how,
        reference: row.reference,
        note: String::new(),
    };
    let added = payments::add(&mut tx, &reversal, (&format!("reversal-{id}"), visit.now)).await?;
    tx.commit().await?;
    let path = row.event_id.map_or_else(
        || format!("/clients/{}/account", row.client_id),
        |event| format!("/events/{event}/account"),
    );
    let saying = if added.is_some() {
        "Reversed by a row of its own; both stay in the account."
    } else {
        "This was reversed already."
    };
    onward_saying(&app, path, saying)
}
