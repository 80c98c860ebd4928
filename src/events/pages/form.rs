//! The event's form: a new one, a changed one, one that begins with another's pieces.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::{event_or_trouble, notices_for};
use crate::clients::{self, Client};
use crate::events::forms::{Asker, EventForm};
use crate::events::notices::Notices;
use crate::events::{Event, NewEvent, store};
use crate::ground::dates::Day;
use crate::ground::ids::{ClientId, EventId};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Checker, Difference, FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct NewQuery {
    client: String,
    day: String,
    /// The name of a set of pieces.
    begin_with: String,
}

/// Of what the form is the form.
#[derive(Debug, Clone)]
enum Subject {
    New,
    Copied(Box<Event>),
    Kept(Box<Event>),
}

#[derive(Template)]
#[template(path = "events/form.html")]
struct FormPage {
    shell: Shell,
    of: Subject,
    form: EventForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
    /// Who may be meant by the name: value and label.
    askers: Vec<(String, String)>,
    notices: Notices,
}

impl FormPage {
    async fn new(visit: &mut Visit, of: Subject, form: EventForm) -> Result<FormPage, Trouble> {
        let title = match &of {
            Subject::Kept(event) => event.name.clone(),
            Subject::Copied(_) | Subject::New => "New event".into(),
        };
        let own = match &of {
            Subject::Kept(event) => Some(event.id),
            Subject::Copied(_) | Subject::New => None,
        };
        let notices = typed_notices(visit, own, &form).await?;
        let shell = visit.shell(Section::Events, title);
        let (errors, differences, askers) = (FieldErrors::default(), Vec::new(), Vec::new());
        Ok(FormPage { shell, of, form, errors, differences, askers, notices })
    }

    /// The page of a refused form. Where the name means nobody or several, it offers who may be meant.
    async fn refused(
        visit: &mut Visit,
        of: Subject,
        mut form: EventForm,
        errors: FieldErrors,
    ) -> Result<FormPage, Trouble> {
        let name = form.client.trim().to_owned();
        let mut askers = Vec::new();
        if errors.of("client").is_some() && !name.is_empty() {
            askers = possible_askers(&mut visit.connection, &name).await?;
            form.which = askers.first().map(|(value, _)| value.clone()).unwrap_or_default();
            form.which_for = name;
        }
        Ok(FormPage { errors, askers, ..FormPage::new(visit, of, form).await? })
    }

    fn action(&self) -> String {
        match &self.of {
            Subject::New => "/events".into(),
            Subject::Copied(event) => format!("/events/{}/copies", event.id),
            Subject::Kept(event) => format!("/events/{}", event.id),
        }
    }

    fn kept(&self) -> Option<&Event> {
        if let Subject::Kept(event) = &self.of { Some(event) } else { None }
    }

    fn copied(&self) -> Option<&Event> {
        if let Subject::Copied(event) = &self.of { Some(event) } else { None }
    }

    /// Whether to ask if a past day is meant.
    fn asks_already(&self) -> bool {
        let past = self.form.day.parse::<Day>().is_ok_and(|day| day < self.shell.today);
        self.form.already == "yes" || past && self.errors.of("day").is_some()
    }
}

/// A new client first where nobody has the name, else those who have it; then near names.
async fn possible_askers(
    connection: &mut SqliteConnection,
    name: &str,
) -> Result<Vec<(String, String)>, sqlx::Error> {
    let named = clients::store::named(connection, name).await?;
    let known = |client: Client| {
        let reach = [client.email, client.phone].into_iter().filter(|way| !way.is_empty());
        let label = [client.name].into_iter().chain(reach).collect::<Vec<_>>().join(", ");
        (client.id.to_string(), label)
    };
    let new = ("new".to_owned(), format!("A new client called \u{201c}{name}\u{201d}"));
    if named.is_empty() {
        let near = clients::store::near(connection, name).await?;
        return Ok([new].into_iter().chain(near.into_iter().map(known)).collect());
    }
    Ok(named.into_iter().map(known).chain([new]).collect())
}

async fn typed_notices(
    visit: &mut Visit,
    own: Option<EventId>,
    form: &EventForm,
) -> Result<Notices, sqlx::Error> {
    let formats = visit.studio.formats;
    let mut lenient = Checker::new(&formats);
    let hours = form.parse_hours(&mut lenient);
    let party = form.parse_party(&mut lenient);
    let day = form.day.parse().ok().filter(|day: &Day| (1990..=2200).contains(&day.0.year()));
    notices_for(&mut visit.connection, own, (day, &hours, &party), &formats).await
}

#[derive(Template)]
#[template(path = "events/notices.html")]
struct NoticesPart {
    notices: Notices,
}

/// The notices for what is typed so far; nothing is kept.
pub(super) async fn preview(mut visit: Visit, Form(form): Form<EventForm>) -> Answer {
    let own = form.event.parse().ok();
    let notices = typed_notices(&mut visit, own, &form).await?;
    page(&NoticesPart { notices })
}

pub(super) async fn blank(mut visit: Visit, Query(query): Query<NewQuery>) -> Answer {
    let client = match query.client.parse::<ClientId>() {
        Ok(id) => clients::store::client(&mut visit.connection, id).await?,
        Err(_) => None,
    };
    let mut form = client.as_ref().map(EventForm::for_client).unwrap_or_default();
    form.day = query.day;
    form.begin_with = query.begin_with;
    page(&FormPage::new(&mut visit, Subject::New, form).await?)
}

pub(super) async fn blank_copy(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    page(&FormPage::new(&mut visit, Subject::Copied(Box::new(event)), EventForm::default()).await?)
}

pub(super) async fn add(State(app): State<App>, visit: Visit, Form(form): Form<EventForm>) -> Answer {
    add_from(&app, visit, form, None).await
}

pub(super) async fn add_copy(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<EventForm>,
) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    add_from(&app, visit, form, Some(event)).await
}

async fn add_from(app: &App, mut visit: Visit, form: EventForm, copied: Option<Event>) -> Answer {
    let mut tx = app.book.write().await?;
    let (asker, new) = match read(&mut tx, &visit, &form, None).await? {
        Ok(read) => read,
        Err(errors) => {
            drop(tx);
            let of = copied.map_or(Subject::New, |event| Subject::Copied(Box::new(event)));
            return refused(&FormPage::refused(&mut visit, of, form, errors).await?);
        }
    };
    let begin_with = form.begin_with.trim();
    let beginning = store::beginning(&mut tx, begin_with).await?;
    if beginning.is_none() && !begin_with.is_empty() {
        drop(tx);
        let message =
            "No set of pieces and no event is called so. Choose one of those offered, or leave it empty.";
        let errors = FieldErrors::one("begin_with", message);
        let of = copied.map_or(Subject::New, |event| Subject::Copied(Box::new(event)));
        return refused(&FormPage::refused(&mut visit, of, form, errors).await?);
    }
    let client = client_of(&mut tx, asker).await?;
    let id = store::add(&mut tx, client, &new, visit.today).await?;
    let pieces = match (&copied, beginning) {
        (Some(event), _) => store::copy_pieces(&mut tx, event.id, id).await?,
        (None, Some(beginning)) => u64::try_from(store::begin_with(&mut tx, id, beginning).await?)?,
        (None, None) => 0,
    };
    tx.commit().await?;
    let with = if pieces > 0 { format!(" with {pieces} kinds of piece") } else { String::new() };
    onward_saying(app, format!("/events/{id}"), format!("{} is in the book{with}.", new.name))
}

/// Reads the form against the clients of the typed name.
async fn read(
    connection: &mut SqliteConnection,
    visit: &Visit,
    form: &EventForm,
    kept: Option<&Event>,
) -> Result<Result<(Asker, NewEvent), FieldErrors>, sqlx::Error> {
    let name = form.client.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut named = clients::store::named(connection, &name).await?;
    if let Ok(id) = form.choice().parse::<ClientId>()
        && named.iter().all(|client| client.id != id)
    {
        let whose = kept.filter(|event| event.client_id == id).map(removed_client);
        named.extend(clients::store::client(connection, id).await?.or(whose));
    }
    Ok(form.parse(&visit.studio.formats, &named, visit.today, kept.map(|event| event.day)))
}

/// The client of an event who was removed meanwhile: the event stays theirs.
fn removed_client(event: &Event) -> Client {
    let unknown = String::new;
    Client {
        id: event.client_id,
        version: 0,
        name: event.client_name.clone(),
        email: unknown(),
        phone: unknown(),
        address: unknown(),
        note: unknown(),
    }
}

async fn client_of(connection: &mut SqliteConnection, asker: Asker) -> Result<ClientId, sqlx::Error> {
    match asker {
        Asker::Known(id) => Ok(id),
        Asker::New(client) => clients::store::add(connection, &client).await,
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let form = EventForm::of(&event, &visit.studio.formats);
    page(&FormPage::new(&mut visit, Subject::Kept(Box::new(event)), form).await?)
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<EventForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let event = event_or_trouble(&mut tx, id).await?;
    let (asker, new) = match read(&mut tx, &visit, &form, Some(&event)).await? {
        Ok(read) => read,
        Err(errors) => {
            drop(tx);
            let of = Subject::Kept(Box::new(event));
            return refused(&FormPage::refused(&mut visit, of, form, errors).await?);
        }
    };
    if event.version.to_string() != form.version {
        drop(tx);
        return show_both(visit, event, form).await;
    }
    let client = client_of(&mut tx, asker).await?;
    store::change(&mut tx, id, client, &new).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/events/{id}"), format!("{} saved.", new.name))
}

async fn show_both(mut visit: Visit, event: Event, form: EventForm) -> Answer {
    let theirs = EventForm::of(&event, &visit.studio.formats);
    let differences = form.differences(&theirs);
    let form = EventForm { version: theirs.version, ..form };
    let page = FormPage::new(&mut visit, Subject::Kept(Box::new(event)), form).await?;
    stale(&FormPage { differences, ..page })
}
