//! Settling an event that was called off: what is kept by the studio's table, and the papers that makes.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::crediting::credit_invoice;
use super::opening::{Opened, open, party};
use crate::accounts::cancellation::{Settled, credits, settle};
use crate::accounts::document::Kind;
use crate::accounts::drawing_up::{part_of, plain};
use crate::accounts::issuing::{Around, Subject, issue};
use crate::accounts::store::invoices::{self, Place};
use crate::accounts::store::payments;
use crate::events::{Ending, Event};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, InvoiceId};
use crate::ground::money::Money;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::flash::onward_saying;
use crate::web::forms::Form;
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "accounts/cancellation.html")]
struct CancellationPage {
    shell: Shell,
    event: Event,
    off: Day,
    total: Money,
    settled: Settled,
    /// Which invoices are credited, by how much.
    credited: Vec<(String, String)>,
    /// What lies on the client's account once all is settled: above nothing it is to be given back.
    refund: Money,
    has_table: bool,
    once_key: String,
}

impl CancellationPage {
    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    fn is_settled(&self) -> bool {
        self.settled.to_credit.is_zero() && self.settled.to_invoice.is_zero()
    }

    fn has_refund(&self) -> bool {
        self.refund > Money::ZERO
    }

    /// The sum behind what is kept.
    fn working(&self) -> String {
        let days = match self.settled.days_before {
            1 => "1 day before".to_owned(),
            days if days < 0 => "after its day".to_owned(),
            days => format!("{days} days before"),
        };
        let (share, total) = (self.shell.formats.share(self.settled.share), self.money(self.total));
        format!("Called off {days}: {share} of {total}, rounded half up.")
    }
}

/// A cancelled event with what it comes to.
struct Case {
    opened: Opened,
    off: Day,
    total: Money,
    settled: Settled,
    /// Invoices with their number and how much of each is credited.
    credits: Vec<(InvoiceId, String, Money)>,
}

impl Case {
    /// Once for this settlement: what was invoiced and credited before is part of it.
    fn once_key(&self) -> String {
        let Settled { retained, to_invoice, to_credit, .. } = self.settled;
        let papers = self.opened.kept.len();
        format!(
            "cancellation-{}-{papers}-{}-{}-{}",
            self.opened.event.id,
            retained.minor(),
            to_invoice.minor(),
            to_credit.minor()
        )
    }
}

async fn case(connection: &mut SqliteConnection, id: EventId) -> Result<Case, Trouble> {
    let opened = open(connection, id).await?;
    let Some((off, Ending::Cancelled)) = opened.event.ended else {
        return Err(Trouble::Conflict("This event was not called off. Say so on its page first.".into()));
    };
    let Some((version, _)) = &opened.accepted else {
        return Err(Trouble::Conflict(
            "No version of its quote was accepted: nothing is owed for it.".into(),
        ));
    };
    let total = version.frozen.document.total;
    let left = opened.left_of_invoices();
    let amounts: Vec<Money> = left.iter().map(|(.., left)| *left).collect();
    let settled =
        settle(&opened.terms.cancellation, (off, opened.event.day), total, amounts.iter().copied().sum());
    let credits = left.into_iter().zip(credits(&amounts, settled.to_credit));
    let credits =
        credits.filter(|(_, credit)| !credit.is_zero()).map(|((id, number, _), credit)| (id, number, credit));
    Ok(Case { off, total, settled, credits: credits.collect(), opened })
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let case = case(&mut visit.connection, id).await?;
    let ledger = payments::ledger_of(&mut visit.connection, case.opened.event.client_id).await?;
    // What will be owed once the papers are made; below nothing the studio owes it.
    let after = ledger.balance() - case.settled.to_credit + case.settled.to_invoice;
    let f = visit.studio.formats;
    page(&CancellationPage {
        shell: visit.shell(Section::Accounts, format!("{}, called off", case.opened.event.name)),
        once_key: case.once_key(),
        credited: case.credits.iter().map(|(_, number, credit)| (number.clone(), f.money(*credit))).collect(),
        has_table: !case.opened.terms.cancellation.is_empty(),
        refund: -after,
        off: case.off,
        total: case.total,
        settled: case.settled,
        event: case.opened.event,
    })
}

/// What is posted to settle it.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct SettleForm {
    once_key: String,
}

pub(super) async fn settle_it(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<SettleForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let case = case(&mut tx, id).await?;
    let path = format!("/events/{id}/account");
    if case.settled.to_credit.is_zero() && case.settled.to_invoice.is_zero() {
        return onward_saying(&app, path, "It is settled already.");
    }
    if form.once_key != case.once_key() {
        return Err(Trouble::Conflict(
            "Something has changed since this page was made. Nothing was made: look at it again.".into(),
        ));
    }
    for (invoice, _, credit) in &case.credits {
        let what = (*credit, "The event was called off");
        credit_invoice(&mut tx, &visit.studio, *invoice, what, (visit.today, visit.now)).await?;
    }
    if !case.settled.to_invoice.is_zero() {
        invoice(&mut tx, &visit, &case).await?;
    }
    tx.commit().await?;
    onward_saying(&app, path, "The papers of the cancellation are made.")
}

/// The invoice of what is kept beyond what was invoiced, with the quote's tax rates in proportion.
async fn invoice(connection: &mut SqliteConnection, visit: &Visit, case: &Case) -> Result<(), Trouble> {
    let event = &case.opened.event;
    let whole = case.opened.whole().ok_or(Trouble::NotFound("accepted version"))?;
    let share = visit.studio.formats.share(case.settled.share);
    let words = format!("{share} of what was accepted, as agreed");
    let figures = plain(&part_of(&whole.taxes, case.settled.to_invoice), "Kept of the event", &words);
    let terms = &case.opened.terms;
    let buyer = party(connection, event.client_id).await?;
    let number = invoices::next_number(connection, terms.first_number).await?;
    let around = Around {
        studio: &visit.studio,
        terms,
        buyer: &buyer,
        event: Some(event),
        today: visit.today,
        number,
    };
    let subject = Subject {
        kind: Kind::Cancellation,
        about: "The event was called off".to_owned(),
        due_on: None,
        credits: None,
        whole: None,
    };
    let document = issue(&around, subject, figures);
    let place = Place { client: event.client_id, event: Some(event.id), instalment: None, credits: None };
    invoices::add(connection, number, place, &document, (&case.once_key(), visit.now)).await?;
    Ok(())
}
