//! The form of what an event takes beside the making.

use serde::Deserialize;

use super::EventWork;
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// More person-minutes than this is a slip of the finger: a week of ten people.
const MOST_MINUTES: i64 = 30_000;
/// A longer drive than a day is no van's.
const MOST_DRIVE: i64 = 1_440;
/// More hands than this is a slip of the finger.
const MOST_CREW: i64 = 50;

/// Minutes and crew, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct EventWorkForm {
    pub version: String,
    pub load: String,
    pub drive: String,
    pub set: String,
    pub strike: String,
    pub crew: String,
}

impl EventWorkForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(work: &EventWork) -> EventWorkForm {
        let typed = |minutes: Option<i64>| minutes.map(|minutes| minutes.to_string()).unwrap_or_default();
        EventWorkForm {
            version: work.version.to_string(),
            load: typed(work.load_minutes),
            drive: typed(work.drive_minutes),
            set: typed(work.set_minutes),
            strike: typed(work.strike_minutes),
            crew: typed(work.crew),
        }
    }

    /// Reads the form: what was typed, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<EventWork, FieldErrors> {
        let mut c = Checker::new(formats);
        let work = EventWork {
            version: 0,
            load_minutes: c.whole_or_none("load", &self.load, 0..=MOST_MINUTES),
            drive_minutes: c.whole_or_none("drive", &self.drive, 0..=MOST_DRIVE),
            set_minutes: c.whole_or_none("set", &self.set, 0..=MOST_MINUTES),
            strike_minutes: c.whole_or_none("strike", &self.strike, 0..=MOST_MINUTES),
            crew: c.whole_or_none("crew", &self.crew, 1..=MOST_CREW),
        };
        c.done(work)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &EventWorkForm) -> Vec<Difference> {
        differences(&[
            ("Loading", &self.load, &theirs.load),
            ("Drive, one way", &self.drive, &theirs.drive),
            ("Setting up", &self.set, &theirs.set),
            ("Striking", &self.strike, &theirs.strike),
            ("Crew", &self.crew, &theirs.crew),
        ])
    }
}
