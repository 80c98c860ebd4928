//! The forms of the way's temperatures and of one venue's.

use serde::Deserialize;

use super::temperatures::{BELIEVED, Temperatures};
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// The way's temperatures, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct TemperaturesForm {
    pub version: String,
    pub cooler: String,
    pub bench: String,
    pub finished: String,
    pub van: String,
    pub venue: String,
    pub q10: String,
}

/// One venue's temperature, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct VenueForm {
    pub version: String,
    pub celsius: String,
}

impl TemperaturesForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(kept: &Temperatures, formats: &Formats) -> TemperaturesForm {
        let or_empty = |celsius: Option<i64>| celsius.map_or_else(String::new, |celsius| celsius.to_string());
        TemperaturesForm {
            version: kept.version.to_string(),
            cooler: or_empty(kept.cooler),
            bench: kept.bench.to_string(),
            finished: or_empty(kept.finished),
            van: kept.van.to_string(),
            venue: kept.venue.to_string(),
            q10: formats.factor_input(kept.q10),
        }
    }

    /// Reads the form: temperatures, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<Temperatures, FieldErrors> {
        let mut c = Checker::new(formats);
        let q10 = c.factor("q10", &self.q10);
        if formats.read_factor(&self.q10).is_ok() && !(1_000..=5_000).contains(&q10.raw()) {
            c.refuse("q10", "Write a factor from 1 to 5.");
        }
        let kept = Temperatures {
            version: 0,
            cooler: c.whole_or_none("cooler", &self.cooler, BELIEVED),
            bench: c.whole("bench", &self.bench, BELIEVED),
            finished: c.whole_or_none("finished", &self.finished, BELIEVED),
            van: c.whole("van", &self.van, BELIEVED),
            venue: c.whole("venue", &self.venue, BELIEVED),
            q10,
        };
        c.done(kept)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &TemperaturesForm) -> Vec<Difference> {
        differences(&[
            ("Cooler", &self.cooler, &theirs.cooler),
            ("Bench", &self.bench, &theirs.bench),
            ("Finished pieces", &self.finished, &theirs.finished),
            ("Van", &self.van, &theirs.van),
            ("Venue", &self.venue, &theirs.venue),
            ("Q10", &self.q10, &theirs.q10),
        ])
    }
}

impl VenueForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of((celsius, version): (Option<i64>, i64)) -> VenueForm {
        let celsius = celsius.map_or_else(String::new, |celsius| celsius.to_string());
        VenueForm { version: version.to_string(), celsius }
    }

    /// Reads the form: a temperature or none, or the message.
    pub fn parse(&self, formats: &Formats) -> Result<Option<i64>, FieldErrors> {
        let mut c = Checker::new(formats);
        let celsius = c.whole_or_none("celsius", &self.celsius, BELIEVED);
        c.done(celsius)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &VenueForm) -> Vec<Difference> {
        differences(&[("The venue's temperature", &self.celsius, &theirs.celsius)])
    }
}
