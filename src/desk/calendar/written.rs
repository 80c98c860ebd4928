//! Entries as iCalendar text (RFC 5545).
//!
//! - Hours are written as instants in UTC, so that no reader has to know the studio's time zone or its change of
//!   clocks; an hour that the clocks leave out is the one after it, one that comes twice is the first.
//! - Whole days carry no zone, and their end is exclusive: a day on 9 May ends on the 10th.
//! - `DTSTAMP` is the moment of writing: of two copies of an entry the later counts. `SEQUENCE` counts its saves.
//! - A feed of nothing holds no component; readers take that, though the standard asks for one.
//!
//! Pure: text out of values.

use jiff::civil::DateTime;
use jiff::tz::TimeZone;

use super::content_lines::ContentLines;
use super::{Entry, Kind, Standing, When};
use crate::ground::choice::Choice;
use crate::ground::dates::{Day, Moment};
use crate::ground::fingerprint::fingerprint;

/// A reader fetches the feed anew after so long.
const REFRESH: &str = "PT1H";

/// What stands around the entries.
#[derive(Debug, Clone)]
pub struct Around<'a> {
    /// The studio's name.
    pub studio: &'a str,
    /// Its time zone.
    pub zone: &'a TimeZone,
    /// Tells this book's entries from another's.
    pub book: &'a str,
    /// Where Trug answers, `http://localhost:4310`; none: entries carry no link.
    pub origin: Option<&'a str>,
    /// Minutes before orders close at which the reader's calendar rings.
    pub reminder: Option<i64>,
    /// The moment of writing.
    pub written_at: Moment,
}

/// The whole calendar.
#[must_use]
pub fn calendar(entries: &[Entry], around: &Around) -> String {
    let mut lines = ContentLines::default();
    lines.add("BEGIN", "VCALENDAR");
    lines.add("VERSION", "2.0");
    lines.add("PRODID", "-//Trug//Order book of an event-flower studio//EN");
    lines.add("CALSCALE", "GREGORIAN");
    lines.add_text("NAME", around.studio);
    lines.add_text("X-WR-CALNAME", around.studio);
    lines.add("X-WR-TIMEZONE", around.zone.iana_name().unwrap_or("UTC"));
    lines.add("REFRESH-INTERVAL;VALUE=DURATION", REFRESH);
    lines.add("X-PUBLISHED-TTL", REFRESH);
    for entry in entries {
        add_event(&mut lines, entry, around);
    }
    lines.add("END", "VCALENDAR");
    lines.done()
}

/// Tells one state of the calendar from another, whenever it is written.
#[must_use]
pub fn mark(entries: &[Entry], around: &Around) -> String {
    let around = (around.studio, around.zone.iana_name(), around.book, around.origin, around.reminder);
    fingerprint(&(entries, around))
}

fn add_event(lines: &mut ContentLines, entry: &Entry, around: &Around) {
    lines.add("BEGIN", "VEVENT");
    lines.add("UID", &format!("{}@{}.trug", entry.uid, around.book));
    lines.add("DTSTAMP", &instant(around.written_at));
    lines.add("SEQUENCE", &entry.sequence.to_string());
    add_times(lines, &entry.when, around.zone);
    lines.add_text("SUMMARY", &entry.summary);
    for (name, text) in [("LOCATION", &entry.location), ("DESCRIPTION", &entry.description)] {
        if !text.is_empty() {
            lines.add_text(name, text);
        }
    }
    lines.add_text("CATEGORIES", entry.kind.label());
    lines.add("STATUS", status(entry.standing));
    lines.add("TRANSP", if takes_time(entry) { "OPAQUE" } else { "TRANSPARENT" });
    if let Some(origin) = around.origin {
        lines.add("URL", &format!("{origin}{}", entry.path));
    }
    if let Some(minutes) = around.reminder.filter(|_| rings(entry)) {
        add_alarm(lines, entry, minutes);
    }
    lines.add("END", "VEVENT");
}

const fn status(standing: Standing) -> &'static str {
    match standing {
        Standing::Firm => "CONFIRMED",
        Standing::Tentative => "TENTATIVE",
        Standing::CalledOff => "CANCELLED",
    }
}

/// Whether one is busy for as long: only at an event that takes place.
fn takes_time(entry: &Entry) -> bool {
    entry.kind == Kind::Event && entry.standing != Standing::CalledOff
}

fn rings(entry: &Entry) -> bool {
    entry.kind == Kind::CutOff && entry.standing != Standing::CalledOff
}

fn add_times(lines: &mut ContentLines, when: &When, zone: &TimeZone) {
    match when {
        When::Days { first, last } => {
            lines.add("DTSTART;VALUE=DATE", &date(*first));
            lines.add("DTEND;VALUE=DATE", &date(last.plus(1)));
        }
        When::Hours { from, until } => {
            lines.add("DTSTART", &instant(moment(*from, zone)));
            lines.add("DTEND", &instant(moment((*until).max(*from), zone)));
        }
    }
}

/// `20260509`
fn date(day: Day) -> String {
    day.0.strftime("%Y%m%d").to_string()
}

/// A civil time of the studio's as an instant.
fn moment(at: DateTime, zone: &TimeZone) -> Moment {
    // Only the calendar's last days have no instant.
    Moment(zone.to_timestamp(at).unwrap_or(jiff::Timestamp::MAX))
}

/// `20260512T090000Z`
fn instant(moment: Moment) -> String {
    moment.0.strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// Rings so many minutes before the entry ends, which is when orders close.
fn add_alarm(lines: &mut ContentLines, entry: &Entry, minutes: i64) {
    lines.add("BEGIN", "VALARM");
    lines.add("ACTION", "DISPLAY");
    lines.add("TRIGGER;RELATED=END", &format!("-PT{minutes}M"));
    lines.add_text("DESCRIPTION", &entry.summary);
    lines.add("END", "VALARM");
}

#[cfg(test)]
mod tests;
