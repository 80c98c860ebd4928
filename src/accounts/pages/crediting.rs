//! A credit note: how much of an invoice is taken back, and why. It leaves the house, so it is asked about first.

use askama::Template;
use axum::extract::State;

use super::invoice::{Found, find};
use super::opening::{earlier, ink};
use crate::accounts::document::Kind;
use crate::accounts::drawing_up::credit;
use crate::accounts::forms::crediting::CreditForm;
use crate::accounts::issuing::{Around, Subject, issue};
use crate::accounts::store::invoices::{self, Place};
use crate::accounts::store::terms;
use crate::events;
use crate::ground::dates::{Day, Moment};
use crate::ground::fingerprint::fingerprint;
use crate::ground::ids::InvoiceId;
use crate::ground::money::Money;
use crate::quotes::pages::Ink;
use crate::studio::Studio;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "accounts/credit.html")]
struct CreditPage {
    shell: Shell,
    id: InvoiceId,
    number: String,
    total: Money,
    left: Money,
    ink: Ink,
    form: CreditForm,
    errors: FieldErrors,
}

impl CreditPage {
    fn new(visit: &Visit, found: &Found, form: CreditForm, errors: FieldErrors) -> CreditPage {
        let document = &found.kept.document;
        CreditPage {
            shell: visit.shell(Section::Accounts, format!("Credit invoice {}", document.number)),
            id: found.kept.id,
            number: document.number.clone(),
            total: document.figures.total,
            left: found.left(),
            ink: ink(document, visit.studio.formats),
            form,
            errors,
        }
    }
}

/// What was left of the invoice when the page was made: a credit note is made of that, or not at all.
fn seen(found: &Found) -> String {
    format!("credit-{}-{}", found.kept.id, found.left().minor())
}

/// With all that was typed: sent twice it is one credit note, another amount or reason is another.
fn once_key(id: InvoiceId, form: &CreditForm) -> String {
    format!("credit-{id}-{}", fingerprint(form))
}

fn creditable(found: &Found) -> Result<(), Trouble> {
    if found.kept.credits_id.is_some() {
        return Err(Trouble::Conflict("A credit note is not credited: make a new invoice instead.".into()));
    }
    if found.left() <= Money::ZERO {
        return Err(Trouble::Conflict(format!(
            "Invoice {} was credited whole already.",
            found.kept.document.number
        )));
    }
    Ok(())
}

pub(super) async fn ask(
    mut visit: Visit,
    Path(id): Path<InvoiceId>,
    Query(form): Query<CreditForm>,
) -> Answer {
    let found = find(&mut visit.connection, id).await?;
    creditable(&found)?;
    let all = visit.studio.formats.money_input(found.left());
    let amount = if form.amount.is_empty() { all } else { form.amount };
    let form = CreditForm { once_key: seen(&found), amount, reason: form.reason };
    page(&CreditPage::new(&visit, &found, form, FieldErrors::default()))
}

pub(super) async fn freeze(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<InvoiceId>,
    Form(form): Form<CreditForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let key = once_key(id, &form);
    if let Some(done) = invoices::of_key(&mut tx, &key).await? {
        return onward_saying(&app, format!("/invoices/{done}"), "This credit note was made already.");
    }
    let found = find(&mut tx, id).await?;
    creditable(&found)?;
    if form.once_key != seen(&found) {
        return Err(Trouble::Conflict(
            "This invoice was credited in part meanwhile. No credit note was made: look at it again.".into(),
        ));
    }
    let (amount, reason) = match form.parse(found.left(), &visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => return refused(&CreditPage::new(&visit, &found, form, errors)),
    };
    let what = (amount, reason.as_str(), key.as_str());
    let made = keep(&mut tx, &visit.studio, &found, what, (visit.today, visit.now)).await?;
    tx.commit().await?;
    let saying = format!("A credit note over {} is made.", visit.studio.formats.money(amount));
    onward_saying(&app, format!("/invoices/{made}"), saying)
}

/// Credits an amount of an invoice on a day.
pub(super) async fn keep(
    connection: &mut sqlx::SqliteConnection,
    studio: &Studio,
    found: &Found,
    (amount, reason, key): (Money, &str, &str),
    (today, now): (Day, Moment),
) -> Result<InvoiceId, Trouble> {
    let terms = terms::terms(connection).await?;
    let credits: Vec<_> = found.credits.iter().map(|credit| &credit.document.figures).collect();
    let of = &found.kept;
    let event = match of.event_id {
        Some(event) => events::store::event(connection, event).await?,
        None => None,
    };
    let number = invoices::next_number(connection, terms.first_number).await?;
    let around =
        Around { studio, terms: &terms, buyer: &of.document.buyer, event: event.as_ref(), today, number };
    let subject = Subject {
        kind: Kind::Credit,
        about: reason.to_owned(),
        due_on: None,
        credits: Some(earlier(&of.document)),
        whole: None,
    };
    let mut document = issue(&around, subject, credit(&of.document, &credits, amount));
    document.currency.clone_from(&of.document.currency);
    document.event.clone_from(&of.document.event);
    let place = Place { client: of.client_id, event: of.event_id, instalment: None, credits: Some(of.id) };
    Ok(invoices::add(connection, number, place, &document, (key, now)).await?)
}

/// Credits an amount of an invoice, as posting its page does.
pub async fn credit_invoice(
    connection: &mut sqlx::SqliteConnection,
    studio: &Studio,
    invoice: InvoiceId,
    (amount, reason): (Money, &str),
    when: (Day, Moment),
) -> Result<InvoiceId, Trouble> {
    let found = find(connection, invoice).await?;
    creditable(&found)?;
    keep(connection, studio, &found, (amount, reason, &seen(&found)), when).await
}
