//! Sets of pieces: kept from an event, offered where one begins, removed.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;

use super::event_or_trouble;
use crate::events::sets::PieceSet;
use crate::events::store;
use crate::ground::ids::{EventId, PieceSetId};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, suggestions};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Checker, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "events/sets.html")]
struct SetsPage {
    shell: Shell,
    sets: Vec<PieceSet>,
}

pub(super) async fn list(mut visit: Visit) -> Answer {
    let sets = store::sets(&mut visit.connection).await?;
    page(&SetsPage { shell: visit.shell(Section::Events, "Sets of pieces"), sets })
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct NameQuery {
    q: String,
}

pub(super) async fn names(mut visit: Visit, Query(query): Query<NameQuery>) -> Answer {
    suggestions(&store::offer_beginnings(&mut visit.connection, query.q.trim()).await?)
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct SetForm {
    set_name: String,
}

/// Keeps an event's pieces as a set.
pub(super) async fn keep(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<SetForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let event = event_or_trouble(&mut tx, id).await?;
    let mut c = Checker::new(&visit.studio.formats);
    let name = c.name("set_name", &form.set_name, "a name for the set");
    let name = c.done(name).map_err(|errors| {
        let message = errors.list().first().map(|(_, message)| message.clone()).unwrap_or_default();
        Trouble::Conflict(format!("The set is not kept. {message}"))
    })?;
    let pieces = store::pieces(&mut tx, &[id]).await?;
    if pieces.is_empty() {
        return Err(Trouble::Conflict(format!("{} has no pieces yet that could be kept.", event.name)));
    }
    if store::add_set(&mut tx, &name, &pieces).await?.is_none() {
        return Err(Trouble::Conflict(format!("There is a set called \u{201c}{name}\u{201d} already.")));
    }
    tx.commit().await?;
    onward_saying(&app, "/piece-sets", format!("{name} is kept with the pieces of {}.", event.name))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct BeginForm {
    begin_with: String,
}

/// Adds the pieces of a set or of another event to an event's own.
pub(super) async fn begin(
    State(app): State<App>,
    Path(id): Path<EventId>,
    Form(form): Form<BeginForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    event_or_trouble(&mut tx, id).await?;
    let typed = form.begin_with.trim();
    let beginning = store::beginning(&mut tx, typed).await?.ok_or_else(|| unknown(typed))?;
    let count = store::begin_with(&mut tx, id, beginning).await?;
    tx.commit().await?;
    let words = if count == 1 { "1 kind of piece".to_owned() } else { format!("{count} kinds of piece") };
    onward_saying(&app, format!("/events/{id}/quote"), format!("{words} added from {typed}."))
}

fn unknown(typed: &str) -> Trouble {
    Trouble::Conflict(format!(
        "No set of pieces and no event is called \u{201c}{}\u{201d}. Nothing was added.",
        crate::ground::formats::clipped(typed)
    ))
}

pub(super) async fn remove(State(app): State<App>, visit: Visit, Path(id): Path<PieceSetId>) -> Answer {
    let mut tx = app.book.write().await?;
    let name = store::set_set_removed(&mut tx, id, Some(visit.now)).await?;
    let name = name.ok_or(Trouble::NotFound("set of pieces"))?;
    tx.commit().await?;
    onward_undo(&app, "/piece-sets", format!("{name} removed."), format!("/piece-sets/{id}/restoration"))
}

pub(super) async fn restore(State(app): State<App>, Path(id): Path<PieceSetId>) -> Answer {
    let mut tx = app.book.write().await?;
    if store::set_set_removed(&mut tx, id, None).await?.is_none() {
        return Err(Trouble::NotFound("set of pieces"));
    }
    tx.commit().await?;
    onward_saying(&app, "/piece-sets", "Brought back.")
}
