//! Handing an event over at the venue: a name, a time, remarks.

use askama::Template;
use axum::extract::State;

use super::super::forms::HandOverForm;
use super::super::{HandOver, store};
use super::once_key;
use crate::events::Event;
use crate::events::pages::event_or_trouble;
use crate::ground::ids::EventId;
use crate::stem_order::store::planning::local;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "pull_list/run_sheet/hand_over.html")]
struct HandOverPage {
    shell: Shell,
    event: Event,
    /// All of the event, the latest first.
    kept: Vec<HandOver>,
    form: HandOverForm,
    errors: FieldErrors,
}

impl HandOverPage {
    async fn new(
        visit: &mut Visit,
        id: EventId,
        form: HandOverForm,
        errors: FieldErrors,
    ) -> Result<HandOverPage, Trouble> {
        let event = event_or_trouble(&mut visit.connection, id).await?;
        let kept = store::hand_overs(&mut visit.connection, &[id]).await?;
        let shell = visit.shell(Section::PullLists, format!("Hand-over, {}", event.name));
        Ok(HandOverPage { shell, event, kept, form, errors })
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let now = local(visit.now, &visit.studio);
    let form = HandOverForm {
        once_key: once_key(&visit),
        handed_on: now.day.to_string(),
        handed_time: now.time.to_string(),
        ..HandOverForm::default()
    };
    page(&HandOverPage::new(&mut visit, id, form, FieldErrors::default()).await?)
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(mut form): Form<HandOverForm>,
) -> Answer {
    if form.once_key.is_empty() {
        form.once_key = once_key(&visit);
    }
    let new = match form.parse(&visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => return refused(&HandOverPage::new(&mut visit, id, form, errors).await?),
    };
    let mut tx = app.book.write().await?;
    event_or_trouble(&mut tx, id).await?;
    store::add_hand_over(&mut tx, id, &new, visit.now).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/events/{id}/run"), format!("Handed over to {}, {}.", new.to, new.at))
}
