//! How an event ends, or goes from the book: both can be taken back.

use axum::extract::State;
use serde::Deserialize;

use super::event_or_trouble;
use crate::events::{Ending, store};
use crate::ground::choice::Choice;
use crate::ground::ids::EventId;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::Form;
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct EndingForm {
    ending: String,
}

pub(super) async fn end(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<EndingForm>,
) -> Answer {
    let ending = Ending::from_code(form.ending.trim())
        .ok_or_else(|| Trouble::Conflict("Say whether it is lost, cancelled or closed.".into()))?;
    let mut tx = app.book.write().await?;
    let event = event_or_trouble(&mut tx, id).await?;
    if let Some((_, ended)) = event.ended {
        let how = ended.label().to_lowercase();
        return Err(Trouble::Conflict(format!("{} is {how} already. Open it again first.", event.name)));
    }
    if ending == Ending::Closed && event.day > visit.today {
        return Err(Trouble::Conflict(format!(
            "{} is still to come. It is closed when all is done.",
            event.name
        )));
    }
    store::set_ended(&mut tx, id, Some((visit.today, ending))).await?;
    tx.commit().await?;
    let message = format!("{}: {}.", event.name, ending.label().to_lowercase());
    onward_undo(&app, format!("/events/{id}"), message, format!("/events/{id}/reopening"))
}

pub(super) async fn reopen(State(app): State<App>, Path(id): Path<EventId>) -> Answer {
    let mut tx = app.book.write().await?;
    let event = event_or_trouble(&mut tx, id).await?;
    store::set_ended(&mut tx, id, None).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/events/{id}"), format!("{} is open again.", event.name))
}

pub(super) async fn restore(State(app): State<App>, Path(id): Path<EventId>) -> Answer {
    let mut tx = app.book.write().await?;
    if !store::set_removed(&mut tx, id, None).await? {
        return Err(Trouble::NotFound("event"));
    }
    tx.commit().await?;
    onward_saying(&app, format!("/events/{id}"), "Brought back.")
}
