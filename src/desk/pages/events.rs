//! The list of events.

use askama::Template;
use serde::Deserialize;

use crate::desk::standing::{Quoted, Standing};
use crate::events::Event;
use crate::events::store::{self, When};
use crate::ground::ids::EventId;
use crate::quotes;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};
use crate::web::forms::Query;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct ListQuery {
    q: String,
    when: String,
    page: String,
}

#[derive(Template)]
#[template(path = "desk/events.html")]
struct ListPage {
    shell: Shell,
    q: String,
    when: &'static str,
    number: i64,
    rows: Vec<(Event, Standing)>,
    more: bool,
}

/// What the list may show: code, label.
const WHENS: [(&str, &str); 3] = [("coming", "Coming"), ("past", "Past"), ("all", "All")];

impl ListPage {
    fn path(&self) -> String {
        self.shell.list_path("/events", &[("q", &self.q), ("when", self.when)])
    }

    fn whens(&self) -> [(&'static str, &'static str); 3] {
        WHENS
    }

    fn shows(&self, code: &str) -> bool {
        self.when == code
    }

    fn none(&self) -> &'static str {
        match self.when {
            "past" => "No past events",
            "all" => "No events yet",
            _ => "No coming events",
        }
    }

    /// Whether the book may hold no event at all, as far as this page can tell.
    fn nothing_asked(&self) -> bool {
        self.q.trim().is_empty() && self.number == 1
    }
}

pub(super) async fn list(mut visit: Visit, Query(query): Query<ListQuery>) -> Answer {
    let number = query.page.parse::<i64>().unwrap_or(1).max(1);
    let (when, code) = match query.when.as_str() {
        "past" => (When::Past, "past"),
        "all" => (When::All, "all"),
        _ => (When::Coming, "coming"),
    };
    let mut events = store::search(&mut visit.connection, when, &query.q, visit.today, number - 1).await?;
    let more = events.len() > usize::try_from(store::PAGE)?;
    events.truncate(usize::try_from(store::PAGE)?);
    let ids: Vec<EventId> = events.iter().map(|event| event.id).collect();
    let sent = quotes::store::standing(&mut visit.connection, &ids).await?;
    let rows = events.into_iter().map(|event| {
        let quoted = sent.get(&event.id).map(Quoted::from).unwrap_or_default();
        let standing = Standing::of(&event, &quoted, visit.today, &visit.studio.formats);
        (event, standing)
    });
    let rows = rows.collect();
    let shell = visit.shell(Section::Events, "Events");
    page(&ListPage { shell, q: query.q, when: code, number, rows, more })
}
