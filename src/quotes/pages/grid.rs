//! The quote's grid: the event's pieces with their prices, other lines, charges, payment, words.

use askama::Template;
use axum::extract::State;
use sqlx::SqliteConnection;

use super::opening::{Opened, drafted, open};
use super::sending::no_rates;
use super::sheet::{Sheet, sheet};
use super::versions::{VersionRow, rows};
use crate::events::{self, fingerprint};
use crate::ground::dates::Day;
use crate::ground::ids::EventId;
use crate::ground::money::Money;
use crate::quotes::change_paper::NotePaper;
use crate::quotes::changes::changes;
use crate::quotes::forms::QuoteForm;
use crate::quotes::{NewQuote, store, words};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "quotes/grid.html")]
struct GridPage {
    sheet: Sheet,
    shell: Shell,
    differences: Vec<Difference>,
    versions: Vec<VersionRow>,
    /// What differs from the latest version.
    unsent: Vec<String>,
    /// What it changes of what is agreed, where a version is accepted.
    change: Option<NotePaper>,
    /// The total at today's prices, where it is another one.
    today_total: Option<Money>,
}

impl GridPage {
    /// Whether it holds no longer than some day before today; what was sent may still have been accepted in time.
    fn expired(&self) -> Option<String> {
        let until =
            self.sheet.form.valid_until.parse::<Day>().ok().filter(|until| *until < self.shell.today)?;
        let until = self.shell.formats.day(until);
        Some(format!("It held until {until}: choose a later day before it is sent again."))
    }
}

/// The figures of the page for what is typed so far.
#[derive(Template)]
#[template(path = "quotes/preview.html")]
struct PreviewPart {
    sheet: Sheet,
}

async fn grid_page(visit: &mut Visit, opened: Opened, form: QuoteForm) -> Result<GridPage, Trouble> {
    let shell = visit.shell(Section::Events, format!("Quote, {}", opened.event.name));
    let (studio, today) = (visit.studio.clone(), visit.today);
    let versions = store::versions(&mut visit.connection, opened.event.id).await?;
    let now = drafted(&mut visit.connection, &opened, &studio, today).await?;
    let unsent = versions
        .last()
        .zip(now.as_ref())
        .map_or_else(Vec::new, |(latest, now)| changes(&latest.frozen.document, &now.document));
    let change = now.and_then(|now| now.change).filter(|note| !note.is_empty());
    let change = change.map(|note| NotePaper { note, formats: studio.formats });
    let unsent = unsent.iter().map(|change| words::change(change, &studio.formats)).collect();
    let (sheet, today_total) = sheet(&mut visit.connection, shell.clone(), opened, form, today).await?;
    let versions = rows(&versions, studio.formats, today);
    Ok(GridPage { sheet, shell, differences: Vec::new(), versions, unsent, change, today_total })
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let studio = visit.studio.clone();
    let opened = open(&mut visit.connection, &studio, id).await?;
    let form = opened.form(&studio, visit.today);
    page(&grid_page(&mut visit, opened, form).await?)
}

/// The figures for what is typed so far; nothing is kept.
pub(super) async fn preview(
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<QuoteForm>,
) -> Answer {
    let studio = visit.studio.clone();
    let opened = open(&mut visit.connection, &studio, id).await?;
    let shell = visit.shell(Section::Events, "Quote");
    let today = visit.today;
    let (sheet, _) = sheet(&mut visit.connection, shell, opened, form, today).await?;
    page(&PreviewPart { sheet })
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<QuoteForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let opened = open(&mut tx, &visit.studio, id).await?;
    if opened.known.rates.is_empty() {
        return Err(no_rates());
    }
    let new = match read(&form, &opened, visit.today) {
        Ok(new) => new,
        Err(errors) => {
            drop(tx);
            let mut page = grid_page(&mut visit, opened, form).await?;
            page.sheet.errors = errors;
            return refused(&page);
        }
    };
    let version = opened.quote.as_ref().map_or(0, |quote| quote.version);
    let seen = fingerprint(&opened.pieces);
    if form.version != version.to_string() || form.seen != seen {
        drop(tx);
        let differences = form.differences(&opened.form(&visit.studio, visit.today));
        let form = QuoteForm { version: version.to_string(), seen, ..form };
        let page = grid_page(&mut visit, opened, form).await?;
        return stale(&GridPage { differences, ..page });
    }
    keep(&mut tx, &opened, &new, visit.today).await?;
    tx.commit().await?;
    let then = if form.then == "document" { "/document" } else { "" };
    onward_saying(&app, format!("/events/{id}/quote{then}"), format!("Quote of {} saved.", opened.event.name))
}

/// Reads the form, or every message.
fn read(form: &QuoteForm, opened: &Opened, today: Day) -> Result<NewQuote, FieldErrors> {
    let kept = opened.quote.as_ref().map_or(&[][..], |quote| &quote.instalments);
    let past = form.past_dues(kept, today);
    let mut errors = match form.parse(&opened.known) {
        Ok(new) if past.is_empty() => return Ok(new),
        Ok(_) => FieldErrors::default(),
        Err(errors) => errors,
    };
    for (field, message) in past.list() {
        errors.add(field.clone(), message.clone());
    }
    Err(errors)
}

/// Keeps an event's quote as typed, its pieces first.
pub(in crate::quotes) async fn keep(
    connection: &mut SqliteConnection,
    opened: &Opened,
    new: &NewQuote,
    today: Day,
) -> Result<(), sqlx::Error> {
    let event = opened.event.id;
    let pieces = events::store::keep_pieces(connection, event, &new.pieces).await?;
    store::keep(connection, event, opened.priced_on(today), new, &pieces).await
}

/// Uses today's prices from now on.
pub(super) async fn price_today(State(app): State<App>, visit: Visit, Path(id): Path<EventId>) -> Answer {
    let mut tx = app.book.write().await?;
    let opened = open(&mut tx, &visit.studio, id).await?;
    let path = format!("/events/{id}/quote");
    let Some(quote) = opened.quote else {
        return onward_saying(&app, path, "The quote is not begun yet: it uses today's prices.");
    };
    store::price_as_of(&mut tx, id, visit.today).await?;
    tx.commit().await?;
    let undo = format!("/events/{id}/quote/pricing/{}", quote.priced_on);
    onward_undo(&app, path, "Priced as of today. Typed prices stay as they are.", undo)
}

/// Uses the prices of a day, which is how pricing as of today is taken back.
pub(super) async fn price_on(
    State(app): State<App>,
    visit: Visit,
    Path((id, day)): Path<(EventId, String)>,
) -> Answer {
    let day = day.parse::<Day>().ok().filter(|day| *day <= visit.today).ok_or(Trouble::NotFound("day"))?;
    let mut tx = app.book.write().await?;
    open(&mut tx, &visit.studio, id).await?;
    if !store::price_as_of(&mut tx, id, day).await? {
        return Err(Trouble::NotFound("quote"));
    }
    tx.commit().await?;
    let saying = format!("Priced on {} again.", visit.studio.formats.day(day));
    onward_saying(&app, format!("/events/{id}/quote"), saying)
}
