//! What is said beside an event before anyone asks: other events in the way, hours past midnight, how many tables.

use super::Event;
use super::counts::Party;
use super::hours::{Clash, Hours, clash, clock_words};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::EventId;

/// Another event in the way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClashNote {
    /// Which.
    pub id: EventId,
    /// What it is called.
    pub name: String,
    /// Its day, hours and venue.
    pub line: String,
    /// From when until when both are at work; none where only the day is the same.
    pub overlap: Option<String>,
}

/// Plain notices; none of them refuses anything.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Notices {
    /// Other events in the way, overlapping ones first.
    pub clashes: Vec<ClashNote>,
    /// Times past midnight and long hours.
    pub hours: Vec<String>,
    /// How the number of tables comes about, where it is computed.
    pub tables: Option<String>,
}

/// The notices for an event as typed or kept; `others` are open events of the day and its neighbours.
#[must_use]
pub fn notices(
    own: Option<EventId>,
    (day, hours, party): (Option<Day>, &Hours, &Party),
    others: &[Event],
    formats: &Formats,
) -> Notices {
    let others = others.iter().filter(|other| Some(other.id) != own);
    let mut clashes: Vec<ClashNote> = day.map_or_else(Vec::new, |day| {
        others.filter_map(|other| clash_note((day, hours), other, *formats)).collect()
    });
    clashes.sort_by_key(|note| note.overlap.is_none());
    let tables = party.table_words().filter(|_| party.tables.is_none());
    Notices { clashes, hours: hour_notes(day, hours, *formats), tables }
}

fn clash_note((day, hours): (Day, &Hours), other: &Event, formats: Formats) -> Option<ClashNote> {
    let overlap = match clash((day, hours), (other.day, &other.hours()))? {
        Clash::Overlap { from, until } => Some(format!("{} to {}", clock_words(from), clock_words(until))),
        Clash::SameDay => None,
    };
    Some(ClashNote { id: other.id, name: other.name.clone(), line: other.line(&formats), overlap })
}

fn hour_notes(day: Option<Day>, hours: &Hours, formats: Formats) -> Vec<String> {
    let later = |mark: &super::hours::Mark| match (day, mark.days_later()) {
        (_, 0) => None,
        (Some(day), days) => Some(format!("on {}", formats.weekday(day.plus(days)))),
        (None, 1) => Some("on the day after".to_owned()),
        (None, days) => Some(format!("{days} days later")),
    };
    hours
        .marks()
        .iter()
        .filter_map(|mark| Some(format!("{} at {} is past midnight, {}.", mark.what, mark.at, later(mark)?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::formats::DateStyle;
    use crate::ground::quantity::LengthUnit;

    #[test]
    fn hours_past_midnight_and_computed_tables_are_said() {
        let formats = Formats {
            currency: iso_currency::Currency::EUR,
            length_unit: LengthUnit::Inch,
            date_style: DateStyle::DayMonthYear,
        };
        let at = |time: &str| Some(time.parse().unwrap());
        let hours = Hours { start: at("18:00"), end: at("01:00"), ..Hours::default() };
        let party = Party { guests: Some(90), seats: Some(8), tables: None };
        let day = "2026-05-16".parse().ok();
        let said = notices(None, (day, &hours, &party), &[], &formats);
        assert_eq!(said.hours, ["End at 01:00 is past midnight, on Sun 17 May 2026."]);
        assert_eq!(said.tables.as_deref(), Some("12 tables = 90 guests ÷ 8 seats, rounded up"));
        let typed = Party { tables: Some(10), ..party };
        assert_eq!(notices(None, (day, &Hours::default(), &typed), &[], &formats), Notices::default());
    }
}
