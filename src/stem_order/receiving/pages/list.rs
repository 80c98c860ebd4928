//! What comes when: what was not counted in yet, today's deliveries, the coming week, and what was counted lately; the
//! open troubles above all.

use askama::Template;

use super::super::Receipt;
use super::super::shortage::Trouble as Short;
use super::super::standing::Standing;
use super::super::store;
use super::lines_of;
use super::trouble_cards::{TroubleCard, cards};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::PlacedLineId;
use crate::stem_order::placing::{self, PlacedDelivery};
use crate::stem_order::store::LoadError;
use crate::stem_order::store::planning::local;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};

/// How far back deliveries are looked for that nobody counted in, and how long counted ones are shown.
const DAYS_BACK: i64 = 28;

/// How far ahead deliveries are shown.
const DAYS_AHEAD: i64 = 7;

/// A delivery of the list.
struct Row {
    delivery: PlacedDelivery,
    standing: Standing,
    overdue: bool,
    when: String,
}

impl Row {
    fn packs(&self) -> i64 {
        self.delivery.lines.iter().map(placing::PlacedLine::expected_packs).sum()
    }

    fn names(&self) -> String {
        let mut names: Vec<&str> = Vec::new();
        for line in &self.delivery.lines {
            if !names.contains(&line.name.as_str()) {
                names.push(&line.name);
            }
        }
        let more = names.len().saturating_sub(4);
        names.truncate(4);
        let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
        names.join("; ") + &rest
    }
}

/// Deliveries under one heading.
struct Group {
    id: &'static str,
    heading: &'static str,
    rows: Vec<Row>,
}

#[derive(Template)]
#[template(path = "stem_order/receiving_list.html")]
struct ListPage {
    shell: Shell,
    groups: Vec<Group>,
    troubles: Vec<TroubleCard>,
}

impl ListPage {
    /// The delivery to count in next: the first of those that should be here.
    fn next(&self) -> Option<&Row> {
        let due = self.groups.iter().filter(|group| group.id != "coming");
        due.flat_map(|group| &group.rows).find(|row| row.standing.is_open())
    }

    /// Those that should be here, or the others.
    fn groups(&self, due: bool) -> Vec<&Group> {
        self.groups.iter().filter(|group| matches!(group.id, "due" | "today") == due).collect()
    }
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let today = visit.today;
    let (from, to) = (today.plus(-DAYS_BACK), today.plus(DAYS_AHEAD));
    let deliveries = placing::store::deliveries_between(&mut visit.connection, from, to).await?;
    let lines: Vec<PlacedLineId> = deliveries.iter().flat_map(lines_of).collect();
    let receipts = store::receipts(&mut visit.connection, &lines).await?;
    let troubles = open_troubles(&mut visit).await?;
    let groups = grouped(deliveries, &receipts, today, visit.studio.formats);
    let troubles = cards(troubles, visit.studio.formats);
    page(&ListPage { shell: visit.shell(Section::Receiving, "Receiving"), groups, troubles })
}

async fn open_troubles(visit: &mut Visit) -> Result<Vec<Short>, Trouble> {
    let studio = std::sync::Arc::clone(&visit.studio);
    let now = local(visit.now, &studio);
    match store::open_troubles(&mut visit.connection, &studio, now).await {
        // A recipe that makes no sense is told where it is written and ordered; deliveries come all the same.
        Err(LoadError::Weekend(_)) => Ok(Vec::new()),
        found => Ok(found?),
    }
}

fn grouped(
    deliveries: Vec<PlacedDelivery>,
    receipts: &[Receipt],
    today: Day,
    formats: Formats,
) -> Vec<Group> {
    let empty = |id, heading| Group { id, heading, rows: Vec::new() };
    let mut groups = [
        empty("due", "Should be here, not all counted"),
        empty("today", "Today"),
        empty("coming", "The coming seven days"),
        empty("counted", "Counted in lately"),
    ];
    for delivery in deliveries {
        let standing = Standing::of(&delivery, receipts);
        let place = match (delivery.day.cmp(&today), standing.is_open()) {
            (std::cmp::Ordering::Less, true) => 0,
            (std::cmp::Ordering::Equal, _) => 1,
            (std::cmp::Ordering::Greater, _) => 2,
            (std::cmp::Ordering::Less, false) => 3,
        };
        groups[place].rows.push(Row {
            when: formats.weekday(delivery.day),
            delivery,
            standing,
            overdue: place == 0,
        });
    }
    groups[3].rows.reverse();
    groups.into_iter().filter(|group| !group.rows.is_empty()).collect()
}
