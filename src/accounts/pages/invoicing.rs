//! The next invoice of an event: it leaves the house, so it is looked at first, then kept under its number.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::opening::{Opened, open, party};
use crate::accounts::document::{Document, Figures, Kind};
use crate::accounts::drawing_up::{part_of, plain, what_is_left};
use crate::accounts::issuing::{Around, Subject, issue, once_key};
use crate::accounts::paper::sheet;
use crate::accounts::store::invoices::{self, Place};
use crate::accounts::store::plan;
use crate::events::Event;
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, InvoiceId};
use crate::ground::money::Money;
use crate::papers::sheet::Sheet;
use crate::studio::Studio;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::flash::onward_saying;
use crate::web::forms::{Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

/// Which invoice is asked for, and with which key.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Asked {
    /// The place of a part among the event's, or `rest`: all that is left.
    part: String,
    once_key: String,
}

#[derive(Template)]
#[template(path = "accounts/draft.html")]
struct DraftPage {
    shell: Shell,
    event: Event,
    sheet: Sheet,
    once_key: String,
    part: String,
}

/// A document that is not kept yet.
struct Drawn {
    document: Document,
    number: i64,
    /// The place of its part.
    part: Option<usize>,
    key: String,
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>, Query(asked): Query<Asked>) -> Answer {
    let studio = visit.studio.clone();
    let opened = open(&mut visit.connection, id).await?;
    let drawn = drawn(&mut visit.connection, &opened, &studio, (&asked.part, visit.today)).await?;
    page(&DraftPage {
        shell: visit.shell(Section::Accounts, format!("Next invoice, {}", opened.event.name)),
        sheet: sheet(&drawn.document, studio.formats),
        once_key: drawn.key,
        part: asked.part,
        event: opened.event,
    })
}

pub(super) async fn freeze(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(asked): Form<Asked>,
) -> Answer {
    let mut tx = app.book.write().await?;
    if let Some(invoice) = invoices::of_key(&mut tx, &asked.once_key).await? {
        return onward_saying(&app, format!("/invoices/{invoice}"), "This invoice was made already.");
    }
    let opened = open(&mut tx, id).await?;
    let drawn = drawn(&mut tx, &opened, &visit.studio, (&asked.part, visit.today)).await?;
    if drawn.key != asked.once_key {
        return Err(Trouble::Conflict(
            "Something has changed since this page was made. No invoice was made: look at it again.".into(),
        ));
    }
    let saying = format!("{} is made. Print it or save it as a PDF to send it.", drawn.document.heading());
    let invoice = keep(&mut tx, &opened, drawn, visit.now).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/invoices/{invoice}"), saying)
}

/// Makes the invoice of an event's next open part on a day, or of all that is left: what posting the page does, without
/// looking at it first.
pub async fn draw_up(
    connection: &mut SqliteConnection,
    studio: &Studio,
    event: EventId,
    (part, on, now): (&str, Day, Moment),
) -> Result<InvoiceId, Trouble> {
    let opened = open(connection, event).await?;
    let drawn = drawn(connection, &opened, studio, (part, on)).await?;
    keep(connection, &opened, drawn, now).await
}

/// Draws up the document of a part, or of all that is left.
async fn drawn(
    connection: &mut SqliteConnection,
    opened: &Opened,
    studio: &Studio,
    (asked, today): (&str, Day),
) -> Result<Drawn, Trouble> {
    if opened.called_off().is_some_and(|off| off <= today) {
        return Err(Trouble::Conflict(called_off(opened)));
    }
    let nothing = || Trouble::Conflict("A quote is invoiced once a version of it is accepted.".into());
    let (whole, schedule) = opened.whole().zip(opened.schedule.as_ref()).ok_or_else(nothing)?;
    let place = match asked {
        "rest" => schedule.open().last().map(|(place, _)| place),
        place => Some(place.parse().map_err(|_| Trouble::NotFound("part of this payment"))?),
    };
    let part = place.and_then(|place| schedule.open().find(|(other, _)| *other == place));
    if place.is_some() && part.is_none() {
        return Err(Trouble::Conflict("This part was invoiced already, or nothing is left for it.".into()));
    }
    let last = asked == "rest" || part.is_some_and(|(place, _)| schedule.is_last(place));
    let label = part.map_or("Balance", |(_, part)| part.instalment.label.as_str());
    let version = opened.accepted.as_ref().map_or(0, |(version, _)| version.number);
    let figures = if last {
        what_is_left(&whole, &opened.before())
    } else {
        let amount = part.map(|(_, part)| part.amount).unwrap_or_default();
        plain(&part_of(&whole.taxes, amount), label, &of_version(version, &whole, studio))
    };
    if figures.total <= Money::ZERO {
        return Err(Trouble::Conflict(nothing_to_invoice(&figures, studio)));
    }
    let buyer = party(connection, opened.event.client_id).await?;
    let number = invoices::next_number(connection, opened.terms.first_number).await?;
    let event = Some(&opened.event);
    let around = Around { studio, terms: &opened.terms, buyer: &buyer, event, today, number };
    let subject = Subject {
        kind: if last { Kind::Final } else { Kind::Deposit },
        about: if last { format!("{label}; all that is left of quote {version}") } else { label.to_owned() },
        due_on: part.map(|(_, part)| part.due_on),
        credits: None,
        whole: last.then_some(whole.total),
    };
    let document = issue(&around, subject, figures);
    let key = once_key(&format!("event-{}-{asked}", opened.event.id), &document);
    Ok(Drawn { document, number, part: part.map(|(place, _)| place), key })
}

fn called_off(opened: &Opened) -> String {
    format!(
        "{} was called off: its quote is not invoiced any further. What is kept of it is settled by the studio’s table, on \
        the account’s page under “What is kept and what goes back”.",
        opened.event.name
    )
}

fn of_version(version: i64, whole: &Figures, studio: &Studio) -> String {
    format!("Of quote {version}, which comes to {}", studio.formats.money(whole.total))
}

fn nothing_to_invoice(figures: &Figures, studio: &Studio) -> String {
    if figures.total.is_zero() {
        return "All of it was invoiced already.".into();
    }
    let more = studio.formats.money(-figures.total);
    format!(
        "What was invoiced is {more} more than the accepted version comes to. Credit that much of an invoice instead."
    )
}

async fn keep(
    connection: &mut SqliteConnection,
    opened: &Opened,
    drawn: Drawn,
    now: Moment,
) -> Result<InvoiceId, Trouble> {
    let event = opened.event.id;
    // From the first invoice on the event's parts are its own, so that what was invoiced stays with its part.
    if opened.plan_version == 0 {
        plan::keep(connection, event, &opened.parts, now).await?;
    }
    let parts =
        plan::plans(connection, &[event]).await?.remove(&event).map(|plan| plan.parts).unwrap_or_default();
    let instalment = drawn.part.and_then(|place| parts.get(place)).and_then(|part| part.id);
    let place = Place { client: opened.event.client_id, event: Some(event), instalment, credits: None };
    Ok(invoices::add(connection, drawn.number, place, &drawn.document, (&drawn.key, now)).await?)
}
