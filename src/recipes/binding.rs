//! Hand-tied pieces in a vessel: do the stems hold together below the binding, and how much foliage is cut from a stem.
//!
//! A bundle is bound under the heads, again some inches lower, and near the foot. The final cut is made below the second
//! binding: the stems' length inside the vessel must be at least the distance from the heads to that binding, else the
//! bundle is cut through above it and falls open. Stems end a little above the vessel's floor.
//! (Common practice, no published source.)
//!
//! May import: nothing of the house. Lengths are whole numbers of one unit; the app uses micrometres.

/// Space between the stems' ends and the vessel's floor, in micrometres: an inch. Common practice, no published source.
pub const DEFAULT_CLEARANCE: i64 = 25_400;

/// What the final cut does to a bundle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// The second binding stays on.
    Holds {
        /// Stem below the second binding after the final cut.
        below: i64,
    },
    /// The cut would be above the second binding.
    FallsOpen {
        /// How much higher the second binding, or how much taller the vessel, would have to be.
        short_by: i64,
    },
}

/// Why a bundle cannot be judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BindingError {
    /// A length below zero, or none where one is needed.
    #[error("a length of {0} cannot be used")]
    NotALength(i64),
    /// No stem would reach into the vessel.
    #[error("a clearance of {clearance} leaves no room for stems in a vessel {inner_height} high")]
    NoRoom {
        /// The vessel's inner height.
        inner_height: i64,
        /// The space asked for under the stems.
        clearance: i64,
    },
}

/// Length of the stems inside a vessel, which is where the final cut is made: inner height − clearance.
///
/// # Errors
/// A height that is not positive, a clearance below zero, or one that leaves no room.
pub fn stems_in_vessel(inner_height: i64, clearance: i64) -> Result<i64, BindingError> {
    if inner_height <= 0 {
        return Err(BindingError::NotALength(inner_height));
    }
    if clearance < 0 {
        return Err(BindingError::NotALength(clearance));
    }
    if clearance >= inner_height {
        return Err(BindingError::NoRoom { inner_height, clearance });
    }
    Ok(inner_height - clearance)
}

/// Whether a bundle holds once its stems are cut for the vessel. `to_second_binding` is the distance from right under the
/// heads, where the vessel's rim is, to the second binding.
///
/// ```
/// use trug::recipes::binding::{DEFAULT_CLEARANCE, Hold, hold};
/// let inch = 25_400;
/// // A vase 8 in high inside leaves 7 in of stem; the second binding is 4 in down.
/// assert_eq!(hold(8 * inch, DEFAULT_CLEARANCE, 4 * inch), Ok(Hold::Holds { below: 3 * inch }));
/// // A bowl 3 in high leaves 2 in.
/// assert_eq!(hold(3 * inch, DEFAULT_CLEARANCE, 4 * inch), Ok(Hold::FallsOpen { short_by: 2 * inch }));
/// ```
///
/// # Errors
/// As [`stems_in_vessel`]; a distance that is not positive.
pub fn hold(inner_height: i64, clearance: i64, to_second_binding: i64) -> Result<Hold, BindingError> {
    let stems = stems_in_vessel(inner_height, clearance)?;
    if to_second_binding <= 0 {
        return Err(BindingError::NotALength(to_second_binding));
    }
    if stems < to_second_binding {
        return Ok(Hold::FallsOpen { short_by: to_second_binding - stems });
    }
    Ok(Hold::Holds { below: stems - to_second_binding })
}

/// Pieces of one length that a stem of foliage gives: usable length ÷ piece, rounded down; 0 if the stem is too short.
///
/// ```
/// use trug::recipes::binding::foliage_pieces;
/// let inch = 25_400;
/// assert_eq!(foliage_pieces(26 * inch, 8 * inch), Ok(3));
/// assert_eq!(foliage_pieces(6 * inch, 8 * inch), Ok(0));
/// ```
///
/// # Errors
/// A piece that is not longer than nothing, or a usable length below zero.
pub fn foliage_pieces(usable: i64, piece: i64) -> Result<u64, BindingError> {
    if piece <= 0 {
        return Err(BindingError::NotALength(piece));
    }
    u64::try_from(usable / piece).ok().filter(|_| usable >= 0).ok_or(BindingError::NotALength(usable))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const INCH: i64 = 25_400;

    #[test]
    fn exactly_long_enough_holds_and_a_hair_less_does_not() {
        assert_eq!(hold(5 * INCH, INCH, 4 * INCH), Ok(Hold::Holds { below: 0 }));
        assert_eq!(hold(5 * INCH - 1, INCH, 4 * INCH), Ok(Hold::FallsOpen { short_by: 1 }));
    }

    /// Common practice, no published source: inserts of 5 to 6 in, 4 to 5 of them from a stem of 24 to 30 usable inches.
    #[test]
    fn a_long_stem_gives_four_or_five_pieces() {
        for (usable, piece, pieces) in [(24, 6, 4), (24, 5, 4), (27, 5, 5), (30, 6, 5)] {
            assert_eq!(foliage_pieces(usable * INCH, piece * INCH), Ok(pieces));
        }
        assert_eq!(foliage_pieces(4 * INCH, 5 * INCH), Ok(0));
    }

    #[test]
    fn refusals() {
        assert_eq!(stems_in_vessel(0, 0), Err(BindingError::NotALength(0)));
        assert_eq!(stems_in_vessel(9, -1), Err(BindingError::NotALength(-1)));
        assert_eq!(stems_in_vessel(5, 5), Err(BindingError::NoRoom { inner_height: 5, clearance: 5 }));
        assert_eq!(hold(9, 1, 0), Err(BindingError::NotALength(0)));
        assert_eq!(foliage_pieces(9, 0), Err(BindingError::NotALength(0)));
        assert_eq!(foliage_pieces(-1, 5), Err(BindingError::NotALength(-1)));
        assert_eq!(foliage_pieces(i64::MIN, 5), Err(BindingError::NotALength(i64::MIN)));
    }

    proptest! {
        #[test]
        fn what_is_short_is_just_what_is_missing(
            height in 2_i64..1_000_000, clearance in 0_i64..100_000, binding in 1_i64..500_000,
        ) {
            prop_assume!(clearance < height);
            match hold(height, clearance, binding).unwrap() {
                Hold::Holds { below } => prop_assert_eq!(binding + below + clearance, height),
                Hold::FallsOpen { short_by } => {
                    prop_assert!(short_by > 0);
                    let taller = hold(height + short_by, clearance, binding);
                    prop_assert_eq!(taller, Ok(Hold::Holds { below: 0 }));
                }
            }
        }

        #[test]
        fn the_pieces_fit_and_one_more_does_not(usable in 0_i64..1_000_000, piece in 1_i64..1_000_000) {
            let pieces = i64::try_from(foliage_pieces(usable, piece).unwrap()).unwrap();
            prop_assert!(pieces * piece <= usable && (pieces + 1) * piece > usable);
        }
    }
}
