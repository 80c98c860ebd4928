//! Quantities that carry their unit in the type: counts of stems in thousandths, lengths in micrometres,
//! shares in parts per million, factors in thousandths. All exact; a decimal inside a calculation.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::choice::choices;

macro_rules! scaled {
    ($($(#[$doc:meta])* $name:ident $scale:literal $of:literal)*) => {$(
        $(#[$doc])*
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize, sqlx::Type,
        )]
        #[sqlx(transparent)]
        #[serde(transparent)]
        pub struct $name(i64);

        impl $name {
            #[doc = concat!("From a whole number of ", $of, ".")]
            #[must_use]
            pub const fn from_raw(raw: i64) -> $name {
                $name(raw)
            }

            #[doc = concat!("The whole number of ", $of, ".")]
            #[must_use]
            pub const fn raw(self) -> i64 {
                self.0
            }

            /// The value as a decimal number, for calculating.
            #[must_use]
            pub fn decimal(self) -> Decimal {
                Decimal::new(self.0, $scale)
            }
        }
    )*};
}

scaled! {
    /// How many: 6.5 heads, 14 pieces.
    Quantity 3 "thousandths"
    /// A mark-up: price ÷ cost.
    Factor 3 "thousandths"
    /// A share of a whole: 5 % loss, 8.875 % tax.
    Share 6 "parts per million"
}

impl Quantity {
    /// A whole number.
    #[must_use]
    pub const fn whole(count: i64) -> Quantity {
        Quantity(count.saturating_mul(1000))
    }
}

/// A length in micrometres: an inch is exactly 25 400, a centimetre 10 000.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize, sqlx::Type,
)]
#[sqlx(transparent)]
#[serde(transparent)]
pub struct Length(i64);

impl Length {
    /// So many micrometres.
    #[must_use]
    pub const fn from_um(um: i64) -> Length {
        Length(um)
    }

    /// How many micrometres.
    #[must_use]
    pub const fn um(self) -> i64 {
        self.0
    }

    /// Micrometres as a decimal number, for calculating.
    #[must_use]
    pub fn decimal(self) -> Decimal {
        Decimal::from(self.0)
    }

    /// The number of whole inches or centimetres and their decimals.
    #[must_use]
    pub fn in_unit(self, unit: LengthUnit) -> Decimal {
        self.decimal() / Decimal::from(unit.um())
    }
}

choices! {
    /// The unit in which the studio measures.
    LengthUnit {
        /// Inches.
        Inch "in" "Inches"
        /// Centimetres.
        Centimetre "cm" "Centimetres"
    }
}

impl LengthUnit {
    /// Micrometres in one (the inch by international definition, 25.4 mm).
    #[must_use]
    pub const fn um(self) -> i64 {
        match self {
            LengthUnit::Inch => 25_400,
            LengthUnit::Centimetre => 10_000,
        }
    }

    /// Its symbol.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            LengthUnit::Inch => "in",
            LengthUnit::Centimetre => "cm",
        }
    }
}
