//! Who works when: people and hours a weekday, and days that are otherwise.
//!
//! Room of a day = people × minutes each + minutes of those who come for less; a day that is otherwise has so many instead,
//! or more, or fewer, never below nothing. Its hours begin when the weekday's shift begins and are as long as the longest of
//! its people's. Room is taken to be spread evenly over these hours.
//!
//! May import: `ground`, `jiff` civil times.

use jiff::civil::{DateTime, time};

use crate::ground::choice::choices;
use crate::ground::dates::{Day, TimeOfDay};
use crate::prep::event_work::times::later;

/// When a shift begins where nobody says. Common practice, no published source.
pub const BEGINS: TimeOfDay = TimeOfDay(time(8, 0, 0, 0));
/// How long a day is on which only some come for less than a shift (minutes). Common practice, no published source.
const USUAL_LENGTH: i64 = 10 * 60;

choices! {
    /// How a day is otherwise.
    Otherwise {
        /// So many people instead of the usual.
        Instead "instead" "instead of the usual"
        /// So many people more.
        More "more" "more"
        /// So many people fewer.
        Fewer "fewer" "fewer"
    }
}

/// The shift of a weekday.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct WeekdayShift {
    /// When it begins.
    pub begins: TimeOfDay,
    /// How many people.
    pub people: i64,
    /// Minutes of each.
    pub minutes: i64,
    /// Person-minutes of those who come for less.
    pub more_minutes: i64,
}

/// A day that is otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Exception {
    /// Which day.
    pub day: Day,
    /// How.
    pub kind: Otherwise,
    /// How many people.
    pub people: i64,
    /// Minutes of each.
    pub minutes: i64,
    /// Why.
    pub note: String,
}

/// Who works when.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash)]
pub struct Shifts {
    /// By weekday, Monday first; nobody has said anything where all are none.
    pub week: [Option<WeekdayShift>; 7],
    /// Days that are otherwise.
    pub exceptions: Vec<Exception>,
}

/// The shift of one day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayShift {
    /// When it begins.
    pub from: DateTime,
    /// When it ends.
    pub until: DateTime,
    /// Person-minutes.
    pub minutes: i64,
}

impl Shifts {
    /// Whether anybody has said who works when.
    #[must_use]
    pub fn are_known(&self) -> bool {
        self.week.iter().any(Option::is_some)
    }

    /// The shift of a day.
    ///
    /// ```
    /// use trug::prep::bench_plan::shifts::{BEGINS, Exception, Otherwise, Shifts, WeekdayShift};
    /// let usual = WeekdayShift { begins: BEGINS, people: 2, minutes: 480, more_minutes: 120 };
    /// let day = "2026-05-15".parse().unwrap();
    /// let ill = Exception { day, kind: Otherwise::Fewer, people: 1, minutes: 480, note: String::new() };
    /// let mut shifts = Shifts { week: [Some(usual); 7], exceptions: Vec::new() };
    /// assert_eq!(shifts.day(day).minutes, 2 * 480 + 120);
    /// shifts.exceptions.push(ill);
    /// assert_eq!(shifts.day(day).minutes, 480 + 120);
    /// assert_eq!(shifts.day(day).until.to_string(), "2026-05-15T16:00:00");
    /// ```
    #[must_use]
    pub fn day(&self, day: Day) -> DayShift {
        let usual = self.week[usize::from(day.weekday_index())];
        let begins = usual.map_or(BEGINS, |shift| shift.begins);
        let own = || self.exceptions.iter().filter(move |exception| exception.day == day);
        let all = |kind: Otherwise| {
            let some = own().filter(move |exception| exception.kind == kind);
            some.fold(0_i64, |sum, one| sum.saturating_add(one.people.saturating_mul(one.minutes)))
        };
        let instead = own().any(|exception| exception.kind == Otherwise::Instead);
        let regular = usual
            .filter(|_| !instead)
            .map_or(0, |shift| shift.people.saturating_mul(shift.minutes).saturating_add(shift.more_minutes));
        let sum = regular.saturating_add(all(Otherwise::Instead)).saturating_add(all(Otherwise::More));
        let coming = own().filter(|exception| exception.kind != Otherwise::Fewer && exception.people > 0);
        let longest = coming.map(|exception| exception.minutes).max();
        let regular_length = usual.filter(|shift| !instead && shift.people > 0).map(|shift| shift.minutes);
        let length = longest.max(regular_length).filter(|minutes| *minutes > 0).unwrap_or(USUAL_LENGTH);
        let from = day.0.to_datetime(begins.0);
        let minutes = (sum - all(Otherwise::Fewer)).max(0);
        DayShift { from, until: later(from, length.min(24 * 60)), minutes }
    }

    /// The shift of a day in words: `2 × 8 h + 2 h, from 08:00; 1 × 8 h fewer: Corin is away`.
    #[must_use]
    pub fn words(&self, day: Day) -> String {
        let exceptions: Vec<&Exception> = self.exceptions.iter().filter(|one| one.day == day).collect();
        let instead = exceptions.iter().any(|one| one.kind == Otherwise::Instead);
        let mut words = Vec::new();
        if let Some(usual) = self.week[usize::from(day.weekday_index())].filter(|_| !instead) {
            words.push(usual.words());
        }
        words.extend(exceptions.into_iter().map(Exception::words));
        if words.is_empty() { "nobody works".into() } else { words.join("; ") }
    }
}

impl WeekdayShift {
    /// `2 × 8 h + 2 h, from 08:00`.
    #[must_use]
    pub fn words(&self) -> String {
        let more = match self.more_minutes {
            0 => String::new(),
            minutes => format!(" + {}", hours_words(minutes)),
        };
        if self.people == 0 && self.more_minutes == 0 {
            return "nobody works".into();
        }
        format!("{} × {}{more}, from {}", self.people, hours_words(self.minutes), self.begins)
    }
}

impl Exception {
    fn words(&self) -> String {
        let kind = match self.kind {
            Otherwise::Instead => "",
            Otherwise::More => " more",
            Otherwise::Fewer => " fewer",
        };
        let note = if self.note.is_empty() { String::new() } else { format!(" ({})", self.note) };
        match (self.people, self.kind) {
            (0, Otherwise::Instead) => format!("nobody works{note}"),
            (people, _) => format!("{people} × {}{kind}{note}", hours_words(self.minutes)),
        }
    }
}

/// `6 h 35 min`.
#[must_use]
pub fn hours_words(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn exception(kind: Otherwise, people: i64, minutes: i64) -> Exception {
        Exception { day: day("2026-05-15"), kind, people, minutes, note: "Whitsun".into() }
    }

    #[test]
    fn a_day_may_be_otherwise_in_three_ways_and_is_never_below_nothing() {
        let usual = WeekdayShift { begins: BEGINS, people: 2, minutes: 480, more_minutes: 0 };
        let with = |exceptions| Shifts { week: [Some(usual); 7], exceptions };
        let friday = day("2026-05-15");
        let longer = with(vec![exception(Otherwise::More, 1, 600)]);
        assert_eq!((longer.day(friday).minutes, longer.day(friday).until.hour()), (1_560, 18));
        assert_eq!(longer.words(friday), "2 × 8 h, from 08:00; 1 × 10 h more (Whitsun)");
        assert_eq!(with(vec![exception(Otherwise::Fewer, 5, 480)]).day(friday).minutes, 0);
        let closed = with(vec![exception(Otherwise::Instead, 0, 0)]);
        assert_eq!((closed.day(friday).minutes, closed.day(day("2026-05-14")).minutes), (0, 960));
        assert_eq!(closed.words(friday), "nobody works (Whitsun)");
        assert!(!Shifts::default().are_known());
    }
}
