//! Which events are ordered together: the coming weeks' events to tick.

use askama::Template;

use crate::events::Event;
use crate::ground::dates::Day;
use crate::ground::ids::EventId;
use crate::stem_order::placing::{self, PlacedDelivery, PlacedOrder};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};

/// How far ahead events are shown.
const DAYS_AHEAD: i64 = 90;

/// Days around an order's own events from which others may be added.
const DAYS_AROUND: i64 = 7;

/// A week with its events.
pub(super) struct Week {
    pub(super) name: String,
    pub(super) events: Vec<Choice>,
}

/// An event to tick.
pub(super) struct Choice {
    pub(super) id: EventId,
    pub(super) words: String,
    pub(super) ticked: bool,
    /// The numbers of its placed orders, or nothing.
    pub(super) ordered: String,
}

#[derive(Template)]
#[template(path = "stem_order/choose.html")]
struct ChoosePage {
    shell: Shell,
    weeks: Vec<Week>,
    day: String,
    /// Nothing is chosen by hand yet.
    none: Vec<String>,
}

/// The page without events: those of the coming weeks, the next weekend's ticked.
pub(super) async fn choose(visit: &mut Visit) -> Answer {
    let today = visit.today;
    let events =
        crate::events::store::open_between(&mut visit.connection, today, today.plus(DAYS_AHEAD)).await?;
    let first = events.first().map(|event| event.day.monday());
    let weeks = weeks(visit, &events, |event| Some(event.day.monday()) == first).await?;
    page(&ChoosePage {
        shell: visit.shell(Section::StemOrder, "Stem order"),
        weeks,
        day: String::new(),
        none: Vec::new(),
    })
}

/// The events around an order's own, with its own ticked.
pub(super) async fn around(
    visit: &mut Visit,
    chosen: &[EventId],
    days: &[Day],
) -> Result<Vec<Week>, Trouble> {
    let (Some(first), Some(last)) = (days.iter().min(), days.iter().max()) else { return Ok(Vec::new()) };
    let (from, to) = (first.plus(-DAYS_AROUND), last.plus(DAYS_AROUND));
    let events = crate::events::store::open_between(&mut visit.connection, from, to).await?;
    weeks(visit, &events, |event| chosen.contains(&event.id)).await
}

async fn weeks(
    visit: &mut Visit,
    events: &[Event],
    ticked: impl Fn(&Event) -> bool,
) -> Result<Vec<Week>, Trouble> {
    let ids: Vec<EventId> = events.iter().map(|event| event.id).collect();
    let placed = placing::store::orders_of_events(&mut visit.connection, &ids).await?;
    let formats = &visit.studio.formats;
    let mut weeks: Vec<(Day, Week)> = Vec::new();
    for event in events {
        let monday = event.day.monday();
        let choice = Choice {
            id: event.id,
            words: format!("{}, {}, {}", formats.weekday(event.day), event.name, event.client_name),
            ticked: ticked(event),
            ordered: ordered(event.id, &placed),
        };
        if weeks.last().is_none_or(|(day, _)| *day != monday) {
            weeks.push((
                monday,
                Week { name: format!("Week of {}", formats.day(monday)), events: Vec::new() },
            ));
        }
        if let Some((_, week)) = weeks.last_mut() {
            week.events.push(choice);
        }
    }
    Ok(weeks.into_iter().map(|(_, week)| week).collect())
}

/// `N° 12, N° 13`: the orders of an event of which something still comes.
fn ordered(event: EventId, placed: &[PlacedOrder]) -> String {
    let of = placed.iter().filter(|order| order.events.contains(&event));
    let coming = of.filter(|order| order.deliveries.iter().any(PlacedDelivery::comes));
    coming.map(PlacedOrder::name).collect::<Vec<_>>().join(", ")
}
