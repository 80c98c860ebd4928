//! The forms of reminders: putting one off, and the days on which the desk reminds.

use serde::Deserialize;

use super::{Mark, Rules};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// A reminder is put off for at most so long.
const LONGEST: i64 = 366;
/// A key is never longer.
const LONGEST_KEY: usize = 80;

/// Putting one off, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct MarkForm {
    pub key: String,
    /// Who saw to it.
    pub by: String,
    /// The day on which it is shown again.
    pub again_on: String,
    /// The event whose page it was pressed on, if on one.
    pub event: String,
}

impl MarkForm {
    /// Reads the form: a mark, or every message.
    ///
    /// # Errors
    /// A message a field.
    pub fn parse(&self, today: Day, formats: &Formats) -> Result<Mark, FieldErrors> {
        let mut c = Checker::new(formats);
        let again_on = c.day("again_on", &self.again_on);
        if c.is_fine("again_on") && !(1..=LONGEST).contains(&again_on.days_after(today)) {
            c.refuse("again_on", "Choose a day to come, within a year.");
        }
        if self.key.trim().is_empty() || self.key.len() > LONGEST_KEY {
            c.refuse("key", "This reminder is no more.");
        }
        let by = c.line("by", &self.by);
        c.done(Mark { key: self.key.trim().to_owned(), on: today, by, again_on })
    }
}

/// The days, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct RulesForm {
    pub version: String,
    pub unanswered: String,
    pub before_last: String,
    pub counts: String,
    pub before_due: String,
}

impl RulesForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(rules: &Rules) -> RulesForm {
        RulesForm {
            version: rules.version.to_string(),
            unanswered: rules.unanswered.to_string(),
            before_last: rules.before_last.to_string(),
            counts: rules.counts.to_string(),
            before_due: rules.before_due.to_string(),
        }
    }

    /// Reads the form: the days, or every message.
    ///
    /// # Errors
    /// A message a field.
    pub fn parse(&self, formats: &Formats) -> Result<Rules, FieldErrors> {
        let mut c = Checker::new(formats);
        let rules = Rules {
            version: 0,
            unanswered: c.whole("unanswered", &self.unanswered, 1..=365),
            before_last: c.whole("before_last", &self.before_last, 0..=365),
            counts: c.whole("counts", &self.counts, 0..=365),
            before_due: c.whole("before_due", &self.before_due, 0..=365),
        };
        c.done(rules)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &RulesForm) -> Vec<Difference> {
        differences(&[
            ("Unanswered for", &self.unanswered, &theirs.unanswered),
            ("Before a quote’s last day", &self.before_last, &theirs.before_last),
            ("Counts before the event", &self.counts, &theirs.counts),
            ("Before an invoice is due", &self.before_due, &theirs.before_due),
        ])
    }
}
