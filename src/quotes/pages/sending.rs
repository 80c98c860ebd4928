//! The document before it is sent, and sending it: freezing a version. It leaves the house, so it is looked at first.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;

use super::opening::{Drafted, Opened, drafted, open};
use crate::clients;
use crate::events::Event;
use crate::ground::dates::Day;
use crate::ground::fingerprint::fingerprint;
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, QuoteId, QuoteVersionId};
use crate::ground::money::Money;
use crate::papers::layout::face::lacking;
use crate::papers::sheet::Sheet;
use crate::quotes::change_paper::NotePaper;
use crate::quotes::document::{Document, Frozen};
use crate::quotes::paper::{Called, sheet};
use crate::quotes::pricing::{Priced, PricedLine};
use crate::quotes::store;
use crate::studio::Studio;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::flash::onward_saying;
use crate::web::forms::{Checker, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "quotes/draft.html")]
struct DraftPage {
    shell: Shell,
    event: Event,
    sheet: Sheet,
    /// Whether a file can be made of it: everything in it has a price.
    has_draft: bool,
    /// Whether a piece has a picture.
    has_pictures: bool,
    /// Whether a piece has flowers or foliage that can be counted, and whether the studio says how many.
    stems: Option<bool>,
    number: i64,
    /// What it changes of what is agreed.
    change: Option<NotePaper>,
    once_key: String,
    /// Why it cannot be sent yet: a sentence each.
    obstacles: Vec<String>,
    /// What the studio should know before it is sent.
    notices: Vec<String>,
    sent_to: String,
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let studio = visit.studio.clone();
    let opened = open(&mut visit.connection, &studio, id).await?;
    let mut drafted =
        drafted(&mut visit.connection, &opened, &studio, visit.today).await?.ok_or_else(no_rates)?;
    let number = next_number(&mut visit.connection, id).await?;
    let stems = drafted.document.has_stems().then_some(studio.stems_on_paper);
    let once_key = once_key(id, number, &drafted.document);
    if stems != Some(true) {
        drafted.document.leave_out_stems();
    }
    let client = clients::store::client(&mut visit.connection, opened.event.client_id).await?;
    page(&DraftPage {
        shell: visit.shell(Section::Events, format!("Quote, {}", opened.event.name)),
        sheet: sheet(&drafted.document, not_sent(&opened.event.name, visit.today), studio.formats),
        has_draft: unpriced(&drafted.priced).is_empty(),
        has_pictures: !drafted.pictures.is_empty(),
        stems,
        number,
        once_key,
        obstacles: obstacles(&drafted),
        notices: notices(&drafted, visit.today, studio.formats),
        sent_to: client.map(|client| client.email).unwrap_or_default(),
        event: opened.event,
        change: drafted.change.map(|note| NotePaper { note, formats: studio.formats }),
    })
}

fn not_sent(event: &str, today: Day) -> Called {
    let (title, heading) = (format!("Quote, {event}"), "Quote, not sent yet".into());
    Called { title, heading, dated: today, draft: false }
}

async fn next_number(connection: &mut sqlx::SqliteConnection, id: EventId) -> Result<i64, sqlx::Error> {
    let standing = store::standing(connection, &[id]).await?;
    Ok(standing.get(&id).map_or(1, |standing| standing.number + 1))
}

pub(in crate::quotes) fn no_rates() -> Trouble {
    Trouble::Conflict(
        "A quote needs a tax rate, and there is none yet. Enter one in the settings; it may be 0 %.".into(),
    )
}

/// Once a version of an event and of exactly these figures and words.
fn once_key(event: EventId, number: i64, document: &Document) -> String {
    format!("{event}-{number}-{}", fingerprint(document))
}

fn obstacles(drafted: &Drafted) -> Vec<String> {
    if let Some(note) = drafted.change.as_ref().filter(|note| note.is_empty()) {
        let (number, by) = (note.agreed.number, &note.agreed.by);
        return vec![format!(
            "It reads as in version {number}, which {by} accepted: there is nothing to agree."
        )];
    }
    unpriced(&drafted.priced)
}

/// Why there is no whole document yet: a sentence each.
pub(super) fn unpriced(priced: &Priced) -> Vec<String> {
    if priced.lines.is_empty() {
        return vec!["Nothing is quoted yet: add a piece or another line.".into()];
    }
    let line = |line: &&PricedLine| {
        let why = line.missing.join(" ");
        format!("{} has no price. {why} Type a price for it, or complete the price list.", line.line.name)
    };
    priced.unpriced().iter().map(line).collect()
}

fn notices(drafted: &Drafted, today: Day, formats: Formats) -> Vec<String> {
    let document = &drafted.document;
    let open = drafted.priced.open().len();
    let counts = match open {
        0 => None,
        1 => Some("One count is still open: its line says so and is not in the total.".to_owned()),
        open => Some(format!("{open} counts are still open: their lines say so and are not in the total.")),
    };
    let late = document.valid_until.filter(|until| *until < today);
    let late = late.map(|until| format!("It would hold until {}, which is past.", formats.day(until)));
    let lacking = lacking(&sheet(document, not_sent("", today), formats).words());
    let letters = lacking.iter().map(char::to_string).collect::<Vec<_>>().join(" ");
    let boxes = (!lacking.is_empty()).then(|| {
        format!(
            "The PDF’s letters do not have {letters}: a box stands there instead. The HTML file shows them."
        )
    });
    let stale = (document.priced_on < today)
        .then(|| format!("It is priced on {}, not as of today.", formats.day(document.priced_on)));
    [counts, late, stale, boxes].into_iter().flatten().chain(past_parts(drafted, today, formats)).collect()
}

/// Parts of the payment that would be late as soon as they are agreed. What a change leaves of what was agreed may be past.
fn past_parts(drafted: &Drafted, today: Day, formats: Formats) -> Vec<String> {
    if drafted.change.is_some() {
        return Vec::new();
    }
    let parts = drafted.document.instalments.iter();
    let past = parts.filter_map(|part| Some((&part.label, part.due_on.filter(|due| *due < today)?)));
    let said = |(label, due)| {
        format!(
            "“{label}” would be due on {}, which is past: late as soon as it is agreed.",
            formats.day(due)
        )
    };
    past.map(said).collect()
}

/// What is posted to send a version.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct SendForm {
    once_key: String,
    sent_to: String,
    /// "yes" where pieces shall show how they look.
    pictures: String,
    /// "yes" where pieces shall say how many stems are in them.
    stems: String,
}

pub(super) async fn freeze(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<SendForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    if let Some(version) = store::version_of_key(&mut tx, &form.once_key).await? {
        return onward_saying(&app, format!("/quote-versions/{version}"), "This version was sent already.");
    }
    let opened = open(&mut tx, &visit.studio, id).await?;
    let mut drafted = drafted(&mut tx, &opened, &visit.studio, visit.today).await?.ok_or_else(no_rates)?;
    let number = next_number(&mut tx, id).await?;
    if form.once_key != once_key(id, number, &drafted.document) {
        return Err(Trouble::Conflict(
            "The quote has changed since this page was made. Nothing was sent: look at the document again, then send it."
                .into(),
        ));
    }
    if let Some(obstacle) = obstacles(&drafted).into_iter().next() {
        return Err(Trouble::Conflict(format!("Nothing was sent. {obstacle}")));
    }
    if form.pictures == "yes" {
        drafted.document.illustrate(&drafted.pictures);
    }
    if form.stems != "yes" {
        drafted.document.leave_out_stems();
    }
    let sent_to = sent_to(&form.sent_to, visit.studio.formats)?;
    let quote = begun(&mut tx, &visit, &opened).await?;
    let note = drafted.change.as_ref().map(|note| note.number);
    let version = kept(&mut tx, quote, &form.once_key, (visit.today, &sent_to), drafted).await?;
    tx.commit().await?;
    let (what, path) = match note {
        Some(note) => (format!("Change note {note}"), format!("/quote-versions/{version}/change-note")),
        None => (format!("Version {number}"), format!("/quote-versions/{version}")),
    };
    let saying =
        format!("{what} is kept as it stands here. Send it as a PDF or as an HTML file, or print it.");
    onward_saying(&app, path, saying)
}

/// Sends an event's saved quote as it stands, on a day: what posting the page does, without looking at it first.
pub async fn send(
    connection: &mut sqlx::SqliteConnection,
    studio: &Studio,
    id: EventId,
    sent: (Day, &str),
) -> Result<QuoteVersionId, Trouble> {
    let opened = open(connection, studio, id).await?;
    let quote = opened.quote.as_ref().ok_or(Trouble::NotFound("quote"))?.id;
    let mut drafted = drafted(connection, &opened, studio, sent.0).await?.ok_or_else(no_rates)?;
    if let Some(obstacle) = obstacles(&drafted).into_iter().next() {
        return Err(Trouble::Conflict(obstacle));
    }
    let number = next_number(connection, id).await?;
    let key = once_key(id, number, &drafted.document);
    if !studio.stems_on_paper {
        drafted.document.leave_out_stems();
    }
    Ok(kept(connection, quote, &key, sent, drafted).await?)
}

async fn kept(
    connection: &mut sqlx::SqliteConnection,
    quote: QuoteId,
    once_key: &str,
    sent: (Day, &str),
    drafted: Drafted,
) -> Result<QuoteVersionId, sqlx::Error> {
    let margin = drafted.priced.margin;
    let Drafted { document, change, .. } = drafted;
    let frozen = Frozen { document, cost: Money::rounded(margin.cost), asked: margin.asked, change };
    store::add_version(connection, quote, once_key, sent, &frozen).await
}

fn sent_to(raw: &str, formats: Formats) -> Result<String, Trouble> {
    let mut c = Checker::new(&formats);
    let sent_to = c.line("sent_to", raw);
    c.done(sent_to).map_err(|errors| {
        let message = errors.list().first().map(|(_, message)| message.clone()).unwrap_or_default();
        Trouble::Conflict(format!("Nothing was sent. To whom: {message}"))
    })
}

/// The quote's row, made now if it was never saved.
async fn begun(tx: &mut sqlx::SqliteConnection, visit: &Visit, opened: &Opened) -> Result<QuoteId, Trouble> {
    if let Some(quote) = &opened.quote {
        return Ok(quote.id);
    }
    let new = opened.form(&visit.studio, visit.today).parse(&opened.known);
    let new = new.map_err(|_| Trouble::Conflict("Save the quote first, then send it.".into()))?;
    let pieces: Vec<_> = opened.pieces.iter().map(|piece| piece.id).collect();
    store::keep(tx, opened.event.id, visit.today, &new, &pieces).await?;
    let quote = store::quote(tx, opened.event.id).await?;
    quote.map(|quote| quote.id).ok_or(Trouble::NotFound("quote"))
}
