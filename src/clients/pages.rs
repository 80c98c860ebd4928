//! The list of clients and a client's form.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::{get, post};
use serde::Deserialize;

use super::forms::ClientForm;
use super::{Client, store};
use crate::ground::ids::ClientId;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Suggestion, Trouble, page, refused, stale, suggestions};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/clients", get(list).post(add))
        .route("/clients/new", get(blank))
        .route("/clients/names", get(names))
        .route("/clients/{id}", get(show).post(save))
        .route("/clients/{id}/removal", post(remove))
        .route("/clients/{id}/restoration", post(restore))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct ListQuery {
    q: String,
    page: String,
}

#[derive(Template)]
#[template(path = "clients/list.html")]
struct ListPage {
    shell: Shell,
    q: String,
    number: i64,
    clients: Vec<Client>,
    more: bool,
}

impl ListPage {
    fn path(&self) -> String {
        self.shell.list_path("/clients", &[("q", &self.q)])
    }
}

#[derive(Template)]
#[template(path = "clients/form.html")]
struct FormPage {
    shell: Shell,
    id: Option<ClientId>,
    form: ClientForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl FormPage {
    fn new(visit: &Visit, id: Option<ClientId>, form: ClientForm, errors: FieldErrors) -> FormPage {
        let title = if id.is_some() { form.name.clone() } else { "New client".into() };
        FormPage { shell: visit.shell(Section::Clients, title), id, form, errors, differences: Vec::new() }
    }
}

async fn list(mut visit: Visit, Query(query): Query<ListQuery>) -> Answer {
    let number = query.page.parse::<i64>().unwrap_or(1).max(1);
    let mut clients = store::search(&mut visit.connection, query.q.trim(), number - 1).await?;
    let more = clients.len() > usize::try_from(store::PAGE)?;
    clients.truncate(usize::try_from(store::PAGE)?);
    page(&ListPage { shell: visit.shell(Section::Clients, "Clients"), q: query.q, number, clients, more })
}

async fn names(mut visit: Visit, Query(query): Query<ListQuery>) -> Answer {
    let clients = store::search(&mut visit.connection, query.q.trim(), 0).await?;
    let offered: Vec<Suggestion> = clients.into_iter().take(20).map(suggestion).collect();
    suggestions(&offered)
}

fn suggestion(client: Client) -> Suggestion {
    let note = if client.email.is_empty() { client.phone } else { client.email };
    Suggestion { name: client.name, note }
}

async fn blank(visit: Visit) -> Answer {
    page(&FormPage::new(&visit, None, ClientForm::default(), FieldErrors::default()))
}

async fn add(State(app): State<App>, visit: Visit, Form(form): Form<ClientForm>) -> Answer {
    let new = match form.parse(&visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => return refused(&FormPage::new(&visit, None, form, errors)),
    };
    let mut tx = app.book.write().await?;
    let id = store::add(&mut tx, &new).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/clients/{id}"), format!("{} is in the book.", new.name))
}

async fn show(mut visit: Visit, Path(id): Path<ClientId>) -> Answer {
    let client = store::client(&mut visit.connection, id).await?.ok_or(Trouble::NotFound("client"))?;
    page(&FormPage::new(&visit, Some(id), ClientForm::of(&client), FieldErrors::default()))
}

async fn save(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<ClientId>,
    Form(form): Form<ClientForm>,
) -> Answer {
    let new = match form.parse(&visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => return refused(&FormPage::new(&visit, Some(id), form, errors)),
    };
    let mut tx = app.book.write().await?;
    let current = store::client(&mut tx, id).await?.ok_or(Trouble::NotFound("client"))?;
    if current.version.to_string() != form.version {
        let theirs = ClientForm::of(&current);
        let differences = form.differences(&theirs);
        let form = ClientForm { version: theirs.version, ..form };
        return stale(&FormPage {
            differences,
            ..FormPage::new(&visit, Some(id), form, FieldErrors::default())
        });
    }
    store::change(&mut tx, id, &new).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/clients/{id}"), format!("{} saved.", new.name))
}

async fn remove(State(app): State<App>, visit: Visit, Path(id): Path<ClientId>) -> Answer {
    let mut tx = app.book.write().await?;
    let client = store::client(&mut tx, id).await?.ok_or(Trouble::NotFound("client"))?;
    store::set_removed(&mut tx, id, Some(visit.now)).await?;
    tx.commit().await?;
    onward_undo(&app, "/clients", format!("{} removed.", client.name), format!("/clients/{id}/restoration"))
}

async fn restore(State(app): State<App>, Path(id): Path<ClientId>) -> Answer {
    let mut tx = app.book.write().await?;
    if !store::set_removed(&mut tx, id, None).await? {
        return Err(Trouble::NotFound("client"));
    }
    tx.commit().await?;
    onward_saying(&app, format!("/clients/{id}"), "Brought back.")
}
