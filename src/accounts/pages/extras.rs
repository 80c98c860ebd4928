//! An invoice beside the quote: what broke, what was added on the day.

use askama::Template;
use axum::extract::State;

use super::opening::party;
use crate::accounts::document::Kind;
use crate::accounts::drawing_up::extras;
use crate::accounts::forms::extras::{ExtraRow, ExtrasForm};
use crate::accounts::issuing::{Around, Subject, issue};
use crate::accounts::store::invoices::{self, Place};
use crate::accounts::store::terms;
use crate::events::Event;
use crate::events::pages::event_or_trouble;
use crate::ground::fingerprint::fingerprint;
use crate::ground::ids::EventId;
use crate::studio::visit::{Section, Shell, Visit};
use crate::studio::{self, TaxRate};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::chance::secret;
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "accounts/extras.html")]
struct ExtrasPage {
    shell: Shell,
    event: Event,
    rates: Vec<TaxRate>,
    form: ExtrasForm,
    errors: FieldErrors,
}

impl ExtrasPage {
    fn new(visit: &Visit, event: Event, rates: Vec<TaxRate>, form: ExtrasForm) -> ExtrasPage {
        let shell = visit.shell(Section::Accounts, format!("Invoice extras, {}", event.name));
        ExtrasPage { shell, event, rates, form, errors: FieldErrors::default() }
    }

    fn message(&self, row: &ExtraRow, cell: &str) -> Option<&str> {
        self.errors.of(&format!("extras-{}-{cell}", row.at))
    }
}

pub(super) async fn ask(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let rates = studio::store::tax_rates(&mut visit.connection).await?;
    let form = ExtrasForm { once_key: secret()?, ..ExtrasForm::default() };
    page(&ExtrasPage::new(&visit, event, rates, form))
}

pub(super) async fn freeze(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<ExtrasForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let event = event_or_trouble(&mut tx, id).await?;
    let rates = studio::store::tax_rates(&mut tx).await?;
    // The page's own key and what was typed: sent twice it is one invoice, changed it is another.
    let key = key(id, &form);
    if let Some(invoice) = invoices::of_key(&mut tx, &key).await? {
        return onward_saying(&app, format!("/invoices/{invoice}"), "This invoice was made already.");
    }
    let new = match form.parse(&rates, (visit.today, &visit.studio.formats)) {
        Ok(new) => new,
        Err(errors) => {
            return refused(&ExtrasPage { errors, ..ExtrasPage::new(&visit, event, rates, form) });
        }
    };
    let figures = extras(&new.lines, visit.studio.prices_include_tax);
    if figures.total.is_zero() {
        let errors =
            FieldErrors::one("extras-0-price", "The lines come to nothing: there is no invoice to make.");
        return refused(&ExtrasPage { errors, ..ExtrasPage::new(&visit, event, rates, form) });
    }
    let terms = terms::terms(&mut tx).await?;
    let buyer = party(&mut tx, event.client_id).await?;
    let number = invoices::next_number(&mut tx, terms.first_number).await?;
    let (studio, today) = (&visit.studio, visit.today);
    let around = Around { studio, terms: &terms, buyer: &buyer, event: Some(&event), today, number };
    let subject =
        Subject { kind: Kind::Other, about: new.about, due_on: new.due_on, credits: None, whole: None };
    let document = issue(&around, subject, figures);
    let place = Place { client: event.client_id, event: Some(id), instalment: None, credits: None };
    let invoice = invoices::add(&mut tx, number, place, &document, (&key, visit.now)).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/invoices/{invoice}"), format!("{} is made.", document.heading()))
}

fn key(event: EventId, form: &ExtrasForm) -> String {
    format!("extras-{event}-{}", fingerprint(form))
}

pub(super) fn no_rates() -> Trouble {
    Trouble::Conflict("An invoice needs a tax rate; it may be 0 %. Enter one in the settings.".into())
}
