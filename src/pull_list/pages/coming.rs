//! Coming events, each with its pull list.

use std::collections::HashMap;
use std::sync::Arc;

use askama::Template;

use super::super::run_sheet::{self, VanReturn};
use super::list::{sheet_key, tally_of};
use crate::events::{self, Event};
use crate::studio::Studio;
use crate::studio::visit::{Section, Shell, Visit};
use crate::ticks;
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
    /// How far its pull list is ticked.
    pulled: Option<String>,
    /// What came back, in a shape and words; none before its day.
    back: Option<(&'static str, String)>,
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let (from, to) = (visit.today.plus(-DAYS_BACK), visit.today.plus(DAYS_AHEAD));
    let events = events::store::open_between(&mut visit.connection, from, to).await?;
    let ids: Vec<_> = events.iter().map(|event| event.id).collect();
    let pieces = events::store::pieces(&mut visit.connection, &ids).await?;
    let returns = run_sheet::store::returns(&mut visit.connection, &ids).await?;
    let (today, studio) = (visit.today, Arc::clone(&visit.studio));
    let kit = super::super::store::kit(&mut visit.connection).await?.len();
    let mut pulled = HashMap::new();
    let keys: Vec<String> = ids.iter().map(|id| sheet_key(*id)).collect();
    let ticks = ticks::store::ticks_of(&mut visit.connection, &keys).await?;
    for id in &ids {
        let Some(ticks) = ticks.get(&sheet_key(*id)) else { continue };
        pulled.insert(*id, tally_of(&mut visit, *id, ticks).await?);
    }
    let row = |event: Event| {
        let own = || pieces.iter().filter(|piece| piece.event_id == event.id);
        let counts: Vec<_> = own().map(|piece| event.count_of(piece)).collect();
        Row {
            lines: counts.len(),
            pieces: counts.iter().flatten().sum(),
            pulled: pulled.remove(&event.id).flatten(),
            open: counts.iter().filter(|count| count.is_none()).count(),
            back: (event.day <= today).then(|| back(returns.get(&event.id), &studio)),
            event,
        }
    };
    let rows = events.into_iter().map(row).collect();
    page(&ComingPage { shell: visit.shell(Section::PullLists, "Pull lists"), rows, kit })
}

fn back(returned: Option<&VanReturn>, studio: &Studio) -> (&'static str, String) {
    let Some(returned) = returned else { return ("", "Count the crates".into()) };
    match returned.still_out() {
        out if out.is_empty() => ("done", format!("Back {}", studio.weekday(returned.on))),
        out => ("part", format!("Still out: {out}")),
    }
}
