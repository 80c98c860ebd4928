//! The form of a decline: who, when, what they said.

use serde::Deserialize;

use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::quotes::{Decline, Version};
use crate::web::forms::{Checker, FieldErrors};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct DeclineForm {
    pub declined_by: String,
    pub declined_on: String,
    pub reason: String,
}

impl DeclineForm {
    /// Reads the form: a decline of a version, or every message.
    pub fn parse(&self, formats: &Formats, version: &Version, today: Day) -> Result<Decline, FieldErrors> {
        let mut c = Checker::new(formats);
        let on = c.day("declined_on", &self.declined_on);
        if self.declined_on.parse::<Day>().is_ok() && on < version.sent_on {
            let sent = formats.day(version.sent_on);
            c.refuse("declined_on", format!("It was sent on {sent}; it cannot have been declined before."));
        }
        if on > today {
            c.refuse("declined_on", "That day is still to come. Write the day on which they said so.");
        }
        let decline = Decline {
            on,
            by: c.name("declined_by", &self.declined_by, "who declined it"),
            reason: c.line("reason", &self.reason),
        };
        c.done(decline)
    }
}
