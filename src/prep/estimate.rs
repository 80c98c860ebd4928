//! How many days a flower has left at the end of an event: an estimate from its vase life at 20 °C and its holding
//! life in the cooler, along a plain path: cooler until the morning it is made, then room temperature to the end.
//!
//! May import: this room's `freshness`, types of the price list. Measured nature, so floating point.
#![expect(clippy::float_arithmetic, reason = "ageing is measured nature; no money")]

use jiff::civil::DateTime;
use rust_decimal::prelude::ToPrimitive;

use super::freshness::{LifeCurve, Point, Stretch};
use super::plan::{BENCH_OPENS, IN_WATER_BY};
use crate::ground::dates::Day;
use crate::price_list::Care;

/// Room temperature of a vase life, and of the bench and the venue in this estimate.
const ROOM_CELSIUS: f64 = 20.0;

/// From the door to the last guest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Way {
    /// When it arrives.
    pub arrives: Day,
    /// When it is made up.
    pub made: Day,
    /// When the event ends.
    pub ends: DateTime,
}

/// Whole days left at room temperature at the end; 0 also where its life is over before. None without care data.
///
/// ```
/// use trug::prep::estimate::{Way, days_left};
/// use trug::price_list::{Care, CareSource};
/// let care = Care {
///     conditioning_minutes: 0, hydrate_hours: 0, opening_days: 0, holding_days: Some(10), storage_celsius: Some(2),
///     vase_days: Some(7), cut_keeps_hours: None, source: CareSource::Own,
/// };
/// let way = Way {
///     arrives: "2026-05-14".parse()?, made: "2026-05-15".parse()?, ends: "2026-05-16T23:00".parse()?,
/// };
/// // 22 h of 10 days, then 39 h of 7 days: 67.6 % is left, 4.7 days.
/// assert_eq!(days_left(&care, way), Some(4));
/// # Ok::<(), jiff::Error>(())
/// ```
#[must_use]
pub fn days_left(care: &Care, way: Way) -> Option<i64> {
    let vase = Point { celsius: ROOM_CELSIUS, days: care.vase_days?.to_f64()? };
    let cooler = Point { celsius: care.storage_celsius?.to_f64()?, days: care.holding_days?.to_f64()? };
    let curve = LifeCurve::through(vase, cooler).ok()?;
    let arrives = way.arrives.0.to_datetime(IN_WATER_BY.0);
    let made = way.made.0.to_datetime(BENCH_OPENS.0).max(arrives);
    let path = [
        Stretch { hours: hours(arrives, made)?, celsius: cooler.celsius },
        Stretch { hours: hours(made, way.ends)?, celsius: ROOM_CELSIUS },
    ];
    curve.days_left(&path, ROOM_CELSIUS).floor().to_i64()
}

fn hours(from: DateTime, to: DateTime) -> Option<f64> {
    Some((to.duration_since(from).as_secs().to_f64()? / 3600.0).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::price_list::CareSource;

    #[test]
    fn without_care_data_there_is_no_estimate_and_an_old_flower_has_nothing_left() {
        let day = |text: &str| text.parse::<Day>().unwrap();
        let way = Way {
            arrives: day("2026-05-01"),
            made: day("2026-05-15"),
            ends: "2026-05-16T23:00".parse().unwrap(),
        };
        let care = Care {
            conditioning_minutes: 0,
            hydrate_hours: 0,
            opening_days: 0,
            holding_days: Some(5),
            storage_celsius: Some(2),
            vase_days: Some(4),
            cut_keeps_hours: None,
            source: CareSource::Own,
        };
        assert_eq!(days_left(&care, way), Some(0));
        assert_eq!(days_left(&Care { vase_days: None, ..care }, way), None);
        assert_eq!(
            days_left(&Care { storage_celsius: Some(20), ..care }, way),
            None,
            "one temperature, no curve"
        );
    }
}
