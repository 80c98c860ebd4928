//! Money: whole minor units of the book's one currency at every boundary, exact decimals inside a calculation,
//! rounded once by [`Money::rounded`] where a rule says so.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub};

use rust_decimal::{Decimal, RoundingStrategy, prelude::ToPrimitive};
use serde::{Deserialize, Serialize};

/// An amount in minor units (cents, pence; whole yen, fils).
///
/// Sums saturate instead of wrapping; forms keep single amounts below [`Money::LARGEST`], so that a book
/// never comes near the end of the range.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize, sqlx::Type,
)]
#[sqlx(transparent)]
#[serde(transparent)]
pub struct Money(i64);

impl Money {
    /// Nothing.
    pub const ZERO: Money = Money(0);
    /// The largest amount a form takes.
    pub const LARGEST: Money = Money(10_000_000_000);

    /// So many minor units.
    #[must_use]
    pub const fn from_minor(minor: i64) -> Money {
        Money(minor)
    }

    /// How many minor units.
    #[must_use]
    pub const fn minor(self) -> i64 {
        self.0
    }

    /// The amount as a decimal number of minor units, for calculating.
    #[must_use]
    pub fn decimal(self) -> Decimal {
        Decimal::from(self.0)
    }

    /// Rounds a decimal number of minor units half up (away from zero at the half) to whole minor units.
    ///
    /// ```
    /// use trug::ground::money::Money;
    /// use rust_decimal::Decimal;
    /// // 1460.50 at 25 % is 365.125, in an EN 16931 example printed as 365.13.
    /// assert_eq!(Money::rounded(Decimal::new(365_125, 1)), Money::from_minor(36_513));
    /// assert_eq!(Money::rounded(Decimal::new(-5, 1)), Money::from_minor(-1));
    /// ```
    #[must_use]
    pub fn rounded(minor: Decimal) -> Money {
        let whole = minor.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero);
        let end = if whole.is_sign_negative() { i64::MIN } else { i64::MAX };
        Money(whole.to_i64().unwrap_or(end))
    }

    /// The amount so many times.
    #[must_use]
    pub fn times(self, count: i64) -> Money {
        Money(self.0.saturating_mul(count))
    }

    /// Whether it is nothing.
    #[must_use]
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
}

impl Add for Money {
    type Output = Money;
    fn add(self, other: Money) -> Money {
        Money(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Money {
    fn add_assign(&mut self, other: Money) {
        *self = *self + other;
    }
}

impl Sub for Money {
    type Output = Money;
    fn sub(self, other: Money) -> Money {
        Money(self.0.saturating_sub(other.0))
    }
}

impl Neg for Money {
    type Output = Money;
    fn neg(self) -> Money {
        Money(self.0.saturating_neg())
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Money>>(amounts: I) -> Money {
        amounts.fold(Money::ZERO, Add::add)
    }
}
