//! The form of an acceptance: who, when, how.

use serde::Deserialize;

use super::answer::day_of_answer;
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
        let typed = ("accepted_on", self.accepted_on.as_str());
        let on = day_of_answer((&mut c, formats), typed, (version, today), "accepted");
        let acceptance = Acceptance {
            on,
            by: c.name("accepted_by", &self.accepted_by, "who accepted it"),
            how: c.line("how", &self.how),
        };
        c.done(acceptance)
    }
}
