//! Equal circles in a rectangle: how many pieces of one width stand side by side in a crate, and where (C9).
//!
//! Two ways are tried, each of them along and across, and the better is taken (ties go to the plain one):
//! - **in rows**: floor(length ÷ diameter) × floor(width ÷ diameter);
//! - **staggered**: every second row is moved by half a diameter and stands √3 ÷ 2 of a diameter behind the last.
//!
//! The second is the densest of all on an endless floor: it covers π ÷ √12 = 90.69 % (Thue 1910, L. Fejes Tóth 1942);
//! in a small box neither need be the best there is, but both can be packed by eye.
//! Whole micrometres throughout; a diameter is rounded up to an even number of them, the distance of rows up to a whole
//! one, so that no two circles drawn ever overlap.
//!
//! May import: nothing.

/// How equal circles stand in a rectangle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Packing {
    diameter: i64,
    /// From one row's centres to the next one's.
    pitch: i64,
    /// How far every second row is moved.
    offset: i64,
    /// How many stand in the first row and in every second one after it.
    even: i64,
    /// How many stand in the others.
    odd: i64,
    rows: i64,
    /// Whether rows run across instead of along.
    across: bool,
}

/// Where the middle of a circle stands, in micrometres from the rectangle's corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spot {
    /// Along.
    pub x: i64,
    /// Across.
    pub y: i64,
}

/// The better way for circles of a diameter in a rectangle, all in micrometres; none where not one fits.
///
/// ```
/// use trug::pull_list::loading::packing::best;
/// // 56 × 36 cm: of 16 cm in rows 3 × 2, staggered 3 + 3 as well; of 11 cm 5 × 3 = 15.
/// assert_eq!(best(560_000, 360_000, 160_000).map(|packing| packing.count()), Some(6));
/// assert_eq!(best(560_000, 360_000, 110_000).map(|packing| packing.count()), Some(15));
/// // 60 × 38 cm of 10 cm: 6 × 3 = 18 in rows, staggered 6 + 5 + 6 + 5 = 22.
/// assert_eq!(best(600_000, 380_000, 100_000).map(|packing| packing.count()), Some(22));
/// assert_eq!(best(560_000, 360_000, 370_000), None);
/// ```
#[must_use]
pub fn best(length: i64, width: i64, diameter: i64) -> Option<Packing> {
    if diameter < 1 || length < 1 || width < 1 || diameter == i64::MAX {
        return None;
    }
    let diameter = diameter + diameter % 2;
    let ways = [
        in_rows(length, width, diameter),
        staggered(length, width, diameter, false),
        staggered(width, length, diameter, true),
    ];
    // The first of equals.
    ways.into_iter().flatten().reduce(|best, next| if next.count() > best.count() { next } else { best })
}

fn in_rows(length: i64, width: i64, diameter: i64) -> Option<Packing> {
    let (each, rows) = (length / diameter, width / diameter);
    (each > 0 && rows > 0).then_some(Packing {
        diameter,
        pitch: diameter,
        offset: 0,
        even: each,
        odd: each,
        rows,
        across: false,
    })
}

fn staggered(length: i64, width: i64, diameter: i64, across: bool) -> Option<Packing> {
    if length < diameter || width < diameter {
        return None;
    }
    let (offset, pitch) = (diameter / 2, row_distance(diameter)?);
    let (even, odd) = (length / diameter, (length - offset) / diameter);
    Some(Packing { diameter, pitch, offset, even, odd, rows: 1 + (width - diameter) / pitch, across })
}

/// √3 ÷ 2 × diameter, rounded up.
fn row_distance(diameter: i64) -> Option<i64> {
    let square = diameter.checked_mul(diameter)?.checked_mul(3)?;
    let quarter = square / 4 + i64::from(square % 4 > 0);
    let root = quarter.isqrt();
    Some(root + i64::from(root * root < quarter))
}

impl Packing {
    /// How many stand in the rectangle.
    #[must_use]
    pub const fn count(&self) -> i64 {
        self.even.saturating_mul((self.rows + 1) / 2).saturating_add(self.odd.saturating_mul(self.rows / 2))
    }

    /// Whether every second row is moved.
    #[must_use]
    pub const fn is_staggered(&self) -> bool {
        self.offset > 0
    }

    /// Where the circle with a number from 0 stands.
    #[must_use]
    pub const fn spot(&self, number: i64) -> Spot {
        let pair = self.even + self.odd;
        let (twos, place) = (number / pair, number % pair);
        let (row, column, moved) = if place < self.even {
            (2 * twos, place, 0)
        } else {
            (2 * twos + 1, place - self.even, self.offset)
        };
        let along = self.diameter / 2 + column * self.diameter + moved;
        let behind = self.diameter / 2 + row * self.pitch;
        if self.across { Spot { x: behind, y: along } } else { Spot { x: along, y: behind } }
    }

    /// In words: `in rows of 5`, `staggered, rows of 6 and 5`.
    #[must_use]
    pub fn words(&self) -> String {
        if self.is_staggered() && self.rows > 1 {
            format!("staggered, rows of {} and {}", self.even, self.odd)
        } else {
            format!("in rows of {}", self.even)
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn rows_are_a_half_root_three_apart() {
        // √3 ÷ 2 = 0.866 025 403 784…
        assert_eq!(row_distance(100_000), Some(86_603));
        assert_eq!(row_distance(2), Some(2));
        assert_eq!(row_distance(i64::MAX / 2), None);
    }

    #[test]
    fn what_cannot_be_is_none() {
        for (length, width, diameter) in [(0, 5, 1), (5, -1, 1), (5, 5, 0), (5, 5, i64::MAX), (5, 3, 4)] {
            assert_eq!(best(length, width, diameter), None);
        }
        assert_eq!(best(4, 4, 4).map(|packing| packing.count()), Some(1));
    }

    #[test]
    fn rows_may_run_across() {
        let packing = best(380_000, 600_000, 100_000).unwrap();
        assert_eq!((packing.count(), packing.is_staggered()), (22, true));
        assert_eq!(packing.spot(0), Spot { x: 50_000, y: 50_000 });
        assert_eq!(packing.spot(6), Spot { x: 50_000 + 86_603, y: 100_000 });
        assert_eq!(packing.words(), "staggered, rows of 6 and 5");
    }

    proptest! {
        #[test]
        fn circles_lie_inside_and_do_not_overlap(
            length in 1_000_i64..60_000, width in 1_000_i64..60_000, diameter in 1_000_i64..9_000,
        ) {
            let Some(packing) = best(length, width, diameter) else {
                prop_assert!(diameter > length - 2 || diameter > width - 2);
                return Ok(());
            };
            let spots: Vec<Spot> = (0..packing.count().min(200)).map(|number| packing.spot(number)).collect();
            let last = packing.spot(packing.count() - 1);
            for spot in spots.iter().chain([&last]) {
                let inside = |at: i64, side: i64| 2 * at >= diameter && 2 * (side - at) >= diameter;
                prop_assert!(inside(spot.x, length) && inside(spot.y, width), "{spot:?}");
            }
            for (number, one) in spots.iter().enumerate() {
                for other in &spots[number + 1..] {
                    let (x, y) = (one.x - other.x, one.y - other.y);
                    prop_assert!(x * x + y * y >= diameter * diameter, "{one:?} {other:?}");
                }
            }
        }

        /// Never fewer than in rows, and more room never holds fewer.
        #[test]
        fn the_better_way_is_taken(
            length in 1_000_i64..60_000, width in 1_000_i64..60_000, diameter in 500_i64..4_000, more in 0_i64..3_000,
        ) {
            let even = 2 * diameter;
            let count = |length, width| best(length, width, even).map_or(0, |packing| packing.count());
            prop_assert!(count(length, width) >= (length / even) * (width / even));
            prop_assert!(count(length + more, width) >= count(length, width));
            prop_assert_eq!(count(length, width), count(width, length));
        }
    }
}
