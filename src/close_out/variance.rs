//! Standard-costing variance (C11): how much of actual − planned is the price, how much the quantity.
//!
//! May import: `rust_decimal`, `ground`.

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

use crate::ground::money::Money;
use crate::ground::quantity::Quantity;

/// A quantity and what it comes to in all.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Amount {
    /// Stems, pieces, hours: whatever the line counts.
    pub quantity: Quantity,
    /// What all of it costs.
    pub cost: Money,
}

/// The two parts of actual − planned. Above nothing is dearer than planned.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Variance {
    /// (actual − planned price) × actual quantity.
    pub price: Money,
    /// (actual − planned quantity) × planned price.
    pub usage: Money,
}

impl Variance {
    /// Both together: actual − planned.
    #[must_use]
    pub fn total(&self) -> Money {
        self.price + self.usage
    }
}

impl Amount {
    /// Nothing of nothing.
    pub const NONE: Amount = Amount { quantity: Quantity::from_raw(0), cost: Money::ZERO };

    /// A whole number of something.
    #[must_use]
    pub const fn whole(count: i64, cost: Money) -> Amount {
        Amount { quantity: Quantity::whole(count), cost }
    }

    /// A share of it, from 0 to 1: quantity in thousandths and cost, each rounded half up.
    #[must_use]
    pub fn part(self, share: Decimal) -> Amount {
        let quantity = self.quantity.decimal() * share * Decimal::ONE_THOUSAND;
        let quantity = quantity.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero);
        Amount {
            quantity: Quantity::from_raw(i64::try_from(quantity).unwrap_or(i64::MAX)),
            cost: Money::rounded(self.cost.decimal() * share),
        }
    }

    /// Both together.
    #[must_use]
    pub fn and(self, more: Amount) -> Amount {
        let quantity = self.quantity.raw().saturating_add(more.quantity.raw());
        Amount { quantity: Quantity::from_raw(quantity), cost: self.cost + more.cost }
    }
}

impl std::iter::Sum for Variance {
    fn sum<I: Iterator<Item = Variance>>(parts: I) -> Variance {
        parts.fold(Variance::default(), |sum, part| Variance {
            price: sum.price + part.price,
            usage: sum.usage + part.usage,
        })
    }
}

/// Price variance = (actual − planned price) × actual quantity = actual cost − planned price × actual quantity; usage
/// variance = (actual − planned quantity) × planned price.
///
/// Units: minor units. The price variance is rounded half up once, the usage variance is what is left of
/// actual − planned cost, so that the two add up to it exactly. Without a planned quantity there is no planned price: all is
/// usage. Where nothing was used all is usage, too. Labour: the same, called rate and efficiency variance.
/// Source: standard costing as in any textbook of managerial accounting; two worked examples in `tests/fixtures/variance.csv`.
///
/// ```
/// use trug::close_out::variance::{Amount, Variance, variance};
/// use trug::ground::money::Money;
/// use trug::ground::quantity::Quantity;
/// let of = |quantity, cost| Amount { quantity: Quantity::whole(quantity), cost: Money::from_minor(cost) };
/// // 430 at 6.90 were planned, 450 at 6.50 were used.
/// let found = variance(of(430, 296_700), of(450, 292_500));
/// assert_eq!(found, Variance { price: Money::from_minor(-18_000), usage: Money::from_minor(13_800) });
/// ```
#[must_use]
pub fn variance(planned: Amount, actual: Amount) -> Variance {
    let total = actual.cost - planned.cost;
    let (of_planned, of_actual) = (planned.quantity.decimal(), actual.quantity.decimal());
    if of_planned <= Decimal::ZERO || of_actual <= Decimal::ZERO {
        return Variance { price: Money::ZERO, usage: total };
    }
    // A share of it first: the product of a large cost and a large quantity would leave the range of a decimal.
    let ratio = of_actual / of_planned;
    let price = planned
        .cost
        .decimal()
        .checked_mul(ratio)
        .map_or(Money::ZERO, |at_planned_price| Money::rounded(actual.cost.decimal() - at_planned_price));
    Variance { price, usage: total - price }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn of(quantity: i64, cost: i64) -> Amount {
        Amount { quantity: Quantity::whole(quantity), cost: Money::from_minor(cost) }
    }

    #[test]
    fn a_part_is_of_quantity_and_cost() {
        assert_eq!(of(16, 1_601).part(Decimal::new(375, 3)), of(6, 600));
        assert_eq!(of(16, 1_601).part(Decimal::ONE), of(16, 1_601));
    }

    #[test]
    fn what_was_not_planned_and_what_was_not_used_is_all_usage() {
        assert_eq!(
            variance(of(0, 0), of(3, 900)),
            Variance { price: Money::ZERO, usage: Money::from_minor(900) }
        );
        assert_eq!(
            variance(of(3, 900), of(0, 0)),
            Variance { price: Money::ZERO, usage: Money::from_minor(-900) }
        );
    }

    #[test]
    fn thirds_are_rounded_once() {
        // 100 for 3 is planned, 4 came to 140: 140 − 133.33 = 6.67.
        let found = variance(of(3, 100), of(4, 140));
        assert_eq!((found.price.minor(), found.usage.minor()), (7, 33));
    }

    proptest! {
        /// The two always add up to actual − planned, and each is nothing where its cause is.
        #[test]
        fn both_add_up(
            planned in (0_i64..1_000_000, 0_i64..10_000_000_000), actual in (0_i64..1_000_000, 0_i64..10_000_000_000),
        ) {
            let (planned, actual) = (of(planned.0, planned.1), of(actual.0, actual.1));
            let found = variance(planned, actual);
            prop_assert_eq!(found.total(), actual.cost - planned.cost);
            let same_quantity = Amount { quantity: planned.quantity, ..actual };
            if planned.quantity > Quantity::default() {
                prop_assert_eq!(variance(planned, same_quantity).usage, Money::ZERO);
            }
        }

        /// At the planned price there is no price variance, whatever is used.
        #[test]
        fn the_same_price_leaves_no_price_variance(each in 1_i64..100_000, planned in 1_i64..10_000, actual in 1_i64..10_000) {
            let found = variance(of(planned, planned * each), of(actual, actual * each));
            prop_assert_eq!((found.price.minor(), found.usage.minor()), (0, (actual - planned) * each));
        }
    }
}
