//! Freshness at the hour: how much of a material's life is used up on its way from the cooler to the last guest.
//!
//! Flowers age faster in the warm, by a constant factor for each 10 degrees (Q10). Two known points of a material, its
//! vase life at room temperature and its holding life in the cooler, give the curve; a path of hours at temperatures
//! uses up life along it. **An estimate, never a promise:** handling, water and variety matter as much as temperature.
//!
//! Source of the exponential law: J. H. van 't Hoff's rule, as used for respiration and vase life of cut flowers
//! (F. G. Celikel and M. S. Reid, Acta Horticulturae: Q10 near 3 between 0 and 10 °C for rose and gypsophila).
//!
//! May import: nothing of the house. Life and temperature are measured nature, so they are floating point.
#![expect(clippy::float_arithmetic, reason = "ageing is measured nature; no money")]

const HOURS_A_DAY: f64 = 24.0;

/// How long a material lasts at any temperature: an exponential through its known points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LifeCurve {
    known: Point,
    q10: f64,
}

/// A known life at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Temperature in °C.
    pub celsius: f64,
    /// Life in days.
    pub days: f64,
}

/// A stretch of the way: so many hours at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Hours; a stretch of no or negative length uses nothing.
    pub hours: f64,
    /// Temperature in °C.
    pub celsius: f64,
}

/// Why no curve goes through the points.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum FreshnessError {
    /// Not a life, or not a temperature.
    #[error("a life of {days} days at {celsius} °C cannot be used")]
    NotALife {
        /// Days given.
        days: f64,
        /// Temperature given.
        celsius: f64,
    },
    /// Both points at one temperature say nothing about another.
    #[error("two lives at the same temperature of {0} °C give no curve")]
    SameTemperature(f64),
    /// A material that is harmed by cold has no such curve.
    #[error("the life at {colder} °C is shorter than at {warmer} °C: cold harms it, so no ageing curve fits")]
    ShorterInTheCold {
        /// The lower temperature.
        colder: f64,
        /// The higher temperature.
        warmer: f64,
    },
    /// A Q10 below 1, or none.
    #[error("a Q10 of {0} cannot be used; it is at least 1")]
    NotAQ10(f64),
}

impl LifeCurve {
    /// The curve through two points: Q10 = (colder life ÷ warmer life) to the power of 10 ÷ degrees between.
    ///
    /// ```
    /// use trug::prep::freshness::{LifeCurve, Point};
    /// // 7 days in the vase at 20 °C, 14 days held at 2 °C.
    /// let curve = LifeCurve::through(
    ///     Point { celsius: 20.0, days: 7.0 },
    ///     Point { celsius: 2.0, days: 14.0 },
    /// )?;
    /// assert!((curve.q10() - 1.4697).abs() < 1e-4); // 2^(10/18)
    /// assert!((curve.days_at(11.0) - 9.8995).abs() < 1e-4); // half way: the geometric mean
    /// # Ok::<(), trug::prep::freshness::FreshnessError>(())
    /// ```
    ///
    /// # Errors
    /// Lives that are not positive, equal temperatures, or a life that is shorter in the cold.
    pub fn through(a: Point, b: Point) -> Result<Self, FreshnessError> {
        let (colder, warmer) = if a.celsius < b.celsius { (a, b) } else { (b, a) };
        let (colder, warmer) = (colder.check()?, warmer.check()?);
        let degrees = warmer.celsius - colder.celsius;
        if degrees <= 0.0 {
            return Err(FreshnessError::SameTemperature(warmer.celsius));
        }
        if colder.days < warmer.days {
            return Err(FreshnessError::ShorterInTheCold { colder: colder.celsius, warmer: warmer.celsius });
        }
        let q10 = (colder.days / warmer.days).powf(10.0 / degrees);
        Ok(Self { known: warmer, q10 })
    }

    /// The curve through one point, with a published Q10.
    ///
    /// # Errors
    /// A life that is not positive, or a Q10 below 1.
    pub fn with_q10(known: Point, q10: f64) -> Result<Self, FreshnessError> {
        if !q10.is_finite() || q10 < 1.0 {
            return Err(FreshnessError::NotAQ10(q10));
        }
        Ok(Self { known: known.check()?, q10 })
    }

    /// The factor by which 10 degrees more speed up ageing.
    #[must_use]
    pub fn q10(&self) -> f64 {
        self.q10
    }

    /// Life in days, if held at one temperature from fresh.
    #[must_use]
    pub fn days_at(&self, celsius: f64) -> f64 {
        self.known.days / self.ageing(celsius, self.known.celsius)
    }

    /// How many times as fast it ages at `celsius` as at `against`: Q10 to the power of degrees between ÷ 10.
    ///
    /// ```
    /// use trug::prep::freshness::{LifeCurve, Point};
    /// let curve = LifeCurve::with_q10(Point { celsius: 20.0, days: 7.0 }, 3.0)?;
    /// assert!((curve.ageing(5.0, 0.0) - 1.732_050_8).abs() < 1e-7);
    /// # Ok::<(), trug::prep::freshness::FreshnessError>(())
    /// ```
    #[must_use]
    pub fn ageing(&self, celsius: f64, against: f64) -> f64 {
        self.q10.powf((celsius - against) / 10.0)
    }

    /// The share of life used up along a path: the sum of hours ÷ life at that temperature. 1 or more is the end of it.
    ///
    /// ```
    /// use trug::prep::freshness::{LifeCurve, Point, Stretch};
    /// let curve = LifeCurve::through(
    ///     Point { celsius: 20.0, days: 6.0 },
    ///     Point { celsius: 2.0, days: 12.0 },
    /// )?;
    /// // Two days in the cooler, then one on the bench and at the venue: 2 ÷ 12 + 1 ÷ 6.
    /// let path = [
    ///     Stretch { hours: 48.0, celsius: 2.0 },
    ///     Stretch { hours: 24.0, celsius: 20.0 },
    /// ];
    /// assert!((curve.share_used(&path) - 1.0 / 3.0).abs() < 1e-12);
    /// assert!((curve.days_left(&path, 20.0) - 4.0).abs() < 1e-12);
    /// # Ok::<(), trug::prep::freshness::FreshnessError>(())
    /// ```
    #[must_use]
    pub fn share_used(&self, path: &[Stretch]) -> f64 {
        let share =
            |stretch: &Stretch| stretch.hours.max(0.0) / (self.days_at(stretch.celsius) * HOURS_A_DAY);
        path.iter().map(share).sum()
    }

    /// Days that are left after a path, if it is then held at `celsius`; 0 if its life is over.
    #[must_use]
    pub fn days_left(&self, path: &[Stretch], celsius: f64) -> f64 {
        (1.0 - self.share_used(path)).max(0.0) * self.days_at(celsius)
    }

    /// Hours from the start of the path at which its life ends; `None` if it lasts to the end of the path.
    ///
    /// ```
    /// use trug::prep::freshness::{LifeCurve, Point, Stretch};
    /// let curve = LifeCurve::with_q10(Point { celsius: 20.0, days: 2.0 }, 2.0)?;
    /// let path = [
    ///     Stretch { hours: 24.0, celsius: 20.0 }, // half of it
    ///     Stretch { hours: 24.0, celsius: 30.0 }, // the other half in 12 hours
    /// ];
    /// assert_eq!(curve.ends_after(&path), Some(36.0));
    /// assert_eq!(curve.ends_after(&path[..1]), None);
    /// # Ok::<(), trug::prep::freshness::FreshnessError>(())
    /// ```
    #[must_use]
    pub fn ends_after(&self, path: &[Stretch]) -> Option<f64> {
        let (mut hours, mut left) = (0.0, 1.0);
        for stretch in path {
            let used = self.share_used(std::slice::from_ref(stretch));
            if used > left {
                return Some(hours + left * self.days_at(stretch.celsius) * HOURS_A_DAY);
            }
            hours += stretch.hours.max(0.0);
            left -= used;
        }
        None
    }
}

impl Point {
    fn check(self) -> Result<Self, FreshnessError> {
        let usable = self.days.is_finite() && self.days > 0.0 && self.celsius.is_finite();
        if usable {
            return Ok(self);
        }
        Err(FreshnessError::NotALife { days: self.days, celsius: self.celsius })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn point(celsius: f64, days: f64) -> Point {
        Point { celsius, days }
    }

    #[test]
    fn a_cold_harmed_or_unknown_life_is_refused() {
        let through = |a, b| LifeCurve::through(a, b).unwrap_err();
        assert_eq!(
            through(point(20.0, 9.0), point(4.0, 6.0)),
            FreshnessError::ShorterInTheCold { colder: 4.0, warmer: 20.0 }
        );
        assert_eq!(through(point(5.0, 9.0), point(5.0, 6.0)), FreshnessError::SameTemperature(5.0));
        assert_eq!(
            through(point(20.0, 0.0), point(4.0, 6.0)),
            FreshnessError::NotALife { days: 0.0, celsius: 20.0 }
        );
        assert!(LifeCurve::through(point(f64::NAN, 3.0), point(4.0, 6.0)).is_err());
        assert_eq!(LifeCurve::with_q10(point(20.0, 5.0), 0.9), Err(FreshnessError::NotAQ10(0.9)));
        assert!(LifeCurve::with_q10(point(20.0, 5.0), f64::INFINITY).is_err());
    }

    #[test]
    fn nothing_is_left_after_the_end() {
        let curve = LifeCurve::with_q10(point(20.0, 1.0), 3.0).unwrap();
        let path = [Stretch { hours: 30.0, celsius: 20.0 }, Stretch { hours: -5.0, celsius: 20.0 }];
        assert!((curve.share_used(&path) - 1.25).abs() < 1e-12);
        assert!(curve.days_left(&path, 2.0).abs() < 1e-12);
        assert!((curve.ends_after(&path).unwrap() - 24.0).abs() < 1e-9);
    }

    fn curves() -> impl Strategy<Value = (Point, Point)> {
        (-1.0..8.0, 12.0..30.0, 1.0..14.0, 1.0..4.0).prop_map(
            |(cold, warm, days, longer): (f64, f64, f64, f64)| {
                (point(cold, days * longer), point(warm, days))
            },
        )
    }

    proptest! {
        #[test]
        fn the_curve_meets_both_points_and_falls_between((cold, warm) in curves(), share in 0.0..1.0_f64) {
            let curve = LifeCurve::through(warm, cold).unwrap();
            prop_assert!((curve.days_at(cold.celsius) - cold.days).abs() < 1e-9 * cold.days);
            prop_assert!((curve.days_at(warm.celsius) - warm.days).abs() < 1e-9 * warm.days);
            let between = curve.days_at(cold.celsius + share * (warm.celsius - cold.celsius));
            prop_assert!(between <= cold.days * (1.0 + 1e-9) && between >= warm.days * (1.0 - 1e-9));
            let same = LifeCurve::with_q10(warm, curve.q10()).unwrap();
            prop_assert!((same.days_at(0.0) - curve.days_at(0.0)).abs() < 1e-9 * curve.days_at(0.0));
        }

        #[test]
        fn longer_or_warmer_ways_leave_less(
            (cold, warm) in curves(), hours in 0.0..72.0_f64, more in 0.0..24.0_f64, celsius in 0.0..30.0_f64,
        ) {
            let curve = LifeCurve::through(cold, warm).unwrap();
            let left = |hours, celsius| curve.days_left(&[Stretch { hours, celsius }], 20.0);
            prop_assert!(left(hours + more, celsius) <= left(hours, celsius) + 1e-9);
            prop_assert!(left(hours, celsius + more) <= left(hours, celsius) + 1e-9);
        }

        #[test]
        fn a_way_cut_in_two_uses_the_same((cold, warm) in curves(), hours in 0.0..72.0_f64, share in 0.0..1.0_f64) {
            let curve = LifeCurve::through(cold, warm).unwrap();
            let part = |hours| Stretch { hours, celsius: 11.0 };
            let halves = [part(hours * share), part(hours * (1.0 - share))];
            prop_assert!((curve.share_used(&[part(hours)]) - curve.share_used(&halves)).abs() < 1e-9);
            prop_assert_eq!(curve.ends_after(&halves).is_some(), curve.share_used(&halves) > 1.0);
        }
    }
}
