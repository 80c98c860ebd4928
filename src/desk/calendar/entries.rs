//! What stands in the calendar: entries made of what the rooms know.
//!
//! An order's cut-off is the half hour before orders close, so that it ends when they do. A bench day's hours are those
//! of making pieces. An event lasts from its first known hour to its last, set-up to strike; where fewer than two are
//! known it is the whole day. Pure: nothing is read here.

mod events;
mod orders;

use std::collections::{BTreeMap, HashMap};

use super::{Covered, Entry, Kind, Standing, When};
use crate::desk::outlook::{Outlook, hours_words};
use crate::events::Event;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::EventId;
use crate::prep::event_work::EventWork;
use crate::pull_list::loans::bookings::{Bookings, EventLoans};
use crate::stem_order::placing::PlacedDelivery;

/// What the rooms know of the days of a calendar, and of the events whose flowers are ordered in them.
#[derive(Debug)]
pub struct Known<'a> {
    /// Events that take place, with what lies ahead of them.
    pub outlooks: &'a [Outlook],
    /// Events that were lost or called off lately.
    pub called_off: &'a [Event],
    /// What comes of placed orders.
    pub deliveries: &'a [PlacedDelivery],
    /// What is lent to whom; none where a recipe is a part of itself.
    pub loans: Option<&'a Bookings>,
    /// What was typed about the events' work.
    pub work: &'a HashMap<EventId, EventWork>,
    /// How days and numbers are written.
    pub formats: Formats,
}

/// Every entry that lies in the days, by when it begins.
#[must_use]
pub fn entries(known: &Known, covered: Covered) -> Vec<Entry> {
    let mut entries: Vec<Entry> =
        known.outlooks.iter().map(|outlook| events::entry(&outlook.event, outlook)).collect();
    entries.extend(known.called_off.iter().map(events::called_off));
    entries.extend(known.outlooks.iter().flat_map(|outlook| events::van(outlook, known.work)));
    entries.extend(orders::cut_offs(known));
    entries.extend(orders::due(known));
    entries.extend(known.deliveries.iter().filter(|delivery| delivery.comes()).map(orders::placed));
    entries.extend(bench_days(known));
    let lent = known.loans.into_iter().flat_map(|bookings| {
        bookings.loans.iter().filter(|loans| is_lent(loans)).flat_map(|loans| loan_days(loans, bookings))
    });
    entries.extend(lent);
    entries.extend(known.outlooks.iter().filter_map(events::quote_ends));
    entries.retain(|entry| covered.meets(&entry.when));
    entries.sort_by(|one, other| (one.when.begins(), &one.uid).cmp(&(other.when.begins(), &other.uid)));
    entries
}

/// A day's making, all events together.
fn bench_days(known: &Known) -> Vec<Entry> {
    let mut days: BTreeMap<Day, Vec<&Outlook>> = BTreeMap::new();
    for outlook in known.outlooks {
        for day in outlook.bench.keys() {
            days.entry(*day).or_default().push(outlook);
        }
    }
    let entry = |(day, busy): (Day, Vec<&Outlook>)| {
        let minutes = |outlook: &Outlook| outlook.bench.get(&day).copied().unwrap_or_default();
        let lines =
            busy.iter().map(|outlook| format!("{}: {}", outlook.event.name, hours_words(minutes(outlook))));
        Entry {
            uid: format!("bench-{day}"),
            kind: Kind::Bench,
            when: When::day(day),
            summary: format!(
                "Bench: {} of making",
                hours_words(busy.iter().map(|outlook| minutes(outlook)).sum())
            ),
            location: String::new(),
            description: lines.collect::<Vec<_>>().join("\n"),
            path: prep_path(&busy),
            standing: Standing::Firm,
            sequence: 0,
        }
    };
    days.into_iter().map(entry).collect()
}

fn prep_path(busy: &[&Outlook]) -> String {
    let days = || busy.iter().map(|outlook| outlook.event.day);
    match (days().min(), days().max()) {
        (Some(from), Some(to)) => format!("/prep?from={from}&to={to}"),
        _ => "/prep".into(),
    }
}

fn is_lent(loans: &EventLoans) -> bool {
    loans.borrower.event.is_open() && loans.taken.values().any(|count| *count > 0)
}

/// The day on which an event's loans leave the shelf, and the day on which they are back.
fn loan_days(loans: &EventLoans, bookings: &Bookings) -> [Entry; 2] {
    let event = &loans.borrower.event;
    let period = loans.borrower.period;
    let lines = loans.taken.iter().filter(|(_, count)| **count > 0).map(|(material, count)| {
        let name = bookings.material(*material).map_or("", |material| material.name.as_str());
        format!("{count} × {name}")
    });
    let description = lines.collect::<Vec<_>>().join("\n");
    let entry = |uid: &str, day: Day, does: &str| Entry {
        uid: format!("{uid}-{}", event.id),
        kind: Kind::Loan,
        when: When::day(day),
        summary: format!("Loans {does}: {}", event.name),
        location: String::new(),
        description: description.clone(),
        path: format!("/events/{}/loans", event.id),
        standing: Standing::Firm,
        sequence: 0,
    };
    let back = if loans.borrower.count.is_some() { "were counted back" } else { "come back" };
    [
        entry("loans-leave", period.leaves(event.day), "leave"),
        entry("loans-back", period.returns(event.day), back),
    ]
}

#[cfg(test)]
mod tests;
