//! The calendar's page, the file to take along, and the feed.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::IntoResponse;
use axum::routing::{get, post};

use super::forms::{REMINDERS, ReminderForm, SpanForm};
use super::gathered::{feed_or_begun, gather};
use super::written::{self, Around};
use super::{Covered, Entry, Feed, Standing, When, store};
use crate::desk::outlook::{Desk, local_now};
use crate::ground::choice::Choice;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, download, page, refused, stale};
use crate::web::chance::secret;
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

const MEDIA_TYPE: &str = "text/calendar; charset=utf-8";
/// So many days are shown on the page.
const SHOWN_DAYS: i64 = 14;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/calendar", get(show))
        .route("/calendar.ics", get(file))
        .route("/calendar/feed", post(open_feed))
        .route("/calendar/feed/removal", post(end_feed))
        .route("/calendar/feed/{file}", get(feed))
        .route("/calendar/reminder", post(set_reminder))
}

#[derive(Template)]
#[template(path = "desk/calendar.html")]
struct CalendarPage {
    shell: Shell,
    /// Where Trug answers, as the browser asked for it.
    origin: String,
    feed: Option<Feed>,
    entries: Vec<Entry>,
    span: SpanForm,
    reminder: ReminderForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl CalendarPage {
    async fn new(visit: &mut Visit, headers: &HeaderMap) -> Result<CalendarPage, Trouble> {
        let covered = Covered { from: visit.today, to: visit.today.plus(SHOWN_DAYS - 1) };
        let entries = gathered(visit, covered).await?;
        let feed = store::feed(&mut visit.connection).await?;
        Ok(CalendarPage {
            shell: visit.shell(Section::Week, "Calendar"),
            origin: visit.app.door.own_origin(headers),
            reminder: ReminderForm::of(feed.as_ref()),
            feed,
            entries,
            span: SpanForm::usual(visit.today),
            errors: FieldErrors::default(),
            differences: Vec::new(),
        })
    }

    /// The feed's address, without `http:`, and since when it holds.
    fn address(&self) -> Option<(String, String)> {
        let (token, since) = self.feed.as_ref()?.token.as_ref()?;
        let since = self.shell.formats.moment(*since, &self.shell.zone);
        Some((format!("{}/calendar/feed/{token}.ics", self.origin), since))
    }

    fn subscribing(&self, address: &str) -> String {
        address.replacen("https:", "webcal:", 1).replacen("http:", "webcal:", 1)
    }

    fn reminders(&self) -> Vec<(&'static str, &'static str)> {
        REMINDERS.to_vec()
    }

    fn day(&self, entry: &Entry) -> String {
        self.shell.weekday(entry.when.days().0)
    }

    /// `14:00 to 23:00`, or nothing for a whole day.
    fn hours(&self, entry: &Entry) -> String {
        match entry.when {
            When::Days { .. } => String::new(),
            When::Hours { from, until } => {
                format!("{} to {}", from.strftime("%H:%M"), until.strftime("%H:%M"))
            }
        }
    }

    fn kind(&self, entry: &Entry) -> &'static str {
        entry.kind.label()
    }

    /// A word and the class of its shape.
    fn standing(&self, entry: &Entry) -> (&'static str, &'static str) {
        match entry.standing {
            Standing::Firm => ("Firm", "done"),
            Standing::Tentative => ("Tentative", "part"),
            Standing::CalledOff => ("Called off", "off"),
        }
    }
}

async fn show(mut visit: Visit, headers: HeaderMap) -> Answer {
    page(&CalendarPage::new(&mut visit, &headers).await?)
}

/// The entries of some days, as they are at the visit.
async fn gathered(visit: &mut Visit, covered: Covered) -> Result<Vec<Entry>, Trouble> {
    let desk = Desk { studio: &visit.studio, now: local_now(visit), moment: visit.now };
    Ok(gather(&mut visit.connection, &desk, covered).await?)
}

fn around<'a>(visit: &'a Visit, feed: &'a Feed, origin: &'a str) -> Around<'a> {
    Around {
        studio: &visit.studio.name,
        zone: &visit.studio.zone,
        book: &feed.book,
        origin: Some(origin),
        reminder: feed.reminder,
        written_at: visit.now,
    }
}

async fn file(
    State(app): State<App>,
    mut visit: Visit,
    headers: HeaderMap,
    Query(span): Query<SpanForm>,
) -> Answer {
    let covered = match span.parse(visit.today, &visit.studio.formats) {
        Ok(covered) => covered,
        Err(errors) => return refuse_span(visit, &headers, span, errors).await,
    };
    let entries = gathered(&mut visit, covered).await?;
    if entries.is_empty() {
        let nothing =
            FieldErrors::one("from", "Nothing stands in the calendar on these days: choose others.");
        return refuse_span(visit, &headers, span, nothing).await;
    }
    let feed = feed_or_begun(&app.book, &mut visit.connection).await?;
    let text = written::calendar(&entries, &around(&visit, &feed, &visit.app.door.own_origin(&headers)));
    download(&format!("calendar-{}-{}.ics", covered.from, covered.to), MEDIA_TYPE, text)
}

async fn refuse_span(mut visit: Visit, headers: &HeaderMap, span: SpanForm, errors: FieldErrors) -> Answer {
    let page = CalendarPage::new(&mut visit, headers).await?;
    refused(&CalendarPage { span, errors, ..page })
}

/// The feed, to whoever has its address; 304 where it is as it was.
async fn feed(mut visit: Visit, headers: HeaderMap, Path(file): Path<String>) -> Answer {
    let asked = file.strip_suffix(".ics").unwrap_or(&file);
    let feed = store::feed(&mut visit.connection).await?;
    let known = feed.filter(|feed| feed.token.as_ref().is_some_and(|(token, _)| token == asked));
    let feed = known.ok_or(Trouble::NotFound("calendar feed"))?;
    let covered = Covered::by_feed(visit.today);
    let entries = gathered(&mut visit, covered).await?;
    let origin = visit.app.door.own_origin(&headers);
    let around = around(&visit, &feed, &origin);
    let mark = format!("W/\"{}\"", written::mark(&entries, &around));
    let kept = [(header::ETAG, mark.clone()), (header::CACHE_CONTROL, "private, no-cache".to_owned())];
    if has(&headers, &mark) {
        return Ok((StatusCode::NOT_MODIFIED, kept).into_response());
    }
    Ok((kept, [(header::CONTENT_TYPE, MEDIA_TYPE)], written::calendar(&entries, &around)).into_response())
}

/// Whether the reader has this state already.
fn has(headers: &HeaderMap, mark: &str) -> bool {
    let weak = |tag: &str| tag.trim().trim_start_matches("W/").to_owned();
    let known = headers.get_all(header::IF_NONE_MATCH).iter().filter_map(|value| value.to_str().ok());
    known.flat_map(|value| value.split(',')).any(|tag| tag.trim() == "*" || weak(tag) == weak(mark))
}

/// Opens the feed, or gives it a new address.
async fn open_feed(State(app): State<App>, mut visit: Visit) -> Answer {
    let before = feed_or_begun(&app.book, &mut visit.connection).await?;
    let mut tx = app.book.write().await?;
    store::set_token(&mut tx, Some((&secret()?, visit.now))).await?;
    tx.commit().await?;
    let said = match before.token {
        None => "The feed has an address.",
        Some(_) => "The feed has a new address; the old one has ended.",
    };
    onward_saying(&app, "/calendar", said)
}

async fn end_feed(State(app): State<App>) -> Answer {
    let mut tx = app.book.write().await?;
    store::set_token(&mut tx, None).await?;
    tx.commit().await?;
    onward_saying(&app, "/calendar", "The feed has ended: nobody can read it any more.")
}

async fn set_reminder(
    State(app): State<App>,
    mut visit: Visit,
    headers: HeaderMap,
    Form(form): Form<ReminderForm>,
) -> Answer {
    let minutes = match form.parse() {
        Ok(minutes) => minutes,
        Err(errors) => {
            let page = CalendarPage::new(&mut visit, &headers).await?;
            return refused(&CalendarPage { errors, ..page });
        }
    };
    feed_or_begun(&app.book, &mut visit.connection).await?;
    let mut tx = app.book.write().await?;
    let theirs = ReminderForm::of(store::feed(&mut tx).await?.as_ref());
    if theirs.version != form.version {
        drop(tx);
        let differences = form.differences(&theirs);
        let page = CalendarPage::new(&mut visit, &headers).await?;
        let reminder = ReminderForm { version: theirs.version, ..form };
        return stale(&CalendarPage { reminder, differences, ..page });
    }
    store::set_reminder(&mut tx, minutes).await?;
    tx.commit().await?;
    onward_saying(&app, "/calendar", "Saved. A program that reads the feed rings from its next reading on.")
}
