//! The hours of an event's day, from set-up to strike, and whether two events want the same ones.

use crate::ground::dates::{Day, TimeOfDay};

const DAY: i64 = 24 * 60;

/// When an event's work begins and ends. A time earlier than the one before it falls on the next day:
/// an evening that ends at 01:00 ends past midnight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Hours {
    /// From when the studio may set up.
    pub set_up: Option<TimeOfDay>,
    /// When guests arrive.
    pub start: Option<TimeOfDay>,
    /// When it ends.
    pub end: Option<TimeOfDay>,
    /// When the studio takes down.
    pub strike: Option<TimeOfDay>,
}

/// One known time of an event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    /// What happens: `Set-up`, `Start`, `End`, `Strike`.
    pub what: &'static str,
    /// At what time.
    pub at: TimeOfDay,
    /// Minutes from the midnight with which the event's day begins.
    pub minutes: i64,
}

impl Mark {
    /// How many days after the event's day it is: 1 past midnight.
    #[must_use]
    pub fn days_later(&self) -> i64 {
        self.minutes.div_euclid(DAY)
    }
}

/// How another event stands in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clash {
    /// It wants the same hours.
    Overlap {
        /// Minutes of the first event's day at which both are at work.
        from: i64,
        /// Until when.
        until: i64,
    },
    /// It is on the same day, at other hours or at hours not yet said.
    SameDay,
}

impl Hours {
    /// The known times, in order, rolled over midnight where one is earlier than the one before it.
    #[must_use]
    pub fn marks(&self) -> Vec<Mark> {
        let named =
            [("Set-up", self.set_up), ("Start", self.start), ("End", self.end), ("Strike", self.strike)];
        let mut before = 0;
        let mut marks = Vec::new();
        for (what, at) in named {
            let Some(at) = at else { continue };
            let late = before - at.minutes();
            let minutes = at.minutes() + if late > 0 { (late + DAY - 1) / DAY * DAY } else { 0 };
            marks.push(Mark { what, at, minutes });
            before = minutes;
        }
        marks
    }

    /// From the first known time to the last, in minutes of the event's day; none where nothing is known.
    #[must_use]
    pub fn span(&self) -> Option<(i64, i64)> {
        let marks = self.marks();
        Some((marks.first()?.minutes, marks.last()?.minutes))
    }

    /// `14:00 to 23:00`, `from 14:00`, or nothing where it is not said.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        match (self.start, self.end) {
            (Some(start), Some(end)) => Some(format!("{start} to {end}")),
            (Some(start), None) => Some(format!("from {start}")),
            (None, Some(end)) => Some(format!("until {end}")),
            (None, None) => None,
        }
    }
}

/// Whether two events stand in each other's way: the same hours between the first known time and the last
/// (set-up to strike), or else the same day. A single known time counts as that minute.
///
/// ```
/// use trug::events::hours::{Clash, Hours, clash};
/// let day = "2026-05-16".parse().unwrap();
/// let at = |time: &str| Some(time.parse().unwrap());
/// let noon = Hours { start: at("12:00"), end: at("16:00"), ..Hours::default() };
/// let evening = Hours { set_up: at("15:00"), end: at("23:00"), ..Hours::default() };
/// assert_eq!(clash((day, &noon), (day, &evening)), Some(Clash::Overlap { from: 900, until: 960 }));
/// assert_eq!(clash((day, &noon), (day, &Hours::default())), Some(Clash::SameDay));
/// assert_eq!(clash((day, &noon), (day.plus(1), &noon)), None);
/// ```
#[must_use]
pub fn clash(one: (Day, &Hours), other: (Day, &Hours)) -> Option<Clash> {
    let apart = other.0.days_after(one.0);
    if let (Some(mine), Some(theirs)) = (one.1.span(), other.1.span()) {
        let from = mine.0.max(theirs.0 + apart * DAY);
        let until = (mine.1.max(mine.0 + 1)).min(theirs.1.max(theirs.0 + 1) + apart * DAY);
        if from < until {
            return Some(Clash::Overlap { from, until });
        }
    }
    (apart == 0).then_some(Clash::SameDay)
}

/// Minutes of a day as a time of day: `25 * 60` is `01:00`.
#[must_use]
pub fn clock_words(minutes: i64) -> String {
    let minutes = minutes.rem_euclid(DAY);
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn at(text: &str) -> Option<TimeOfDay> {
        text.parse().ok()
    }

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    #[test]
    fn an_end_before_the_start_is_past_midnight() {
        let party = Hours { start: at("18:00"), end: at("01:00"), strike: at("02:30"), ..Hours::default() };
        let marks = party.marks();
        assert_eq!(marks[1].days_later(), 1);
        assert_eq!(party.span(), Some((18 * 60, 26 * 60 + 30)));
        assert_eq!(clock_words(26 * 60 + 30), "02:30");
    }

    #[test]
    fn a_late_night_meets_the_next_morning() {
        let night = Hours { start: at("18:00"), strike: at("08:00"), ..Hours::default() };
        let morning = Hours { set_up: at("07:00"), start: at("11:00"), ..Hours::default() };
        let met = clash((day("2026-05-16"), &night), (day("2026-05-17"), &morning));
        assert_eq!(met, Some(Clash::Overlap { from: 31 * 60, until: 32 * 60 }));
        assert_eq!(clash((day("2026-05-16"), &morning), (day("2026-05-17"), &night)), None);
    }

    #[test]
    fn hours_that_only_touch_do_not_overlap() {
        let noon = Hours { start: at("12:00"), end: at("15:00"), ..Hours::default() };
        let later = Hours { start: at("15:00"), end: at("18:00"), ..Hours::default() };
        let same = day("2026-05-16");
        assert_eq!(clash((same, &noon), (same, &later)), Some(Clash::SameDay));
    }

    fn hours() -> impl Strategy<Value = Hours> {
        let time = || {
            proptest::option::of(
                (0_i8..24, 0_i8..60)
                    .prop_map(|(hour, minute)| TimeOfDay(jiff::civil::time(hour, minute, 0, 0))),
            )
        };
        (time(), time(), time(), time()).prop_map(|(set_up, start, end, strike)| Hours {
            set_up,
            start,
            end,
            strike,
        })
    }

    proptest! {
        /// Times never run backwards, and keep their time of day.
        #[test]
        fn marks_are_in_order(hours in hours()) {
            let marks = hours.marks();
            prop_assert!(marks.windows(2).all(|two| two[0].minutes <= two[1].minutes));
            prop_assert!(marks.iter().all(|mark| mark.minutes.rem_euclid(DAY) == mark.at.minutes()));
        }

        /// A clash is seen from both sides.
        #[test]
        fn a_clash_is_mutual(one in hours(), other in hours(), apart in -2_i64..=2) {
            let today = day("2026-05-16");
            let there = clash((today, &one), (today.plus(apart), &other));
            let back = clash((today.plus(apart), &other), (today, &one));
            prop_assert_eq!(there.is_some(), back.is_some());
            prop_assert_eq!(there == Some(Clash::SameDay), back == Some(Clash::SameDay));
        }
    }
}
