//! The form of an acceptance: who, when, how.

use serde::Deserialize;

use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::quotes::{Acceptance, Version};
use crate::web::forms::{Checker, FieldErrors};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct AcceptanceForm {
    pub accepted_by: String,
    pub accepted_on: String,
    pub how: String,
}

impl AcceptanceForm {
    /// Reads the form: an acceptance of a version, or every message.
    pub fn parse(&self, formats: &Formats, version: &Version, today: Day) -> Result<Acceptance, FieldErrors> {
        let mut c = Checker::new(formats);
        let on = c.day("accepted_on", &self.accepted_on);
        if self.accepted_on.parse::<Day>().is_ok() && on < version.sent_on {
            let sent = formats.day(version.sent_on);
            c.refuse("accepted_on", format!("It was sent on {sent}; it cannot have been accepted before."));
        }
        if on > today {
            c.refuse("accepted_on", "That day is still to come. Write the day on which they said so.");
        }
        let acceptance = Acceptance {
            on,
            by: c.name("accepted_by", &self.accepted_by, "who accepted it"),
            how: c.line("how", &self.how),
        };
        c.done(acceptance)
    }
}
