//! The clock of an event's day: when loading begins, when the van leaves, when all stands, when it is struck, when the van is
//! back. Backwards from the event's hours: leave = on site − drive; loading begins = leave − load ÷ crew; off site = strike +
//! strike ÷ crew; back = off site + drive. Whole minutes, rounded up.
//!
//! May import: events' types, this room's types, `jiff` civil times.

use jiff::ToSpan;
use jiff::civil::DateTime;

use super::Worked;
use crate::events::Event;

/// By when all stands where no hour is known (minutes of the day): noon. Common practice, no published source.
const SET_BY: i64 = 12 * 60;
/// How long an event lasts whose end nobody said. Common practice, no published source.
const LASTS: i64 = 5 * 60;

/// When what happens on an event's day and, past midnight, after it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EventTimes {
    /// Loading begins: all that travels is made by then.
    pub load_from: DateTime,
    /// The van leaves.
    pub leave: DateTime,
    /// It may be set up from then.
    pub on_site: DateTime,
    /// All stands by then.
    pub set_by: DateTime,
    /// Striking begins.
    pub strike_from: DateTime,
    /// All is in the van.
    pub off_site: DateTime,
    /// The van is back.
    pub back: DateTime,
    /// Which hours the event does not say: `set-up`, `start`, `strike`.
    pub assumed: Vec<&'static str>,
}

impl EventTimes {
    /// Whether setting up ends after all should stand.
    #[must_use]
    pub fn set_ends(&self, worked: &Worked) -> DateTime {
        later(self.on_site, worked.by_the_clock(worked.set))
    }

    /// Whether the crew comes home between setting up and striking: where there is time for it, or nothing is struck.
    #[must_use]
    pub fn comes_home(&self, worked: &Worked) -> bool {
        let home = later(self.set_ends(worked), worked.drive);
        worked.strike == 0 || home <= later(self.strike_from, -worked.drive)
    }

    /// How often the crew drives one way: there and back, and a second time where it comes home before it strikes.
    #[must_use]
    pub fn rides(&self, worked: &Worked) -> i64 {
        if worked.strike > 0 && self.comes_home(worked) { 4 } else { 2 }
    }
}

/// The clock of an event's day. Without a start all stands when setting up ends, or at noon where no hour is known;
/// without a set-up the crew comes as late as setting allows; without a strike it is at the end, or five hours after the start.
#[must_use]
pub fn times(event: &Event, worked: &Worked) -> EventTimes {
    let marks = event.hours().marks();
    let mark = |what: &str| marks.iter().find(|mark| mark.what == what).map(|mark| mark.minutes);
    let (set_up, start, end, strike) = (mark("Set-up"), mark("Start"), mark("End"), mark("Strike"));
    let setting = worked.by_the_clock(worked.set);
    let ends = strike.or(end);
    let set_by = start.unwrap_or_else(|| {
        let stands = set_up.map_or(SET_BY, |from| from.saturating_add(setting));
        ends.map_or(stands, |ends| stands.min(ends))
    });
    let on_site = set_up.unwrap_or(set_by.saturating_sub(setting));
    let strike_from = ends.unwrap_or(set_by.saturating_add(LASTS));
    let at = |minutes: i64| later(event.day.0.at(0, 0, 0, 0), minutes);
    let leave = on_site.saturating_sub(worked.drive);
    let off_site = strike_from.saturating_add(worked.by_the_clock(worked.strike));
    let missing = [("set-up", set_up), ("start", start), ("strike", ends)];
    EventTimes {
        load_from: at(leave.saturating_sub(worked.by_the_clock(worked.load))),
        leave: at(leave),
        on_site: at(on_site),
        set_by: at(set_by),
        strike_from: at(strike_from),
        off_site: at(off_site),
        back: at(off_site.saturating_add(worked.drive)),
        assumed: missing.into_iter().filter_map(|(name, said)| said.is_none().then_some(name)).collect(),
    }
}

/// So many minutes later, or earlier where negative; the calendar's end stays the calendar's end.
#[must_use]
pub fn later(moment: DateTime, minutes: i64) -> DateTime {
    moment.checked_add(minutes.clamp(-1_000_000, 1_000_000).minutes()).unwrap_or(moment)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::EventWork;
    use super::*;
    use crate::stem_order::samples;

    fn event(hours: [&str; 4]) -> Event {
        let [set_up_time, start_time, end_time, strike_time] = hours.map(|time| time.parse().ok());
        Event { set_up_time, start_time, end_time, strike_time, ..samples::event(1, "Supper", "2026-05-16") }
    }

    fn moment(text: &str) -> DateTime {
        text.parse().unwrap()
    }

    fn worked() -> Worked {
        let typed = EventWork {
            version: 1,
            load_minutes: Some(90),
            drive_minutes: Some(40),
            set_minutes: Some(300),
            strike_minutes: Some(120),
            crew: Some(2),
        };
        typed.worked(0)
    }

    #[test]
    fn the_clock_runs_backwards_from_the_set_up_and_on_from_the_strike() {
        let times = times(&event(["09:30", "14:00", "23:30", "00:15"]), &worked());
        assert_eq!(times.load_from, moment("2026-05-16T08:05"));
        assert_eq!(times.leave, moment("2026-05-16T08:50"));
        assert_eq!(times.set_by, moment("2026-05-16T14:00"));
        assert_eq!(times.set_ends(&worked()), moment("2026-05-16T12:00"));
        assert_eq!(times.strike_from, moment("2026-05-17T00:15"));
        assert_eq!(times.back, moment("2026-05-17T01:55"));
        assert!(times.assumed.is_empty());
    }

    #[test]
    fn whoever_comes_home_before_the_strike_drives_twice_there_and_back() {
        let day = times(&event(["09:30", "14:00", "23:30", "00:15"]), &worked());
        assert_eq!(day.rides(&worked()), 4);
        assert_eq!(day.rides(&Worked { strike: 0, ..worked() }), 2);
        // Set at 12:00, struck from 13:00, forty minutes away: they stay.
        let short = times(&event(["09:30", "12:00", "13:00", "13:00"]), &worked());
        assert_eq!((short.comes_home(&worked()), short.rides(&worked())), (false, 2));
    }

    #[test]
    fn hours_nobody_said_are_assumed_and_named() {
        let none = times(&event(["", "", "", ""]), &worked());
        assert_eq!((none.on_site, none.set_by), (moment("2026-05-16T09:30"), moment("2026-05-16T12:00")));
        assert_eq!(none.strike_from, moment("2026-05-16T17:00"));
        assert_eq!(none.assumed, ["set-up", "start", "strike"]);
        let set_up = times(&event(["15:00", "", "22:00", ""]), &worked());
        assert_eq!(
            (set_up.set_by, set_up.strike_from),
            (moment("2026-05-16T17:30"), moment("2026-05-16T22:00"))
        );
        assert_eq!(set_up.assumed, ["start"]);
    }

    proptest! {
        /// Whatever is known, the day runs forward from loading to setting and from striking to the return.
        #[test]
        fn the_day_runs_forward(
            hours in prop::array::uniform4(prop::option::of((0_i8..24, 0_i8..60))),
            typed in prop::array::uniform4(prop::option::of(0_i64..5_000)),
            crew in 1_i64..9, pieces in 0_i64..500,
        ) {
            let said = hours.map(|time| time.map(|(h, m)| format!("{h:02}:{m:02}")).unwrap_or_default());
            let [load_minutes, drive_minutes, set_minutes, strike_minutes] = typed;
            let crew = Some(crew);
            let work = EventWork { version: 1, load_minutes, drive_minutes, set_minutes, strike_minutes, crew };
            let worked = work.worked(pieces);
            let times = times(&event([&said[0], &said[1], &said[2], &said[3]]), &worked);
            prop_assert!(times.load_from <= times.leave && times.leave <= times.on_site);
            prop_assert!(times.on_site <= times.set_by && times.set_by <= times.strike_from);
            prop_assert!(times.strike_from <= times.off_site && times.off_site <= times.back);
        }
    }
}
