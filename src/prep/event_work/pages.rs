//! The page of an event's crew and hours: what is typed, what is taken as usual, and the clock that follows from it.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use jiff::civil::DateTime;
use sqlx::SqliteConnection;

use super::forms::EventWorkForm;
use super::times::{EventTimes, times};
use super::worked::{
    LOAD_A_PIECE, LOAD_AT_LEAST, SET_A_PIECE, SET_AT_LEAST, STRIKE_A_PIECE, STRIKE_AT_LEAST, Worked,
};
use super::{EventWork, store};
use crate::events::pages::event_or_trouble;
use crate::events::{self, Event};
use crate::ground::ids::EventId;
use crate::prep::plan::said;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, onward, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new().route("/events/{id}/work", get(show).post(save))
}

#[derive(Template)]
#[template(path = "prep/event_work.html")]
struct EventWorkPage {
    shell: Shell,
    event: Event,
    /// How many pieces are counted.
    pieces: i64,
    /// The usual figures for so many pieces, all of them.
    usual: Worked,
    /// What is kept, filled in.
    worked: Worked,
    times: EventTimes,
    form: EventWorkForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl EventWorkPage {
    fn new(visit: &Visit, (event, pieces): (Event, i64), kept: &EventWork) -> EventWorkPage {
        let worked = kept.worked(pieces);
        EventWorkPage {
            shell: visit.shell(Section::Events, format!("{}, crew and hours", event.name)),
            pieces,
            usual: EventWork::default().worked(pieces),
            times: times(&event, &worked),
            form: EventWorkForm::of(kept),
            errors: FieldErrors::default(),
            differences: Vec::new(),
            event,
            worked,
        }
    }

    /// What is taken where the field is empty: `60 minutes are taken: 2 for each of 30 pieces, at least 20`.
    fn hint(&self, field: &str) -> String {
        let (minutes, each, least) = match field {
            "load" => (self.usual.load, LOAD_A_PIECE, LOAD_AT_LEAST),
            "set" => (self.usual.set, SET_A_PIECE, SET_AT_LEAST),
            "strike" => (self.usual.strike, STRIKE_A_PIECE, STRIKE_AT_LEAST),
            "drive" => return format!("Empty: {} minutes are taken (assumed)", self.usual.drive),
            _ => return format!("Empty: {} people are taken (assumed)", self.usual.crew),
        };
        format!(
            "Empty: {minutes} person-minutes are taken (assumed: {each} for each of {} pieces, at least {least})",
            self.pieces
        )
    }

    /// The clock of the day: when, what, and whether an hour or a figure behind it was assumed.
    fn clock(&self) -> Vec<(String, &'static str, bool)> {
        let times = &self.times;
        let figure = |name: &str| self.worked.is_assumed(name);
        let hour = |name: &str| times.assumed.contains(&name);
        let arrives = hour("set-up");
        let leaves = arrives || figure("drive");
        let row = |at: DateTime, what: &'static str, assumed: bool| (said(at), what, assumed);
        vec![
            row(times.load_from, "Load: everything that travels is made", leaves || figure("load")),
            row(times.leave, "Leave", leaves),
            row(times.on_site, "On site, set up", arrives),
            row(times.set_ends(&self.worked), "Set up is done", arrives || figure("set")),
            row(times.set_by, "All must stand", hour("start")),
            row(times.strike_from, "Strike", hour("strike")),
            row(times.off_site, "Off site", hour("strike") || figure("strike")),
            row(times.back, "Back", hour("strike") || figure("strike") || figure("drive")),
        ]
    }

    /// By how many minutes setting up takes longer than there is.
    fn too_late(&self) -> Option<i64> {
        let late = self.times.set_ends(&self.worked).duration_since(self.times.set_by).as_mins();
        (late > 0).then_some(late)
    }
}

/// How many pieces of an event are counted.
async fn counted(connection: &mut SqliteConnection, event: &Event) -> Result<i64, sqlx::Error> {
    let pieces = events::store::pieces(connection, &[event.id]).await?;
    Ok(pieces.iter().filter_map(|piece| event.count_of(piece)).fold(0, i64::saturating_add))
}

async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let pieces = counted(&mut visit.connection, &event).await?;
    let work = store::event_work(&mut visit.connection, id).await?;
    page(&EventWorkPage::new(&visit, (event, pieces), &work))
}

async fn save(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<EventWorkForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let event = event_or_trouble(&mut tx, id).await?;
    let pieces = counted(&mut tx, &event).await?;
    let kept = store::event_work(&mut tx, id).await?;
    let work = match form.parse(&visit.studio.formats) {
        Ok(work) => work,
        Err(errors) => {
            return refused(&EventWorkPage {
                form,
                errors,
                ..EventWorkPage::new(&visit, (event, pieces), &kept)
            });
        }
    };
    let path = format!("/events/{id}/work");
    if kept.version.to_string() != form.version {
        let theirs = EventWorkForm::of(&kept);
        let differences = form.differences(&theirs);
        if differences.is_empty() {
            return onward(path);
        }
        let form = EventWorkForm { version: theirs.version, ..form };
        return stale(&EventWorkPage {
            form,
            differences,
            ..EventWorkPage::new(&visit, (event, pieces), &kept)
        });
    }
    store::keep(&mut tx, id, &work).await?;
    tx.commit().await?;
    onward_saying(&app, path, "Crew and hours are kept.")
}
