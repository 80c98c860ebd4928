//! The forms of the calendar: the days of a file, and when the reader's calendar rings.

use serde::Deserialize;

use super::{Covered, Feed};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// A file covers so many days at first.
const USUAL_DAYS: i64 = 91;
/// A file covers so many days at most.
pub const MOST_DAYS: i64 = 800;

/// The days of a file, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct SpanForm {
    /// The first day.
    pub from: String,
    /// The last day.
    pub to: String,
}

impl SpanForm {
    /// What the form begins with.
    #[must_use]
    pub fn usual(today: Day) -> SpanForm {
        SpanForm { from: today.to_string(), to: today.plus(USUAL_DAYS).to_string() }
    }

    /// Reads the form: the days, or every message. A day left empty is the usual one.
    pub fn parse(&self, today: Day, formats: &Formats) -> Result<Covered, FieldErrors> {
        let mut c = Checker::new(formats);
        let from = c.day_or_none("from", &self.from).unwrap_or(today);
        let typed = c.day_or_none("to", &self.to);
        let to = typed.unwrap_or_else(|| from.plus(USUAL_DAYS));
        let covered = c.done(Covered { from, to })?;
        if to < from {
            return Err(FieldErrors::one("to", "The last day lies before the first."));
        }
        if to.days_after(from) > MOST_DAYS {
            return Err(FieldErrors::one("to", format!("A file covers at most {MOST_DAYS} days.")));
        }
        Ok(covered)
    }
}

/// When the reader's calendar rings, in minutes before orders close; empty for never.
pub const REMINDERS: [(&str, &str); 6] = [
    ("", "Never"),
    ("30", "Half an hour before"),
    ("60", "An hour before"),
    ("180", "Three hours before"),
    ("1440", "A day before"),
    ("2880", "Two days before"),
];

/// When it rings, as chosen.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct ReminderForm {
    /// The version that was seen; empty where the calendar was never used.
    pub version: String,
    /// Minutes, or empty.
    pub reminder: String,
}

impl ReminderForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(feed: Option<&Feed>) -> ReminderForm {
        let reminder = feed.and_then(|feed| feed.reminder);
        ReminderForm {
            version: feed.map_or(1, |feed| feed.version).to_string(),
            reminder: reminder.map(|minutes| minutes.to_string()).unwrap_or_default(),
        }
    }

    /// Reads the form: minutes, or a message.
    pub fn parse(&self) -> Result<Option<i64>, FieldErrors> {
        let known = REMINDERS.iter().any(|(code, _)| *code == self.reminder);
        if known {
            Ok(self.reminder.parse().ok())
        } else {
            Err(FieldErrors::one("reminder", "Choose one of these."))
        }
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &ReminderForm) -> Vec<Difference> {
        differences(&[("It rings", self.words(), theirs.words())])
    }

    fn words(&self) -> &'static str {
        REMINDERS.iter().find(|(code, _)| *code == self.reminder).map_or("", |(_, words)| words)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn read(from: &str, to: &str) -> Result<Covered, FieldErrors> {
        let form = SpanForm { from: from.into(), to: to.into() };
        form.parse("2026-05-04".parse().unwrap(), &Studio::new_book().formats)
    }

    #[test]
    fn a_file_covers_three_months_from_today_unless_other_days_are_asked() {
        let usual = read("", "").unwrap();
        assert_eq!(
            (usual.from.to_string(), usual.to.to_string()),
            ("2026-05-04".into(), "2026-08-03".into())
        );
        let asked = read("2026-06-01", "2026-06-01").unwrap();
        assert_eq!(asked.to.days_after(asked.from), 0);
    }

    #[test]
    fn days_that_make_no_span_are_refused() {
        assert_eq!(
            read("2026-06-02", "2026-06-01").unwrap_err().of("to"),
            Some("The last day lies before the first.")
        );
        assert!(read("2026-06-01", "2036-06-01").unwrap_err().of("to").is_some());
        let both = read("June", "2199-13-01").unwrap_err();
        assert!(both.of("from").is_some() && both.of("to").is_some());
    }

    #[test]
    fn only_what_is_offered_can_be_chosen() {
        let chosen = |reminder: &str| ReminderForm { version: "1".into(), reminder: reminder.into() };
        assert_eq!(chosen("").parse().unwrap(), None);
        assert_eq!(chosen("180").parse().unwrap(), Some(180));
        assert!(chosen("181").parse().unwrap_err().of("reminder").is_some());
        let rows = chosen("60").differences(&chosen(""));
        assert_eq!((rows[0].yours.as_str(), rows[0].theirs.as_str()), ("An hour before", "Never"));
    }
}
