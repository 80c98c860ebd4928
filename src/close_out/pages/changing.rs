//! Keeping what was typed, closing an event, opening it again.

use axum::extract::State;
use serde::Deserialize;

use super::sheet::{SheetPage, hindrance, open};
use crate::close_out::Typed;
use crate::close_out::forms::CloseOutForm;
use crate::close_out::store;
use crate::events::pages::event_or_trouble;
use crate::events::{self, Ending};
use crate::ground::ids::EventId;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble, onward, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::Form;
use crate::web::path::Path;
use crate::web::state::App;

fn path(id: EventId) -> String {
    format!("/events/{id}/close-out")
}

pub(super) async fn save(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<CloseOutForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let formats = visit.studio.formats;
    let opened = open(&mut tx, &visit.studio, id).await?;
    if opened.closed.is_some() {
        return Err(Trouble::Conflict("It is closed. Open it again to change its hours and costs.".into()));
    }
    let typed = match form.parse(&opened.recipes, &formats) {
        Ok(typed) => typed,
        Err(errors) => return refused(&SheetPage { form, errors, ..SheetPage::new(&visit, opened) }),
    };
    let theirs = CloseOutForm::of(&opened.typed, &formats);
    let same = typed.hours == opened.typed.hours && typed.costs == opened.typed.costs;
    if same {
        return onward(path(id));
    }
    if theirs.version != form.version {
        let differences = form.differences(&theirs);
        let form = CloseOutForm { version: theirs.version, ..form };
        return stale(&SheetPage { form, differences, ..SheetPage::new(&visit, opened) });
    }
    let before = opened.typed.version;
    store::save(&mut tx, id, &Typed { version: before, ..typed }, visit.now).await?;
    tx.commit().await?;
    onward_undo(&app, path(id), "Hours and costs are kept.", format!("{}/saves/{before}", path(id)))
}

/// Saves what an earlier save had once more.
pub(super) async fn restore(
    State(app): State<App>,
    visit: Visit,
    Path((id, version)): Path<(EventId, i64)>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let opened = open(&mut tx, &visit.studio, id).await?;
    if opened.closed.is_some() {
        return Err(Trouble::Conflict("It is closed. Open it again to change its hours and costs.".into()));
    }
    let last = opened.typed.version;
    if !(0..=last).contains(&version) {
        return Err(Trouble::NotFound("save"));
    }
    let earlier = store::typed_at(&mut tx, id, version).await?;
    store::save(&mut tx, id, &Typed { version: last, ..earlier }, visit.now).await?;
    tx.commit().await?;
    onward_saying(&app, path(id), "Hours and costs are as they were before.")
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct ClosingForm {
    once_key: String,
}

pub(super) async fn close(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<ClosingForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    if store::has_key(&mut tx, &form.once_key).await? {
        return onward_saying(&app, path(id), "It was closed already.");
    }
    let opened = open(&mut tx, &visit.studio, id).await?;
    if opened.closed.is_some() {
        return onward_saying(&app, path(id), "It was closed already.");
    }
    if let Some(why) = hindrance(&opened.event, visit.today) {
        return Err(Trouble::Conflict(format!("{}: {why}", opened.event.name)));
    }
    if opened.once_key != form.once_key {
        let refusal =
            "Its figures have changed since the page was opened. Look at them again, then close it.".into();
        return stale(&SheetPage { refusal, ..SheetPage::new(&visit, opened) });
    }
    let when = (visit.today, visit.now);
    store::add_closing(&mut tx, id, Some(&opened.figures), &opened.once_key, when).await?;
    let ended = opened.event.ended.unwrap_or((visit.today, Ending::Closed));
    events::store::set_ended(&mut tx, id, Some(ended)).await?;
    tx.commit().await?;
    let message = format!("{} is closed; its figures are kept as they are.", opened.event.name);
    onward_undo(&app, path(id), message, format!("{}/reopening", path(id)))
}

pub(super) async fn reopen(State(app): State<App>, visit: Visit, Path(id): Path<EventId>) -> Answer {
    let mut tx = app.book.write().await?;
    let event = event_or_trouble(&mut tx, id).await?;
    let closing = store::closing(&mut tx, id).await?.filter(|closing| closing.figures.is_some());
    let Some(closing) = closing else {
        return onward_saying(&app, path(id), format!("{} is open.", event.name));
    };
    let key = format!("reopen-{id}-{}", closing.id);
    store::add_closing(&mut tx, id, None, &key, (visit.today, visit.now)).await?;
    if matches!(event.ended, Some((_, Ending::Closed))) {
        events::store::set_ended(&mut tx, id, None).await?;
    }
    tx.commit().await?;
    onward_saying(&app, path(id), format!("{} is open again; its closing stays in the book.", event.name))
}
