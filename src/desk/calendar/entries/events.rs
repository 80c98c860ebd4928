//! Entries of events: the event itself, called off or not, and the day on which its quote ends.

use jiff::ToSpan;
use jiff::civil::DateTime;

use crate::desk::calendar::{Entry, Kind, Standing, When};
use crate::desk::outlook::Outlook;
use crate::desk::standing::Quoted;
use crate::events::Event;
use crate::ground::dates::Day;

/// An event that takes place.
pub(super) fn entry(event: &Event, outlook: &Outlook) -> Entry {
    let standing = match outlook.quoted {
        Quoted::Accepted { .. } => Standing::Firm,
        Quoted::NotSent | Quoted::Sent { .. } => Standing::Tentative,
    };
    event_entry(event, standing)
}

/// An event that was lost or called off.
pub(super) fn called_off(event: &Event) -> Entry {
    event_entry(event, Standing::CalledOff)
}

fn event_entry(event: &Event, standing: Standing) -> Entry {
    Entry {
        uid: format!("event-{}", event.id),
        kind: Kind::Event,
        when: when(event),
        summary: event.name.clone(),
        location: location(event),
        description: description(event),
        path: format!("/events/{}", event.id),
        standing,
        sequence: event.version - 1,
    }
}

/// From the first known hour to the last; the whole day where that is no stretch.
fn when(event: &Event) -> When {
    match event.hours().span() {
        Some((from, until)) if from < until => {
            When::Hours { from: at_minutes(event.day, from), until: at_minutes(event.day, until) }
        }
        _ => When::day(event.day),
    }
}

/// So many minutes after the midnight with which a day begins, by the clock on the wall.
fn at_minutes(day: Day, minutes: i64) -> DateTime {
    day.0.at(0, 0, 0, 0).checked_add(minutes.minutes()).unwrap_or(DateTime::MAX)
}

fn location(event: &Event) -> String {
    let lines = event.venue.lines().chain(event.venue_address.lines()).map(str::trim);
    lines.filter(|line| !line.is_empty()).collect::<Vec<_>>().join(", ")
}

fn description(event: &Event) -> String {
    let mut lines = vec![format!("For {}", event.client_name)];
    lines.extend(event.hours().marks().iter().map(|mark| format!("{} {}", mark.what, mark.at)));
    lines.extend(event.guests.map(|guests| format!("{guests} guests")));
    lines.join("\n")
}

/// The last day on which a quote that is out can be accepted.
pub(super) fn quote_ends(outlook: &Outlook) -> Option<Entry> {
    let Quoted::Sent { number, valid_until: Some(day), .. } = outlook.quoted else { return None };
    let event = &outlook.event;
    Some(Entry {
        uid: format!("quote-{}", event.id),
        kind: Kind::Quote,
        when: When::day(day),
        summary: format!("Quote ends: {}", event.name),
        location: String::new(),
        description: format!("Version {number}, for {}", event.client_name),
        path: format!("/events/{}/quote", event.id),
        standing: Standing::Firm,
        sequence: number,
    })
}
