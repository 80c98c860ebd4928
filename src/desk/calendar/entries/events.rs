//! Entries of events: the event itself, called off or not, the van's way there and back, and the day on which its quote
//! ends.

use std::collections::HashMap;

use jiff::ToSpan;
use jiff::civil::DateTime;

use crate::desk::calendar::{Entry, Kind, Standing, When};
use crate::desk::outlook::Outlook;
use crate::desk::standing::Quoted;
use crate::events::Event;
use crate::ground::dates::Day;
use crate::ground::ids::EventId;
use crate::prep::event_work::{EventWork, Worked, times};

/// An event that takes place.
pub(super) fn entry(event: &Event, outlook: &Outlook) -> Entry {
    let standing = match outlook.quoted {
        Quoted::Accepted { .. } => Standing::Firm,
        Quoted::NotSent | Quoted::Sent { .. } | Quoted::Declined { .. } => Standing::Tentative,
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

/// Loading and driving there, striking and driving back: each where the hour that it goes by is known.
pub(super) fn van(outlook: &Outlook, work: &HashMap<EventId, EventWork>) -> Vec<Entry> {
    let event = &outlook.event;
    let pieces = outlook.pieces.iter().filter_map(|piece| event.count_of(piece)).sum();
    if pieces == 0 {
        return Vec::new();
    }
    let worked = work.get(&event.id).copied().unwrap_or_default().worked(pieces);
    let times = times(event, &worked);
    let hour = |at: DateTime| at.strftime("%H:%M").to_string();
    let there = format!("Leave at {}, on site {}", hour(times.leave), hour(times.on_site));
    let home = format!("Off site {}, back {}", hour(times.off_site), hour(times.back));
    let is_known = |names: &[&str]| !names.iter().all(|name| times.assumed.contains(name));
    let entry = |uid: &str, does: &str, (from, until), steps: String| Entry {
        uid: format!("{uid}-{}", event.id),
        when: When::Hours { from, until },
        summary: format!("{does}: {}", event.name),
        description: with_assumed(steps, &worked),
        path: format!("/events/{}/work", event.id),
        ..entry(event, outlook)
    };
    let leaves = is_known(&["set-up", "start"])
        .then(|| entry("van-leaves", "Load and drive", (times.load_from, times.on_site), there));
    let back = is_known(&["strike"])
        .then(|| entry("van-back", "Strike and drive back", (times.strike_from, times.back), home));
    leaves.into_iter().chain(back).collect()
}

/// What was done, and which figures nobody typed.
fn with_assumed(steps: String, worked: &Worked) -> String {
    if worked.assumed.is_empty() {
        return steps;
    }
    format!("{steps}\nBy usual figures for {}", worked.assumed.join(", "))
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
