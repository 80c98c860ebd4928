//! The calendar against two general-purpose readers: the crate `icalendar` (0.17.17 when this was written), and, through
//! `read_calendar.py`, `icalendar` from `PyPI` (7.3.2; another work by other people). Where Python (`PYTHON=…` names
//! one) or its icalendar is not there, that half says so and ends.
//!
//! Rules: RFC 5545, 3.1 (lines of 75 octets, folding), 3.3.11 (escaping), 3.6.1 (UID and DTSTAMP, an exclusive end).

use std::fs;
use std::process::Command;

use icalendar::{Calendar, Component, EventLike, EventStatus};
use jiff::tz::TimeZone;
use serde_json::{Value, json};
use trug::desk::calendar::written::{Around, calendar};
use trug::desk::calendar::{Entry, Kind, Standing, When};

/// What the reader finds in a calendar; none where there is no reader.
fn read(text: &str) -> Option<Value> {
    let file = std::env::temp_dir().join(format!("trug-calendar-{}.ics", std::process::id()));
    fs::write(&file, text).unwrap();
    let python = std::env::var("PYTHON").unwrap_or_else(|_| "python3".into());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/outside/read_calendar.py");
    let run = Command::new(&python).arg(script).arg(&file).output();
    fs::remove_file(&file).unwrap();
    let run = match run {
        Ok(run) if run.status.code() != Some(3) => run,
        _ => {
            eprintln!("skipped: {python} with icalendar from PyPI is not there");
            return None;
        }
    };
    assert!(run.status.success(), "{}\n{text}", String::from_utf8_lossy(&run.stderr));
    Some(serde_json::from_slice(&run.stdout).unwrap())
}

fn entry(uid: &str, when: When) -> Entry {
    Entry {
        uid: uid.into(),
        kind: Kind::Event,
        when,
        summary: "Supper".into(),
        location: String::new(),
        description: String::new(),
        path: "/events/1".into(),
        standing: Standing::Firm,
        sequence: 0,
    }
}

fn hours(from: &str, until: &str) -> When {
    When::Hours { from: from.parse().unwrap(), until: until.parse().unwrap() }
}

/// Text with everything that is escaped or folded.
fn nasty() -> String {
    "ü".repeat(50) + "; Müller, \\ Söhne: 老虎 🌿\n1.\tRose\n\n2. " + &"long, ".repeat(60)
}

/// A calendar with hours on both sides of Vienna's changes of clocks (29 March 2026 at 02:00, 25 October at 03:00), a
/// whole day that was called off, and nasty text.
fn written() -> String {
    let entries = [
        entry("winter", hours("2026-03-28T10:00", "2026-03-28T12:00")),
        entry("summer", hours("2026-03-29T10:00", "2026-03-29T12:00")),
        entry("autumn-night", hours("2026-10-24T18:00", "2026-10-25T04:00")),
        Entry { standing: Standing::CalledOff, ..entry("all-day", When::day("2026-05-09".parse().unwrap())) },
        Entry {
            kind: Kind::CutOff,
            summary: nasty(),
            location: nasty(),
            description: nasty(),
            standing: Standing::Tentative,
            sequence: 7,
            ..entry("nasty", hours("2026-05-12T10:30", "2026-05-12T11:00"))
        },
    ];
    let zone = TimeZone::get("Europe/Vienna").unwrap();
    let around = Around {
        studio: "Fern & Frond",
        zone: &zone,
        book: "0123456789abcdef0123456789abcdef",
        origin: Some("http://localhost:4310"),
        reminder: Some(90),
        written_at: "2026-05-04T09:00:00Z".parse().unwrap(),
    };
    calendar(&entries, &around)
}

fn uid(name: &str) -> String {
    format!("{name}@0123456789abcdef0123456789abcdef.trug")
}

#[test]
fn the_reader_from_pypi_finds_what_was_written() {
    let Some(found) = read(&written()) else { return };
    assert_eq!(found["name"], "Fern & Frond");
    let event = |name: &str| {
        let events = found["events"].as_array().unwrap();
        events.iter().find(|event| event["uid"] == uid(name)).unwrap_or_else(|| panic!("no {name}")).clone()
    };
    let times = |name: &str| (event(name)["start"].clone(), event(name)["end"].clone());
    assert_eq!(times("winter"), (json!("2026-03-28T09:00:00Z"), json!("2026-03-28T11:00:00Z")));
    assert_eq!(times("summer"), (json!("2026-03-29T08:00:00Z"), json!("2026-03-29T10:00:00Z")));
    assert_eq!(times("autumn-night"), (json!("2026-10-24T16:00:00Z"), json!("2026-10-25T03:00:00Z")));
    assert_eq!(times("all-day"), (json!("2026-05-09"), json!("2026-05-10")));
    assert_eq!(event("all-day")["status"], "CANCELLED");
    let expected = json!({
        "uid": uid("nasty"), "stamp": "2026-05-04T09:00:00Z",
        "start": "2026-05-12T08:30:00Z", "end": "2026-05-12T09:00:00Z",
        "summary": nasty(), "location": nasty(), "description": nasty(),
        "status": "TENTATIVE", "sequence": 7, "categories": ["Order cut-off"],
        "alarms": [{ "seconds": -5400, "related": "END" }],
    });
    assert_eq!(event("nasty"), expected);
}

#[test]
fn the_reader_from_crates_io_finds_what_was_written() {
    let found: Calendar = written().parse().unwrap();
    assert_eq!(found.get_name(), Some("Fern & Frond"));
    assert_eq!(found.get_timezone(), Some("Europe/Vienna"));
    let event = |name: &str| {
        let known = found.events().find(|event| event.get_uid() == Some(&uid(name)));
        known.unwrap_or_else(|| panic!("no {name}"))
    };
    let times =
        |name: &str| ["DTSTART", "DTEND"].map(|key| event(name).property_value(key).unwrap().to_owned());
    assert_eq!(times("autumn-night"), ["20261024T160000Z", "20261025T030000Z"]);
    assert_eq!(times("all-day"), ["20260509", "20260510"]);
    let odd = event("nasty");
    assert_eq!([odd.get_summary(), odd.get_location(), odd.get_description()], [Some(nasty().as_str()); 3]);
    assert_eq!((odd.get_status(), odd.get_sequence()), (Some(EventStatus::Tentative), Some(7)));
    assert_eq!(odd.get_categories(), Some(vec!["Order cut-off".to_owned()]));
    assert_eq!(odd.components().len(), 1);
}
