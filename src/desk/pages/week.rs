//! The week as a strip of days, what is next, and what a new studio does first.

use std::collections::BTreeMap;

use askama::Template;
use serde::Deserialize;

use super::event::lacking;
use crate::desk::arrivals::Arrival;
use crate::desk::deadlines::Deadline;
use crate::desk::outlook::{Desk, Outlook, hours_words, local_now, outlooks};
use crate::desk::reminders::gathered;
use crate::desk::reminders::pages::{Row, rows};
use crate::desk::store::{self, Begun};
use crate::events::{self, Event};
use crate::ground::dates::{Day, MONTHS_SHORT};
use crate::ground::formats::Formats;
use crate::ground::ids::PlacedOrderId;
use crate::ground::plural::plural;
use crate::prep::bench_plan::{self, week_fit::WeekFit};
use crate::quotes;
use crate::stem_order::receiving::shortage::Trouble as Lacking;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};
use crate::web::forms::Query;

/// Orders may close so long before their event: the longest cut-off, and a holding life behind it.
pub(in crate::desk) const FARTHEST: i64 = 75;
/// Events so long past are still asked about.
pub(in crate::desk) const LOOK_BACK: i64 = 28;
/// Events so far ahead are listed with their next step.
const LOOK_AHEAD: i64 = 28;

/// So many reminders are shown here.
const MOST_REMINDERS: usize = 5;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct WeekQuery {
    week: String,
}

#[derive(Template)]
#[template(path = "desk/week.html")]
struct WeekPage {
    shell: Shell,
    monday: Day,
    days: Vec<DayCell>,
    /// The next week with events, where the rest of the present one has none.
    later: Option<LaterWeek>,
    /// What a new studio does first; none once it has begun a quote.
    first_steps: Vec<FirstStep>,
    /// Events with their next step, the most pressing first; in the present week only.
    steps: Vec<Outlook>,
    /// What came short, worst first; in the present week only.
    lacking: Vec<Lacking>,
    /// What wants doing, the worst first; in the present week only.
    reminders: Vec<Row>,
    /// How the week's work fits its shifts.
    fit: Option<WeekFit>,
    /// What open quotes lose at today's prices; in the present week only.
    losing: Option<String>,
    /// Why the last backup is not everywhere where it should be; for whoever may see to it.
    backup_trouble: Option<String>,
}

/// A week further on.
struct LaterWeek {
    monday: Day,
    /// `the week of Mon 11 May 2026, 2 events`
    words: String,
    days: Vec<DayCell>,
}

/// One day of the strip.
struct DayCell {
    day: Day,
    today: Day,
    items: Vec<Item>,
}

impl DayCell {
    fn month(&self) -> &'static str {
        MONTHS_SHORT[usize::from(self.day.month_index())]
    }

    fn is_past(&self) -> bool {
        self.day < self.today
    }

    fn is_today(&self) -> bool {
        self.day == self.today
    }
}

/// One thing on a day.
struct Item {
    /// `event`, `deadline` or nothing.
    kind: &'static str,
    /// `14:00`, `by 11:00`, or nothing.
    at: String,
    /// The same for machines.
    moment: String,
    words: String,
    path: String,
}

struct FirstStep {
    done: bool,
    words: &'static str,
    why: &'static str,
    path: String,
}

impl WeekPage {
    fn is_this_week(&self) -> bool {
        self.shell.today.monday() == self.monday
    }

    fn until(&self) -> String {
        self.shell.weekday(self.monday.plus(6))
    }

    fn first_undone(&self) -> Option<&FirstStep> {
        self.first_steps.iter().find(|step| !step.done)
    }

    /// The most pressing step of all, where something presses.
    fn next(&self) -> Option<&Outlook> {
        self.steps.first().filter(|outlook| outlook.next.as_ref().is_some_and(|next| next.by.is_some()))
    }
}

impl WeekPage {
    /// The reminders that are shown here, and how many there are more.
    fn first_reminders(&self) -> (&[Row], usize) {
        let shown = self.reminders.len().min(MOST_REMINDERS);
        (&self.reminders[..shown], self.reminders.len() - shown)
    }

    /// `Delphinium, pale blue for Sorrell–Wray wedding and 2 more`
    fn lacking_words(&self) -> Option<String> {
        let worst = self.lacking.first()?;
        let more = match self.lacking.len() {
            1 => String::new(),
            all => format!(" and {} more", all - 1),
        };
        Some(format!("{} for {}{more}", worst.name, worst.event_name))
    }
}

pub(super) async fn week(mut visit: Visit, Query(query): Query<WeekQuery>) -> Answer {
    let today = visit.today;
    let asked = query.week.parse::<Day>().ok().filter(|day| (1990..=2200).contains(&day.0.year()));
    let monday = asked.unwrap_or(today).monday();
    let present = monday == today.monday();
    let from = if present { today.plus(-LOOK_BACK).min(monday) } else { monday };
    let open = events::store::open_between(&mut visit.connection, from, monday.plus(FARTHEST)).await?;
    let now = local_now(&visit);
    let desk = Desk { studio: &visit.studio, now, moment: visit.now };
    let outlooks = outlooks(&mut visit.connection, &desk, open).await?;
    let begun = store::begun(&mut visit.connection).await?;
    let days = (0..7).map(|later| day_cell(monday.plus(later), &outlooks, now)).collect();
    let shell = visit.shell(Section::Week, "This week");
    let reminders = if present {
        rows(&gathered::read(&mut visit.connection, &desk, &outlooks).await?, &shell)
    } else {
        Vec::new()
    };
    let later = if present { later_week(&outlooks, now, visit.studio.formats) } else { None };
    let steps = if present { pressing_first(outlooks, today) } else { Vec::new() };
    let lacking = if present { lacking(&mut visit, None).await? } else { Vec::new() };
    let (studio, span) = (std::sync::Arc::clone(&visit.studio), (monday, visit.now));
    let fit = bench_plan::store::week_fit(&mut visit.connection, &studio, span, None).await?;
    let fit = fit.filter(|fit| fit.work > 0);
    let losing = if present {
        let open = quotes::pages::open_quotes(&mut visit.connection, &studio, today).await?;
        quotes::pages::losing_words(&open, studio.formats)
    } else {
        None
    };
    let first_steps = first_steps(&begun);
    let backup_trouble = if shell.may_open("/settings/backups") { visit.app.backup_trouble() } else { None };
    page(&WeekPage {
        shell,
        monday,
        days,
        later,
        first_steps,
        steps,
        lacking,
        reminders,
        fit,
        losing,
        backup_trouble,
    })
}

/// The next week in which events are, where none is left in the present one.
fn later_week(outlooks: &[Outlook], now: Deadline, formats: Formats) -> Option<LaterWeek> {
    let next = outlooks.iter().map(|outlook| outlook.event.day).filter(|day| *day >= now.day).min()?;
    let monday = next.monday();
    if monday == now.day.monday() {
        return None;
    }
    let events = outlooks.iter().filter(|outlook| outlook.event.day.monday() == monday).count();
    let named = plural("event", i64::try_from(events).unwrap_or(i64::MAX));
    let words = format!("the week of {}, {events} {named}", formats.weekday(monday));
    let days = (0..7).map(|later| day_cell(monday.plus(later), outlooks, now)).collect();
    Some(LaterWeek { monday, words, days })
}

fn day_cell(day: Day, outlooks: &[Outlook], now: Deadline) -> DayCell {
    let events = outlooks.iter().filter(|outlook| outlook.event.day == day);
    let mut items: Vec<Item> = events.map(|outlook| event_item(&outlook.event)).collect();
    items.extend(outlooks.iter().filter_map(|outlook| strike_item(day, &outlook.event)));
    items.extend(closing_items(day, outlooks, now));
    items.extend(bench_item(day, outlooks));
    items.extend(arrival_items(day, outlooks));
    items.extend(delivery_items(day, outlooks));
    DayCell { day, today: now.day, items }
}

fn event_item(event: &Event) -> Item {
    let place = if event.venue.is_empty() { String::new() } else { format!(", {}", event.venue) };
    Item {
        kind: "event",
        at: event.start_time.map(|at| at.to_string()).unwrap_or_default(),
        moment: event.start_time.map(|at| format!("{}T{at}", event.day)).unwrap_or_default(),
        words: format!("{}{place}", event.name),
        path: format!("/events/{}", event.id),
    }
}

/// The strike of an event that was on an earlier day.
fn strike_item(day: Day, event: &Event) -> Option<Item> {
    let marks = event.hours().marks();
    let strike = marks.iter().find(|mark| mark.what == "Strike" && mark.days_later() > 0)?;
    (event.day.plus(strike.days_later()) == day).then(|| Item {
        kind: "event",
        at: strike.at.to_string(),
        moment: format!("{day}T{}", strike.at),
        words: format!("Strike: {}", event.name),
        path: format!("/events/{}", event.id),
    })
}

/// Orders that close on the day, one item a supplier and delivery.
fn closing_items(day: Day, outlooks: &[Outlook], now: Deadline) -> Vec<Item> {
    let mut closing: BTreeMap<(Deadline, &str, Day), Vec<&Outlook>> = BTreeMap::new();
    for outlook in outlooks {
        for order in outlook.orders.by.iter().filter(|order| order.closes.day == day) {
            closing.entry((order.closes, &order.supplier, order.delivery)).or_default().push(outlook);
        }
    }
    let item = |((closes, supplier, delivery), events): ((Deadline, &str, Day), Vec<&Outlook>)| {
        let time = closes.time;
        let comes = format!("{} {}", delivery.weekday_short(), delivery.0.day());
        Item {
            kind: "deadline",
            at: if closes < now { format!("closed {time}") } else { format!("by {time}") },
            moment: format!("{day}T{time}"),
            words: format!("Order from {supplier} for {comes}: {}", whose(&events)),
            path: asked_for("/stem-order", &events),
        }
    };
    closing.into_iter().map(item).collect()
}

/// Deliveries of placed orders that come on the day.
fn arrival_items(day: Day, outlooks: &[Outlook]) -> Vec<Item> {
    let mut coming: BTreeMap<PlacedOrderId, (&Arrival, Vec<&Outlook>)> = BTreeMap::new();
    for outlook in outlooks {
        for arrival in outlook.arrivals.0.iter().filter(|arrival| arrival.day == day) {
            coming.entry(arrival.order_id).or_insert((arrival, Vec::new())).1.push(outlook);
        }
    }
    let item = |(id, (arrival, events)): (PlacedOrderId, (&Arrival, Vec<&Outlook>))| Item {
        kind: "",
        at: String::new(),
        moment: String::new(),
        words: format!("Ordered, {} from {}: {}", arrival.order, arrival.supplier, whose(&events)),
        path: format!("/orders/{id}"),
    };
    coming.into_iter().map(item).collect()
}

/// Deliveries that are due on the day if the order goes out.
fn delivery_items(day: Day, outlooks: &[Outlook]) -> Vec<Item> {
    let mut due: BTreeMap<&str, Vec<&Outlook>> = BTreeMap::new();
    for outlook in outlooks {
        for order in outlook.orders.by.iter().filter(|order| order.delivery == day) {
            due.entry(&order.supplier).or_default().push(outlook);
        }
    }
    let item = |(supplier, events): (&str, Vec<&Outlook>)| Item {
        kind: "",
        at: String::new(),
        moment: String::new(),
        words: format!("Stems due from {supplier}: {}", whose(&events)),
        path: asked_for("/stem-order", &events),
    };
    due.into_iter().map(item).collect()
}

/// The pieces that are made on the day.
fn bench_item(day: Day, outlooks: &[Outlook]) -> Option<Item> {
    let busy: Vec<&Outlook> = outlooks.iter().filter(|outlook| outlook.bench.contains_key(&day)).collect();
    let minutes = busy.iter().filter_map(|outlook| outlook.bench.get(&day)).sum();
    (!busy.is_empty()).then(|| Item {
        kind: "",
        at: String::new(),
        moment: String::new(),
        words: format!("Make pieces, {}: {}", hours_words(minutes), whose(&busy)),
        path: prep_of(&busy),
    })
}

/// The prep of these events, by their days.
fn prep_of(outlooks: &[&Outlook]) -> String {
    let days = || outlooks.iter().map(|outlook| outlook.event.day);
    match (days().min(), days().max()) {
        (Some(from), Some(to)) => format!("/prep?from={from}&to={to}"),
        _ => "/prep".into(),
    }
}

/// One event by its name, more by their number.
fn whose(outlooks: &[&Outlook]) -> String {
    match outlooks {
        [one] => one.event.name.clone(),
        more => format!("{} events", more.len()),
    }
}

fn asked_for(path: &str, outlooks: &[&Outlook]) -> String {
    let asked: Vec<String> = outlooks.iter().map(|outlook| format!("event={}", outlook.event.id)).collect();
    format!("{path}?{}", asked.join("&"))
}

/// Events with a next step, not too far ahead: what has a moment first, by it, then by day.
fn pressing_first(outlooks: Vec<Outlook>, today: Day) -> Vec<Outlook> {
    let near = |outlook: &Outlook| outlook.event.day <= today.plus(LOOK_AHEAD) && outlook.next.is_some();
    let mut steps: Vec<Outlook> = outlooks.into_iter().filter(near).collect();
    steps.sort_by_key(|outlook| {
        let by = outlook.next.as_ref().and_then(|next| next.by);
        (by.is_none(), by, outlook.event.day, outlook.event.id)
    });
    steps
}

fn first_steps(begun: &Begun) -> Vec<FirstStep> {
    if begun.quote {
        return Vec::new();
    }
    let step = |done, words, why, path: &str| FirstStep { done, words, why, path: path.into() };
    let quote =
        begun.event.map_or_else(|| "/events/new".to_owned(), |event| format!("/events/{event}/quote"));
    vec![
        step(begun.settings, "Say who you are", "name, currency, measures, mark-ups, tax", "/settings"),
        step(begun.prices, "Write the price list", "materials, suppliers, what a pack costs", "/materials"),
        step(begun.recipes, "Write a recipe", "what goes in one of these", "/recipes/new"),
        step(begun.clients, "Write down a client", "or let the event do it", "/clients/new"),
        step(begun.event.is_some(), "Write down an event", "who, when, where, how many", "/events/new"),
        step(begun.quote, "Send a quote", "its price, computed from all of that", &quote),
    ]
}
