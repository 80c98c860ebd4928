//! Coming events, each with its pull list.

use askama::Template;

use crate::events::{self, Event};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};

/// Loans of the last days are still being counted back.
const DAYS_BACK: i64 = 7;
const DAYS_AHEAD: i64 = 400;

#[derive(Template)]
#[template(path = "pull_list/coming.html")]
struct ComingPage {
    shell: Shell,
    rows: Vec<Row>,
    kit: usize,
}

struct Row {
    event: Event,
    lines: usize,
    pieces: i64,
    open: usize,
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let (from, to) = (visit.today.plus(-DAYS_BACK), visit.today.plus(DAYS_AHEAD));
    let events = events::store::open_between(&mut visit.connection, from, to).await?;
    let ids: Vec<_> = events.iter().map(|event| event.id).collect();
    let pieces = events::store::pieces(&mut visit.connection, &ids).await?;
    let kit = super::super::store::kit(&mut visit.connection).await?.len();
    let row = |event: Event| {
        let own = || pieces.iter().filter(|piece| piece.event_id == event.id);
        let counts: Vec<_> = own().map(|piece| event.count_of(piece)).collect();
        Row {
            lines: counts.len(),
            pieces: counts.iter().flatten().sum(),
            open: counts.iter().filter(|count| count.is_none()).count(),
            event,
        }
    };
    let rows = events.into_iter().map(row).collect();
    page(&ComingPage { shell: visit.shell(Section::PullLists, "Pull lists"), rows, kit })
}
