//! Weights: whole grams, written in kilograms or, where the studio measures in inches, in pounds.
//! May import this room's values only.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};

use super::formats::{Formats, read_decimal};
use super::quantity::LengthUnit;

/// A weight in whole grams.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize, sqlx::Type,
)]
#[sqlx(transparent)]
#[serde(transparent)]
pub struct Weight(i64);

/// Grams in a kilogram.
const KILOGRAM: Decimal = Decimal::from_parts(1_000, 0, 0, false, 0);
/// Grams in a pound: exactly 453.59237 (NIST SP 811, Appendix B).
const POUND: Decimal = Decimal::from_parts(45_359_237, 0, 0, false, 5);
/// More than a hundred tonnes is a slip of the finger.
const MOST_GRAMS: i64 = 100_000_000;

impl Weight {
    /// So many grams.
    #[must_use]
    pub const fn from_grams(grams: i64) -> Weight {
        Weight(grams)
    }

    /// How many grams.
    #[must_use]
    pub const fn grams(self) -> i64 {
        self.0
    }

    /// Kilograms as a decimal number, for calculating.
    #[must_use]
    pub fn kilograms(self) -> Decimal {
        Decimal::from(self.0) / KILOGRAM
    }

    /// Kilograms in whole grams, rounded up: nobody lifts less than is there.
    ///
    /// ```
    /// use rust_decimal::Decimal;
    /// use trug::ground::weight::Weight;
    /// assert_eq!(Weight::of_kilograms(Decimal::new(12_041, 4)), Weight::from_grams(1_205));
    /// ```
    #[must_use]
    pub fn of_kilograms(kilograms: Decimal) -> Weight {
        let grams = kilograms.checked_mul(KILOGRAM).map(|grams| grams.ceil());
        Weight(grams.and_then(|grams| grams.to_i64()).unwrap_or(i64::MAX))
    }

    /// The weight so many times.
    #[must_use]
    pub const fn times(self, count: i64) -> Weight {
        Weight(self.0.saturating_mul(count))
    }

    /// Both together.
    #[must_use]
    pub const fn plus(self, other: Weight) -> Weight {
        Weight(self.0.saturating_add(other.0))
    }
}

impl Formats {
    /// The unit in which weights are written.
    #[must_use]
    pub const fn weight_symbol(&self) -> &'static str {
        match self.length_unit {
            LengthUnit::Centimetre => "kg",
            LengthUnit::Inch => "lb",
        }
    }

    /// A weight with its unit, to a tenth: `12.4 kg`.
    #[must_use]
    pub fn weight(&self, weight: Weight) -> String {
        let number = self.in_weight_unit(weight).round_dp(1).normalize();
        format!("{number}\u{a0}{}", self.weight_symbol())
    }

    /// A weight as a form field holds it, to a thousandth.
    #[must_use]
    pub fn weight_input(&self, weight: Weight) -> String {
        self.in_weight_unit(weight).round_dp(3).normalize().to_string()
    }

    fn in_weight_unit(self, weight: Weight) -> Decimal {
        let unit = match self.length_unit {
            LengthUnit::Centimetre => KILOGRAM,
            LengthUnit::Inch => POUND,
        };
        Decimal::from(weight.0) / unit
    }

    /// Reads a weight above nothing, rounded to whole grams: `12`, `12.5 kg`, `51 lb`, `800 g`. A number alone is in the
    /// studio's unit.
    ///
    /// # Errors
    /// A sentence for the field.
    ///
    /// ```
    /// use trug::ground::weight::Weight;
    /// use trug::studio::Studio;
    /// let formats = Studio::new_book().formats;
    /// assert_eq!(formats.read_weight("12.5"), Ok(Weight::from_grams(12_500)));
    /// assert_eq!(formats.read_weight("51 lb"), Ok(Weight::from_grams(23_133)));
    /// assert!(formats.read_weight("0").is_err() && formats.read_weight("heavy").is_err());
    /// ```
    pub fn read_weight(&self, text: &str) -> Result<Weight, String> {
        let text = text.trim().to_lowercase();
        let units = [("kg", KILOGRAM), ("lb", POUND), ("g", Decimal::ONE)];
        let named =
            units.iter().find_map(|(name, grams)| Some((text.strip_suffix(name)?.trim_end(), *grams)));
        let own = if self.length_unit == LengthUnit::Inch { POUND } else { KILOGRAM };
        let (number, unit) = named.unwrap_or((text.as_str(), own));
        let example = format!("Write a weight such as 12.5 {}.", self.weight_symbol());
        let grams = read_decimal(number).map_err(|_| example.clone())?.checked_mul(unit).ok_or(example)?;
        match grams.round().to_i64().filter(|grams| *grams <= MOST_GRAMS) {
            Some(grams) if grams >= 1 => Ok(Weight(grams)),
            Some(_) => Err("A weight is more than nothing.".into()),
            None => Err("A weight of more than 100 tonnes cannot be right.".into()),
        }
    }
}

#[cfg(test)]
mod tests {
    use iso_currency::Currency;

    use super::*;
    use crate::ground::formats::DateStyle;

    fn formats(length_unit: LengthUnit) -> Formats {
        Formats { currency: Currency::EUR, length_unit, date_style: DateStyle::Iso }
    }

    #[test]
    fn weights_are_written_in_the_studio_s_unit_and_read_back() {
        let (metric, inches) = (formats(LengthUnit::Centimetre), formats(LengthUnit::Inch));
        let limit = Weight::from_grams(23_000);
        assert_eq!(
            (metric.weight(limit), inches.weight(limit)),
            ("23\u{a0}kg".into(), "50.7\u{a0}lb".into())
        );
        for formats in [metric, inches] {
            assert_eq!(formats.read_weight(&formats.weight_input(limit)), Ok(limit));
        }
        assert_eq!(inches.read_weight("800 g"), Ok(Weight::from_grams(800)));
    }

    #[test]
    fn what_is_no_weight_is_refused() {
        let formats = formats(LengthUnit::Centimetre);
        for wrong in ["", "-1", "0", "0.0001", "1e9", "1000000000", "kg", "NaN", "<b>"] {
            assert!(formats.read_weight(wrong).is_err(), "{wrong}");
        }
        assert_eq!(Weight::of_kilograms(Decimal::MAX), Weight::from_grams(i64::MAX));
    }
}
