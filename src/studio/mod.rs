//! The studio itself: who it is and how it reckons. First of the stages, since every later one reads it
//! (its page stands among the desk's in the menu, but its table is needed from the start).
//! May import `ground`, `db`, `web`.

pub mod backups;
pub mod forms;
pub mod pages;
pub mod people;
pub mod record_pages;
pub mod store;
pub mod visit;

use iso_currency::Currency;
use jiff::tz::TimeZone;

use crate::ground::choice::choices;
use crate::ground::dates::Day;
use crate::ground::formats::{DateStyle, Formats};
use crate::ground::ids::{LogoId, TaxRateId};
use crate::ground::money::Money;
use crate::ground::quantity::{Factor, LengthUnit, Share};

choices! {
    /// The paper in the printer.
    Paper {
        /// 210 × 297 mm.
        A4 "a4" "A4"
        /// 8.5 × 11 in.
        Letter "letter" "US Letter"
    }
}

choices! {
    /// How labour enters a price.
    LabourRule {
        /// Minutes at a rate an hour.
        Minutes "minutes" "Minutes at a rate"
        /// A share of the flowers' price.
        Share "share" "A share of the flowers' price"
    }
}

choices! {
    /// Which way a price is brought to the studio's step.
    RoundingDirection {
        /// Always up.
        Up "up" "Always up"
        /// To the nearest, half up.
        Nearest "nearest" "To the nearest"
    }
}

choices! {
    /// How spares are reckoned.
    AllowanceRule {
        /// Enough good stems with the wanted assurance.
        Assured "assured" "So that enough are good"
        /// Need ÷ (1 − loss), rounded up.
        Flat "flat" "Flat: need ÷ (1 − loss)"
    }
}

/// The studio's settings.
#[derive(Debug, Clone)]
pub struct Studio {
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// Its name, on every paper.
    pub name: String,
    /// Postal address, several lines.
    pub address: String,
    /// Where clients write.
    pub email: String,
    /// Where clients ring.
    pub phone: String,
    /// Tax number printed on quotes, if it has one.
    pub tax_number: String,
    /// Terms printed under a new quote.
    pub terms: String,
    /// What a new quote begins with.
    pub greeting: String,
    /// How a client accepts; empty for the usual sentence.
    pub accept_words: String,
    /// How a quote ends.
    pub closing: String,
    /// Its sign, on every paper for clients. Not among the settings' own fields: it has a page of its own.
    pub logo: Option<LogoId>,
    /// How money, lengths and days are written.
    pub formats: Formats,
    /// The paper in the printer.
    pub paper: Paper,
    /// Where its days begin and end.
    pub zone: TimeZone,
    /// Mark-ups by kind.
    pub markups: Markups,
    /// How labour enters a price.
    pub labour: Labour,
    /// How a computed price is rounded.
    pub rounding: PriceRounding,
    /// How spares are reckoned.
    pub allowance_rule: AllowanceRule,
    /// Loss where a material says nothing of its own.
    pub loss: Share,
    /// The chance that enough stems are good.
    pub assurance: Share,
    /// Whether a new quote's prices include tax.
    pub prices_include_tax: bool,
    /// Whether a quote's papers say how many stems are in each piece, unless its sender chooses otherwise.
    pub stems_on_paper: bool,
    /// How many seconds the plan of a stem order may take, 1 to 120.
    pub plan_seconds: i64,
}

/// Price ÷ cost, by kind of material.
#[derive(Debug, Clone, Copy)]
pub struct Markups {
    /// Flowers and foliage.
    pub fresh: Factor,
    /// Vessels, stands, candles that stay.
    pub hard_goods: Factor,
    /// Mechanics and sundries.
    pub sundries: Factor,
}

/// How labour enters a price; the cost of labour is always minutes at the rate.
#[derive(Debug, Clone, Copy)]
pub struct Labour {
    /// Which rule.
    pub rule: LabourRule,
    /// An hour's cost.
    pub rate: Money,
    /// Share of the flowers' price, for that rule.
    pub share: Share,
}

/// The step to which computed prices are brought.
#[derive(Debug, Clone, Copy)]
pub struct PriceRounding {
    /// At least one minor unit.
    pub step: Money,
    /// Which way.
    pub direction: RoundingDirection,
}

/// A tax rate that quotes may use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaxRate {
    /// Its identity.
    pub id: TaxRateId,
    /// Its name ("Standard").
    pub name: String,
    /// Its rate.
    pub rate: Share,
}

impl Studio {
    /// What a new book begins with. Mark-ups and labour are the trade's rules of thumb
    /// (common practice, no published source).
    #[must_use]
    pub fn new_book() -> Studio {
        Studio {
            version: 1,
            name: "My studio".into(),
            address: String::new(),
            email: String::new(),
            phone: String::new(),
            tax_number: String::new(),
            terms: String::new(),
            greeting: String::new(),
            accept_words: String::new(),
            closing: String::new(),
            logo: None,
            formats: Formats {
                currency: Currency::EUR,
                length_unit: LengthUnit::Centimetre,
                date_style: DateStyle::DayMonthYear,
            },
            paper: Paper::A4,
            zone: TimeZone::UTC,
            markups: Markups {
                fresh: Factor::from_raw(3_500),
                hard_goods: Factor::from_raw(2_500),
                sundries: Factor::from_raw(2_500),
            },
            labour: Labour {
                rule: LabourRule::Minutes,
                rate: Money::from_minor(3_000),
                share: Share::from_raw(250_000),
            },
            rounding: PriceRounding { step: Money::from_minor(50), direction: RoundingDirection::Up },
            allowance_rule: AllowanceRule::Assured,
            loss: Share::from_raw(50_000),
            assurance: Share::from_raw(950_000),
            prices_include_tax: false,
            stems_on_paper: false,
            plan_seconds: 10,
        }
    }

    /// The name of its time zone, as the IANA database has it.
    #[must_use]
    pub fn zone_name(&self) -> &str {
        self.zone.iana_name().unwrap_or("UTC")
    }

    /// A day with its weekday, by the studio's style.
    #[must_use]
    pub fn weekday(&self, day: Day) -> String {
        self.formats.weekday(day)
    }
}
