//! The form of how the studio stands its stems.

use serde::Deserialize;

use super::pails::PailRule;
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// More than this of anything is a slip of the finger.
const MOST: i64 = 10_000;

/// Stems a pail, litres a pail, and pails in the cooler, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PailForm {
    pub version: String,
    pub small: String,
    pub medium: String,
    pub large: String,
    pub foliage: String,
    pub litres: String,
    pub cooler: String,
}

impl PailForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(rule: &PailRule, formats: &Formats) -> PailForm {
        PailForm {
            version: rule.version.to_string(),
            small: rule.small.to_string(),
            medium: rule.medium.to_string(),
            large: rule.large.to_string(),
            foliage: rule.foliage.to_string(),
            litres: formats.quantity(rule.litres),
            cooler: rule.cooler.map_or_else(String::new, |pails| pails.to_string()),
        }
    }

    /// Reads the form: a rule, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<PailRule, FieldErrors> {
        let mut c = Checker::new(formats);
        let rule = PailRule {
            version: 0,
            small: c.whole("small", &self.small, 1..=MOST),
            medium: c.whole("medium", &self.medium, 1..=MOST),
            large: c.whole("large", &self.large, 1..=MOST),
            foliage: c.whole("foliage", &self.foliage, 1..=MOST),
            litres: c.quantity("litres", &self.litres),
            cooler: c.whole_or_none("cooler", &self.cooler, 0..=MOST),
        };
        c.done(rule)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &PailForm) -> Vec<Difference> {
        differences(&[
            ("Small heads a pail", &self.small, &theirs.small),
            ("Medium heads a pail", &self.medium, &theirs.medium),
            ("Large heads a pail", &self.large, &theirs.large),
            ("Foliage a pail", &self.foliage, &theirs.foliage),
            ("Litres a pail", &self.litres, &theirs.litres),
            ("Pails in the cooler", &self.cooler, &theirs.cooler),
        ])
    }
}
