//! One event: its facts, its pieces, what is next.

use askama::Template;
use axum::extract::Path;

use crate::desk::standing::Standing;
use crate::events::counts::Made;
use crate::events::notices::Notices;
use crate::events::pages::{event_or_trouble, notices_of};
use crate::events::{Event, Piece, store};
use crate::ground::ids::EventId;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};

#[derive(Template)]
#[template(path = "desk/event.html")]
struct EventPage {
    shell: Shell,
    event: Event,
    standing: Standing,
    notices: Notices,
    pieces: Vec<Piece>,
}

/// The pieces of one place.
struct Place<'a> {
    name: &'a str,
    pieces: Vec<(&'a Piece, Made)>,
}

impl EventPage {
    fn places(&self) -> Vec<Place<'_>> {
        let same = self.pieces.chunk_by(|one, other| one.place_id == other.place_id);
        same.map(|pieces| Place {
            name: &pieces[0].place,
            pieces: pieces.iter().map(|piece| (piece, self.event.made(piece))).collect(),
        })
        .collect()
    }

    fn budget(&self) -> Option<String> {
        self.event.budget.map(|budget| self.shell.formats.money(budget))
    }

    fn hours(&self) -> Vec<(&'static str, String)> {
        self.event.hours().marks().iter().map(|mark| (mark.what, mark.at.to_string())).collect()
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let notices = notices_of(&mut visit.connection, &event, &visit.studio.formats).await?;
    let pieces = store::pieces(&mut visit.connection, &[id]).await?;
    let standing = Standing::of(&event, visit.today);
    page(&EventPage {
        shell: visit.shell(Section::Events, event.name.clone()),
        event,
        standing,
        notices,
        pieces,
    })
}
