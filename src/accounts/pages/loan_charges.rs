//! Lost loans taken into an invoice in one press.

use axum::extract::State;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::extras::no_rates;
use super::opening::party;
use crate::accounts::document::{Kind, TaxPart};
use crate::accounts::drawing_up::extras;
use crate::accounts::issuing::{Around, Subject, issue};
use crate::accounts::loan_charges::{Charged, ToCharge, lines, to_charge};
use crate::accounts::store::invoices::{self, Place};
use crate::accounts::store::{charged_loans, terms};
use crate::events::pages::event_or_trouble;
use crate::ground::fingerprint::fingerprint;
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, TaxRateId};
use crate::price_list;
use crate::pull_list::loans;
use crate::studio::visit::Visit;
use crate::studio::{self, TaxRate};
use crate::web::answer::{Answer, Trouble};
use crate::web::flash::onward_saying;
use crate::web::forms::Form;
use crate::web::path::Path;
use crate::web::state::App;

/// What is to be charged on an event's page.
#[derive(Debug, Clone, Default)]
pub(super) struct LoanCharges {
    pub due: ToCharge,
    pub rates: Vec<TaxRate>,
    pub once_key: String,
}

impl LoanCharges {
    pub(super) async fn read(
        connection: &mut SqliteConnection,
        event: EventId,
    ) -> Result<LoanCharges, Trouble> {
        let charged = charged_loans::charged(connection, event).await?;
        let lost = match loans::store::count(connection, event).await? {
            Some(count) => {
                let ids: Vec<_> = count.lines.iter().map(|line| line.material).collect();
                let materials = price_list::store::materials(connection, &ids).await?;
                loans::charges::charges(&count, &materials)
            }
            None => Vec::new(),
        };
        let due = to_charge(&lost, &charged);
        let rates = studio::store::tax_rates(connection).await?;
        // What was charged before is part of it: the same pieces lost anew are another invoice.
        let seen = |list: &[Charged]| -> Vec<(i64, i64, i64)> {
            list.iter().map(|one| (one.material.0, one.pieces, one.each.minor())).collect()
        };
        let papers = invoices::of_event(connection, event).await?.len();
        let once_key = format!("loans-{event}-{}", fingerprint(&(seen(&due.open), seen(&charged), papers)));
        Ok(LoanCharges { due, rates, once_key })
    }

    /// `Urn: 3 × €18.00 = €54.00`, a material each.
    pub(super) fn working(&self, formats: Formats) -> Vec<String> {
        let line = |one: &Charged| {
            let (each, amount) = (formats.money(one.each), formats.money(one.amount()));
            format!("{}: {} × {each} = {amount}", one.name, one.pieces)
        };
        self.due.open.iter().map(line).collect()
    }

    /// What is to be credited since it was found again.
    pub(super) fn found(&self, formats: Formats) -> Option<String> {
        let line =
            |one: &Charged| format!("{} × {} at {} each", one.pieces, one.name, formats.money(one.each));
        let found: Vec<String> = self.due.too_many.iter().map(line).collect();
        (!found.is_empty()).then(|| found.join("; "))
    }
}

/// What is posted.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct ChargeForm {
    once_key: String,
    tax: String,
}

pub(super) async fn freeze(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<ChargeForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    if let Some(invoice) = invoices::of_key(&mut tx, &form.once_key).await? {
        return onward_saying(&app, format!("/invoices/{invoice}"), "This invoice was made already.");
    }
    let event = event_or_trouble(&mut tx, id).await?;
    let charges = LoanCharges::read(&mut tx, id).await?;
    if charges.due.open.is_empty() {
        return Err(Trouble::Conflict(
            "Nothing lost is to be charged: all of it is in an invoice already.".into(),
        ));
    }
    if form.once_key != charges.once_key {
        return Err(Trouble::Conflict(
            "Loans were counted anew since this page was made. No invoice was made: look at it again.".into(),
        ));
    }
    let chosen = form.tax.trim().parse::<TaxRateId>().ok();
    let Some(rate) = charges.rates.iter().find(|rate| Some(rate.id) == chosen) else {
        return Err(if charges.rates.is_empty() {
            no_rates()
        } else {
            Trouble::Conflict("Choose one of the studio’s tax rates.".into())
        });
    };
    let figures = extras(&lines(&charges.due.open, &TaxPart::of(rate)), visit.studio.prices_include_tax);
    let terms = terms::terms(&mut tx).await?;
    let buyer = party(&mut tx, event.client_id).await?;
    let number = invoices::next_number(&mut tx, terms.first_number).await?;
    let (studio, today) = (&visit.studio, visit.today);
    let around = Around { studio, terms: &terms, buyer: &buyer, event: Some(&event), today, number };
    let about = "Lent pieces that did not come back whole".to_owned();
    let subject = Subject { kind: Kind::Other, about, due_on: None, credits: None, whole: None };
    let document = issue(&around, subject, figures);
    let place = Place { client: event.client_id, event: Some(id), instalment: None, credits: None };
    let invoice = invoices::add(&mut tx, number, place, &document, (&charges.once_key, visit.now)).await?;
    charged_loans::keep(&mut tx, invoice, &charges.due.open).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/invoices/{invoice}"), format!("{} is made.", document.heading()))
}
