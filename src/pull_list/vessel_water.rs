//! Water in vessels: how many litres to bring or draw, and how heavy a filled vessel and a crate of them is.
//!
//! May import: `rust_decimal` only. Lengths are whole micrometres, the app's unit of length.

use rust_decimal::Decimal;

/// Kilograms of a litre of water at 20 °C. Source: IAPWS-95, 998.2072 kg/m³ (computed with `PyPI` iapws), to four digits.
pub const KILOGRAMS_A_LITRE: Decimal = Decimal::from_parts(9_982, 0, 0, false, 4);

/// Over this, two people lift. Source: the load constant of the revised lifting equation, NIOSH Publication 94-110:
/// 23 kg, given as 51 lb. It is the limit under the best circumstances; licensed advice and local rules come first.
pub const LIFTING_LIMIT_KILOGRAMS: Decimal = Decimal::from_parts(23, 0, 0, false, 0);

/// The lifting limit as it is printed for people who weigh in pounds.
pub const LIFTING_LIMIT_POUNDS: Decimal = Decimal::from_parts(51, 0, 0, false, 0);

/// π to 20 decimals.
const PI: Decimal = Decimal::from_parts(1_537_529_798, 131_459_931, 17, false, 20);

/// No vessel is larger: 10 metres.
const LARGEST_MICROMETRES: i64 = 10_000_000;

/// Water in one vessel. Unrounded; the page rounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Water {
    /// Volume in litres.
    pub litres: Decimal,
    /// Mass in kilograms, the vessel's own not counted.
    pub kilograms: Decimal,
}

/// Why the water cannot be told.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WaterError {
    /// An inner measure that is not positive, or over 10 m.
    #[error("a vessel cannot measure {0} micrometres inside")]
    NotAVessel(i64),
    /// A fill below nothing or over the brim.
    #[error("a vessel is filled between 0 and 1 of its height, not {0}")]
    NotAFill(Decimal),
}

/// Water in a cylinder: π ÷ 4 × diameter² × height × fill, inner measures in micrometres, fill as a share of the height.
///
/// ```
/// use rust_decimal::Decimal;
/// use trug::pull_list::vessel_water::water_in_cylinder;
/// // A bud vase, 2 in wide and 6 in tall inside, half full.
/// let water = water_in_cylinder(50_800, 152_400, Decimal::new(5, 1))?;
/// assert_eq!(water.litres.round_dp(3), Decimal::new(154, 3));
/// assert_eq!(water.kilograms.round_dp(3), Decimal::new(154, 3));
/// # Ok::<(), trug::pull_list::vessel_water::WaterError>(())
/// ```
///
/// # Errors
/// Measures that are not positive or over 10 m, or a fill outside 0 to 1.
pub fn water_in_cylinder(diameter: i64, height: i64, fill: Decimal) -> Result<Water, WaterError> {
    if fill < Decimal::ZERO || fill > Decimal::ONE {
        return Err(WaterError::NotAFill(fill));
    }
    let (diameter, height) = (decimetres(diameter)?, decimetres(height)?);
    let litres = PI / Decimal::from(4) * diameter * diameter * height * fill;
    Ok(Water { litres, kilograms: litres * KILOGRAMS_A_LITRE })
}

/// Whether a load is marked for two people: heavier than 23 kg.
///
/// ```
/// use rust_decimal::Decimal;
/// use trug::pull_list::vessel_water::needs_two_people;
/// assert!(!needs_two_people(Decimal::from(23)));
/// assert!(needs_two_people(Decimal::new(2301, 2)));
/// ```
#[must_use]
pub fn needs_two_people(kilograms: Decimal) -> bool {
    kilograms > LIFTING_LIMIT_KILOGRAMS
}

/// A cubic decimetre is a litre.
fn decimetres(micrometres: i64) -> Result<Decimal, WaterError> {
    if !(1..=LARGEST_MICROMETRES).contains(&micrometres) {
        return Err(WaterError::NotAVessel(micrometres));
    }
    Ok(Decimal::new(micrometres, 5))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn litres(diameter: i64, height: i64, percent: i64) -> Decimal {
        water_in_cylinder(diameter, height, Decimal::new(percent, 2)).unwrap().litres
    }

    #[test]
    fn pi_is_pi() {
        assert_eq!(PI.to_string(), "3.14159265358979323846");
    }

    #[test]
    fn five_inches_wide_and_high_three_quarters_full() {
        let water = water_in_cylinder(127_000, 127_000, Decimal::new(75, 2)).unwrap();
        assert_eq!(water.litres.round_dp(3), Decimal::new(1_207, 3));
        assert_eq!(water.kilograms.round_dp(3), Decimal::new(1_204, 3));
    }

    #[test]
    fn what_is_not_a_vessel_or_a_fill_is_refused() {
        let half = Decimal::new(5, 1);
        assert_eq!(water_in_cylinder(0, 1, half), Err(WaterError::NotAVessel(0)));
        assert_eq!(water_in_cylinder(1, -7, half), Err(WaterError::NotAVessel(-7)));
        assert_eq!(water_in_cylinder(i64::MAX, 1, half), Err(WaterError::NotAVessel(i64::MAX)));
        let over = Decimal::new(101, 2);
        assert_eq!(water_in_cylinder(1, 1, over), Err(WaterError::NotAFill(over)));
        let under = Decimal::NEGATIVE_ONE;
        assert_eq!(water_in_cylinder(1, 1, under), Err(WaterError::NotAFill(under)));
    }

    proptest! {
        #[test]
        fn twice_as_wide_holds_four_times_and_half_full_holds_half(
            diameter in 1_i64..2_000_000, height in 1_i64..2_000_000, percent in 0_i64..50,
        ) {
            let one = litres(diameter, height, percent);
            let tiny = Decimal::new(1, 12);
            prop_assert!((litres(2 * diameter, height, percent) - one * Decimal::from(4)).abs() < tiny);
            prop_assert!((litres(diameter, height, 2 * percent) - one * Decimal::TWO).abs() < tiny);
            prop_assert!(one >= Decimal::ZERO);
        }
    }
}
