//! The form of a decline: who, when, what they said.

use serde::Deserialize;

use super::answer::day_of_answer;
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
        let typed = ("declined_on", self.declined_on.as_str());
        let on = day_of_answer((&mut c, formats), typed, (version, today), "declined");
        let decline = Decline {
            on,
            by: c.name("declined_by", &self.declined_by, "who declined it"),
            reason: c.line("reason", &self.reason),
        };
        c.done(decline)
    }
}
