//! What is written against RFC 5545: worked examples, and laws held by a small reader of our own that knows only the
//! standard's rules (unfold at CRLF and a blank; unescape `\\`, `\;`, `\,`, `\n`).

use proptest::prelude::*;

use super::*;

fn zone(name: &str) -> TimeZone {
    TimeZone::get(name).unwrap()
}

fn around(zone: &TimeZone) -> Around<'_> {
    Around {
        studio: "Fern, Frond & Daughter; flowers",
        zone,
        book: "0123456789abcdef0123456789abcdef",
        origin: Some("http://localhost:4310"),
        reminder: None,
        written_at: "2026-05-04T09:00:00Z".parse().unwrap(),
    }
}

fn entry(when: When) -> Entry {
    Entry {
        uid: "event-12".into(),
        kind: Kind::Event,
        when,
        summary: "Sorrell–Wray wedding".into(),
        location: "Tithe Barn".into(),
        description: String::new(),
        path: "/events/12".into(),
        standing: Standing::Firm,
        sequence: 3,
    }
}

fn hours(from: &str, until: &str) -> When {
    When::Hours { from: from.parse().unwrap(), until: until.parse().unwrap() }
}

/// The content lines of a calendar, unfolded.
fn lines(text: &str) -> Vec<String> {
    assert!(text.ends_with("\r\n"));
    text.replace("\r\n ", "").split_terminator("\r\n").map(str::to_owned).collect()
}

/// The value of the first line with this name and parameters.
fn value(text: &str, name: &str) -> Option<String> {
    lines(text).iter().find_map(|line| line.strip_prefix(&format!("{name}:")).map(str::to_owned))
}

fn unescaped(text: &str) -> String {
    let mut plain = String::new();
    let mut letters = text.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' => match letters.next() {
                Some('n' | 'N') => plain.push('\n'),
                Some(escaped @ ('\\' | ';' | ',')) => plain.push(escaped),
                other => panic!("\\{other:?} is no escape"),
            },
            ';' | ',' => panic!("{letter} is not escaped in {text}"),
            _ => plain.push(letter),
        }
    }
    plain
}

/// RFC 5545, 3.6.1 and 3.8.2.2: the end of an event is exclusive, so one whole day on 9 May ends on the 10th.
#[test]
fn a_whole_day_ends_on_the_next() {
    let utc = TimeZone::UTC;
    let text = calendar(&[entry(When::day("2026-05-09".parse().unwrap()))], &around(&utc));
    assert_eq!(value(&text, "DTSTART;VALUE=DATE").unwrap(), "20260509");
    assert_eq!(value(&text, "DTEND;VALUE=DATE").unwrap(), "20260510");
    let year = When::Days { first: "2026-12-31".parse().unwrap(), last: "2027-02-28".parse().unwrap() };
    assert_eq!(value(&calendar(&[entry(year)], &around(&utc)), "DTEND;VALUE=DATE").unwrap(), "20270301");
}

/// Vienna leaves its winter time on 29 March 2026 at 02:00 and comes back to it on 25 October at 03:00.
#[test]
fn hours_are_right_on_both_sides_of_the_change_of_clocks() {
    let vienna = zone("Europe/Vienna");
    let at = |from: &str, until: &str| {
        let text = calendar(&[entry(hours(from, until))], &around(&vienna));
        (value(&text, "DTSTART").unwrap(), value(&text, "DTEND").unwrap())
    };
    let times = |from: &str, until: &str| (from.to_owned(), until.to_owned());
    assert_eq!(at("2026-03-28T10:00", "2026-03-29T10:00"), times("20260328T090000Z", "20260329T080000Z"));
    assert_eq!(at("2026-10-24T18:00", "2026-10-25T02:30"), times("20261024T160000Z", "20261025T003000Z"));
    // 02:30 does not exist that night: an hour later by the clock, the same distance from midnight.
    assert_eq!(at("2026-03-29T02:30", "2026-03-29T04:00").0, "20260329T013000Z");
}

#[test]
fn an_entry_is_updated_not_doubled() {
    let utc = TimeZone::UTC;
    let first = entry(hours("2026-05-16T10:00", "2026-05-16T23:00"));
    let moved = Entry { when: hours("2026-05-17T10:00", "2026-05-17T23:00"), sequence: 4, ..first.clone() };
    let later = Around { written_at: "2026-05-05T09:00:00Z".parse().unwrap(), ..around(&utc) };
    let (before, after) = (calendar(&[first], &around(&utc)), calendar(&[moved], &later));
    assert_eq!(value(&before, "UID").unwrap(), "event-12@0123456789abcdef0123456789abcdef.trug");
    assert_eq!(value(&before, "UID"), value(&after, "UID"));
    assert_eq!((value(&before, "SEQUENCE"), value(&after, "SEQUENCE")), (Some("3".into()), Some("4".into())));
    assert_eq!(value(&before, "DTSTAMP").unwrap(), "20260504T090000Z");
    assert_eq!(value(&after, "DTSTAMP").unwrap(), "20260505T090000Z");
}

#[test]
fn how_sure_an_entry_is_stands_in_its_status() {
    let utc = TimeZone::UTC;
    let said = |standing, kind| {
        let when = When::day("2026-05-09".parse().unwrap());
        let text = calendar(&[Entry { kind, standing, ..entry(when) }], &around(&utc));
        (
            value(&text, "STATUS").unwrap(),
            value(&text, "TRANSP").unwrap(),
            value(&text, "CATEGORIES").unwrap(),
        )
    };
    let words = |status: &str, busy: &str, kind: &str| (status.to_owned(), busy.to_owned(), kind.to_owned());
    assert_eq!(said(Standing::Firm, Kind::Event), words("CONFIRMED", "OPAQUE", "Event"));
    assert_eq!(said(Standing::Tentative, Kind::Delivery), words("TENTATIVE", "TRANSPARENT", "Delivery"));
    assert_eq!(said(Standing::CalledOff, Kind::Event), words("CANCELLED", "TRANSPARENT", "Event"));
}

#[test]
fn only_cut_offs_ring_and_only_where_asked() {
    let utc = TimeZone::UTC;
    let cut_off = Entry { kind: Kind::CutOff, ..entry(hours("2026-05-12T10:30", "2026-05-12T11:00")) };
    let rings = |entry: &Entry, reminder| {
        let text = calendar(std::slice::from_ref(entry), &Around { reminder, ..around(&utc) });
        value(&text, "TRIGGER;RELATED=END")
    };
    assert_eq!(rings(&cut_off, None), None);
    assert_eq!(rings(&cut_off, Some(180)).unwrap(), "-PT180M");
    assert_eq!(rings(&Entry { kind: Kind::Event, ..cut_off }, Some(180)), None);
}

/// RFC 5545, 3.1 and 3.3.11: a line holds 75 octets at most and is not folded within a letter; colons are not escaped.
#[test]
fn long_lines_are_folded_between_letters_and_text_is_escaped() {
    let utc = TimeZone::UTC;
    let summary = format!("{}: 14 × a, b; c\\d\n{}", "ü".repeat(40), "🌿".repeat(30));
    let text = calendar(
        &[Entry { summary: summary.clone(), ..entry(When::day("2026-05-09".parse().unwrap())) }],
        &around(&utc),
    );
    assert!(text.split("\r\n").all(|line| line.len() <= 75), "{text}");
    let written = value(&text, "SUMMARY").unwrap();
    assert!(written.contains(r": 14 × a\, b\; c\\d\n"), "{written}");
    assert_eq!(unescaped(&written), summary);
    assert_eq!(unescaped(&value(&text, "X-WR-CALNAME").unwrap()), "Fern, Frond & Daughter; flowers");
}

#[test]
fn the_mark_tells_states_apart_but_not_moments() {
    let utc = TimeZone::UTC;
    let one = [entry(hours("2026-05-16T10:00", "2026-05-16T23:00"))];
    let other = [Entry { location: "Long room".into(), ..one[0].clone() }];
    let now = around(&utc);
    let later = Around { written_at: "2026-05-05T09:00:00Z".parse().unwrap(), ..around(&utc) };
    assert_eq!(mark(&one, &now), mark(&one, &later));
    assert_ne!(mark(&one, &now), mark(&other, &now));
    assert_ne!(mark(&one, &now), mark(&one, &Around { reminder: Some(60), ..around(&utc) }));
}

/// Text as people and import files have it: any letters, breaks, and what the standard escapes.
fn text() -> impl Strategy<Value = String> {
    prop::collection::vec(
        prop_oneof![any::<char>(), prop::sample::select(vec![',', ';', '\\', '\n', ' ', 'é', '老', '🌿'])],
        0..160,
    )
    .prop_map(|letters| letters.into_iter().filter(|c| !c.is_control() || *c == '\n').collect())
}

proptest! {
    /// Whatever is written comes back, and no line is longer than the standard allows.
    #[test]
    fn what_is_read_is_what_was_written(summary in text(), location in text(), description in text(), day in 0_i64..4000) {
        let vienna = zone("Europe/Vienna");
        let day: Day = "2024-01-01".parse::<Day>().unwrap().plus(day);
        let entry = Entry {
            summary: summary.clone(), location: location.clone(), description: description.clone(),
            ..entry(When::day(day))
        };
        let text = calendar(&[entry], &around(&vienna));
        prop_assert!(text.split("\r\n").all(|line| line.len() <= 75));
        prop_assert!(!text.replace("\r\n", "").contains(['\r', '\n']));
        prop_assert_eq!(unescaped(&value(&text, "SUMMARY").unwrap()), summary);
        prop_assert_eq!(value(&text, "LOCATION").map(|text| unescaped(&text)).unwrap_or_default(), location);
        prop_assert_eq!(value(&text, "DESCRIPTION").map(|text| unescaped(&text)).unwrap_or_default(), description);
        prop_assert_eq!(value(&text, "DTEND;VALUE=DATE").unwrap(), day.plus(1).0.strftime("%Y%m%d").to_string());
        prop_assert_eq!(lines(&text).iter().filter(|line| *line == "BEGIN:VEVENT" || *line == "END:VEVENT").count(), 2);
    }

    /// An hour by the clock on the wall is the instant at which that clock shows it, wherever the studio is.
    #[test]
    fn instants_show_the_studios_hours(
        name in prop::sample::select(vec!["Europe/Vienna", "America/New_York", "Asia/Kolkata", "Australia/Lord_Howe", "UTC"]),
        minutes in 0_i64..3_000_000, lasts in 0_i64..3000,
    ) {
        let there = zone(name);
        let start = jiff::civil::date(2024, 1, 1).at(0, 0, 0, 0);
        let from = start + jiff::SignedDuration::from_mins(minutes);
        let until = from + jiff::SignedDuration::from_mins(lasts);
        let text = calendar(&[entry(When::Hours { from, until })], &around(&there));
        let read = |name: &str| -> jiff::Timestamp {
            let civil = jiff::civil::DateTime::strptime("%Y%m%dT%H%M%SZ", value(&text, name).unwrap()).unwrap();
            TimeZone::UTC.to_timestamp(civil).unwrap()
        };
        let gap = there.to_ambiguous_timestamp(from).is_ambiguous();
        prop_assert!(gap || read("DTSTART").to_zoned_datetime(there.clone()).datetime() == from);
        prop_assert!(read("DTEND") >= read("DTSTART"));
    }
}
