//! What is known of a material's ageing, and so how its life is reckoned:
//!
//! 1. a storage life longer than the vase life: both are points of its curve;
//! 2. else a published Q10 of its kind, from the vase life at 20 °C;
//! 3. else the studio's own Q10, an assumption. A storage life shorter than the vase life says how long a flower *may be
//!    stored*, not how fast it ages there, so it is held against the hours in the cooler instead (`estimate`).
//!
//! A material that is stored warm, since cold harms it, and keeps less long there than in a vase gets no curve at all: a
//! plain comparison of days. Without a vase life there is no estimate.
//!
//! May import: the room's curve, `ground`, types of the price list. Measured nature, so floating point.

use rust_decimal::prelude::ToPrimitive;

use super::curve::{LifeCurve, Point};
use crate::ground::quantity::Factor;
use crate::price_list::Care;
use crate::price_list::care_table::row_for;

/// The temperature of a vase life.
pub const ROOM_CELSIUS: f64 = 20.0;

/// What is stored at so many °C or more is a flower that cold harms: in Table 19.2 of *Crop Post-Harvest: Science and
/// Technology* (after Wills et al. 1998) these are anthurium (12 to 16 °C) and bird-of-paradise (7 to 10 °C).
pub const TENDER_FROM: i64 = 7;

/// A Q10 that was measured and published.
#[derive(Debug, PartialEq)]
pub struct PublishedQ10 {
    /// Of which flower, by the care table's name.
    pub item: &'static str,
    /// The factor.
    pub q10: f64,
    /// Between which temperatures, and where it stands.
    pub source: &'static str,
}

/// The Q10 that are published.
pub const PUBLISHED: [PublishedQ10; 2] = [
    PublishedQ10 { item: "rose", q10: 3.0, source: CELIKEL_REID },
    PublishedQ10 { item: "gypsophila", q10: 3.0, source: CELIKEL_REID },
];

const CELIKEL_REID: &str = "respiration between 0 and 10 °C, Celikel and Reid, Acta Horticulturae";

/// How a material's life is reckoned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ageing {
    /// Along a curve.
    Curve(LifeCurve, Basis),
    /// By days alone: cold harms it.
    Tender {
        /// Days at 20 °C.
        vase: f64,
        /// Days in storage.
        holding: f64,
    },
    /// Nobody says how long it lasts in a vase.
    NotSaid,
}

/// From what a curve comes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Basis {
    /// Vase life and storage life.
    TwoPoints,
    /// Vase life and a published Q10.
    Published(&'static PublishedQ10),
    /// Vase life and the studio's Q10.
    Assumed,
}

/// How the life of a material with this name and care is reckoned; `assumed` is the studio's Q10.
///
/// ```
/// use trug::ground::quantity::Factor;
/// use trug::prep::freshness::ageing::{Ageing, Basis, ageing};
/// use trug::price_list::{Care, CareSource};
/// let care = |holding_days, storage_celsius| Care {
///     conditioning_minutes: 0, hydrate_hours: 0, opening_days: 0, holding_days: Some(holding_days),
///     storage_celsius: Some(storage_celsius), vase_days: Some(8), cut_keeps_hours: None, source: CareSource::Own,
/// };
/// let two = Factor::from_raw(2_000);
/// let basis = |name, care| match ageing(name, &care, two) { Ageing::Curve(_, basis) => Some(basis), _ => None };
/// assert_eq!(basis("Stock, white", care(16, 2)), Some(Basis::TwoPoints));
/// assert!(matches!(basis("Garden rose, blush", care(4, 2)), Some(Basis::Published(known)) if known.q10 == 3.0));
/// assert_eq!(basis("Stock, white", care(4, 2)), Some(Basis::Assumed));
/// assert_eq!(ageing("Anthurium", &care(5, 13), two), Ageing::Tender { vase: 8.0, holding: 5.0 });
/// ```
#[must_use]
pub fn ageing(name: &str, care: &Care, assumed: Factor) -> Ageing {
    let days = |days: Option<i64>| days.and_then(|days| days.to_f64()).filter(|days| *days > 0.0);
    let Some(vase) = days(care.vase_days) else { return Ageing::NotSaid };
    let room = Point { celsius: ROOM_CELSIUS, days: vase };
    if let (Some(holding), Some(celsius)) = (days(care.holding_days), care.storage_celsius) {
        if holding < vase && celsius >= TENDER_FROM {
            return Ageing::Tender { vase, holding };
        }
        let stored = celsius.to_f64().map(|celsius| Point { celsius, days: holding });
        let longer = stored.filter(|stored| holding > vase && stored.celsius < ROOM_CELSIUS);
        if let Some(Ok(curve)) = longer.map(|stored| LifeCurve::through(room, stored)) {
            return Ageing::Curve(curve, Basis::TwoPoints);
        }
    }
    let item = row_for(name).map(|row| row.item.to_lowercase());
    let published = item.and_then(|item| PUBLISHED.iter().find(|known| known.item == item));
    let q10 = published.map_or_else(|| assumed.decimal().to_f64().unwrap_or(1.0), |known| known.q10);
    let basis = published.map_or(Basis::Assumed, Basis::Published);
    LifeCurve::with_q10(room, q10).map_or(Ageing::NotSaid, |curve| Ageing::Curve(curve, basis))
}

impl Ageing {
    /// Where the curve comes from, in words.
    #[must_use]
    pub fn words(&self, care: &Care) -> String {
        let vase = in_days(care.vase_days.unwrap_or(0));
        let stored = match (care.holding_days, care.storage_celsius) {
            (Some(days), Some(celsius)) => format!("{} at {celsius} °C", in_days(days)),
            (Some(days), None) => format!("{} in storage", in_days(days)),
            (None, _) => "no storage life".into(),
        };
        match self {
            Ageing::Curve(curve, Basis::TwoPoints) => {
                format!("{vase} at 20 °C and {stored}: a Q10 of {:.2}", curve.q10())
            }
            Ageing::Curve(curve, Basis::Published(known)) => format!(
                "{vase} at 20 °C, a Q10 of {} as published for {} ({}), taken to hold up to the venue",
                curve.q10(),
                known.item,
                known.source
            ),
            Ageing::Curve(curve, Basis::Assumed) => {
                let why = "no longer than that: how long it may be stored, not how fast it ages there";
                let stored = care.holding_days.map(|_| format!(" ({stored}, {why})")).unwrap_or_default();
                format!("{vase} at 20 °C{stored}, a Q10 of {}: the studio's assumption", curve.q10())
            }
            Ageing::Tender { .. } => format!(
                "{vase} at 20 °C, {stored}: cold harms it, so no ageing curve fits; its days are compared as they are"
            ),
            Ageing::NotSaid => "no vase life is in the price list, so there is no estimate".into(),
        }
    }
}

fn in_days(days: i64) -> String {
    if days == 1 { "1 day".into() } else { format!("{days} days") }
}
