//! How warm flowers stand on their way: a setting of the studio, and a temperature of its own for a hot marquee.
//!
//! May import: `ground`, types of the price list.

use super::ageing::TENDER_FROM;
use crate::ground::quantity::Factor;
use crate::price_list::Care;

/// The cooler where neither the studio nor the material says how cold. Our own assumption.
pub const USUAL_COOLER: i64 = 4;

/// The lowest and the highest temperature that is believed, in °C.
pub const BELIEVED: std::ops::RangeInclusive<i64> = -5..=45;

/// The way's temperatures in whole °C.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Temperatures {
    /// Counts saves; 0 where nothing was typed.
    pub version: i64,
    /// The cooler; none where each material stands at its own storage temperature.
    pub cooler: Option<i64>,
    /// The bench, and the room in which buds open.
    pub bench: i64,
    /// Finished pieces until they are loaded; none where they stand at the bench.
    pub finished: Option<i64>,
    /// The van.
    pub van: i64,
    /// The venue.
    pub venue: i64,
    /// The factor by which 10 degrees more speed up ageing, where nothing is known of a material.
    pub q10: Factor,
}

impl Temperatures {
    /// What holds where nothing was typed: our own assumptions, no published source. A Q10 of 2 is the lower end of what
    /// van 't Hoff's rule gives (2 to 3; from memory).
    pub const USUAL: Temperatures = Temperatures {
        version: 0,
        cooler: None,
        bench: 18,
        finished: None,
        van: 16,
        venue: 21,
        q10: Factor::from_raw(2_000),
    };

    /// How cold a material stands in the cooler. What cold harms stands apart, at its own temperature.
    #[must_use]
    pub fn cooler_for(&self, care: &Care) -> i64 {
        match (care.storage_celsius, self.cooler) {
            (Some(own), _) if own >= TENDER_FROM => own,
            (_, Some(cooler)) => cooler,
            (Some(own), None) => own,
            (None, None) => USUAL_COOLER,
        }
    }

    /// How warm finished pieces stand.
    #[must_use]
    pub fn finished(&self) -> i64 {
        self.finished.unwrap_or(self.bench)
    }

    /// The same way to a venue with a temperature of its own.
    #[must_use]
    pub fn at_venue(self, celsius: Option<i64>) -> Temperatures {
        Temperatures { venue: celsius.unwrap_or(self.venue), ..self }
    }
}
