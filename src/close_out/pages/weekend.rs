//! Events of one order closed out together.

use askama::Template;
use serde::Deserialize;

use super::ink::{Ink, summary};
use super::sheet::in_force;
use crate::close_out::Kind;
use crate::close_out::figures::{Figures, Sum};
use crate::close_out::store;
use crate::events;
use crate::ground::choice::Choice;
use crate::ground::formats::read_whole;
use crate::ground::ids::EventId;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::Query;

/// More events than this are no weekend.
const MOST_EVENTS: usize = 20;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct WeekendQuery {
    event: Vec<String>,
}

#[derive(Template)]
#[template(path = "close_out/weekend.html")]
struct WeekendPage {
    shell: Shell,
    /// Each event with its figures, and whether they are frozen.
    events: Vec<(EventId, String, Figures, bool)>,
    together: Figures,
    ink: Ink,
}

impl WeekendPage {
    fn summary(&self) -> Vec<(&'static str, String, String)> {
        summary(&self.together, self.ink)
    }

    fn kinds(&self) -> Vec<(Kind, Sum)> {
        self.together.by_kind().into_iter().map(|(kind, _, sum)| (kind, sum)).collect()
    }

    fn margin(&self, figures: &Figures) -> String {
        self.ink.margin(figures.margins().1, figures.income.actual())
    }

    fn names(&self) -> String {
        self.events.iter().map(|(_, name, _, _)| name.as_str()).collect::<Vec<_>>().join(", ")
    }
}

pub(super) async fn show(mut visit: Visit, Query(query): Query<WeekendQuery>) -> Answer {
    let mut ids: Vec<EventId> = query.event.iter().filter_map(|text| read_whole(text)).map(EventId).collect();
    ids.truncate(MOST_EVENTS);
    let events = events::store::events(&mut visit.connection, &ids).await?;
    if events.is_empty() {
        return Err(Trouble::NotFound("event"));
    }
    let studio = visit.studio.clone();
    let mut all = Vec::new();
    for event in events {
        let closing = store::closing(&mut visit.connection, event.id).await?;
        let frozen = closing.and_then(|closing| in_force(&event, closing)).map(|(_, figures)| figures);
        let closed = frozen.is_some();
        let figures = match frozen {
            Some(frozen) => frozen,
            None => store::gather(&mut visit.connection, &studio, &event).await?.figures,
        };
        all.push((event.id, event.name, figures, closed));
    }
    let figures: Vec<Figures> = all.iter().map(|(_, _, figures, _)| figures.clone()).collect();
    page(&WeekendPage {
        shell: visit.shell(Section::Events, "Close-out of events together"),
        together: Figures::together(&figures),
        events: all,
        ink: Ink(studio.formats),
    })
}
