//! What one stem (piece, roll) of a pack costs once the usual loss is carried. Pure arithmetic.

use rust_decimal::Decimal;

use super::Material;
use crate::ground::money::Money;
use crate::ground::quantity::Share;

/// Pack price ÷ pack size ÷ (1 − loss), in minor units, unrounded: what one *good* stem costs.
/// The division is by what is kept, never a multiplication by 1 + loss.
/// A loss of nine tenths and more, which the book refuses, counts as nine tenths; a pack of none as one.
///
/// ```
/// use trug::ground::{money::Money, quantity::Share};
/// use trug::price_list::stem_cost::good_stem_cost;
/// // A box of 20 at 19.00, a twentieth lost: 19 good stems for 19.00.
/// let cost = good_stem_cost(Money::from_minor(1900), 20, Share::from_raw(50_000));
/// assert_eq!(cost.normalize().to_string(), "100");
/// ```
#[must_use]
pub fn good_stem_cost(pack_price: Money, pack_size: i64, loss: Share) -> Decimal {
    let kept = (Decimal::ONE - loss.decimal()).max(Decimal::new(1, 1));
    pack_price.decimal() / Decimal::from(pack_size.max(1)) / kept
}

impl Material {
    /// The loss its cost carries: its own or the studio's usual one where it is fresh; hard goods and sundries,
    /// which have a spare rule instead, carry none.
    #[must_use]
    pub fn expected_loss(&self, usual: Share) -> Share {
        if self.is_fresh() { self.loss.unwrap_or(usual) } else { Share::default() }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn without_loss_it_is_price_by_stems() {
        let each = good_stem_cost(Money::from_minor(3_100), 25, Share::default());
        assert_eq!(each, Decimal::from(124));
    }

    #[test]
    fn the_loss_divides_by_what_is_kept() {
        let each = good_stem_cost(Money::from_minor(3_100), 25, Share::from_raw(50_000));
        assert_eq!(each.round_dp(4), Decimal::new(1_305_263, 4));
    }

    #[test]
    fn nothing_divides_by_nothing() {
        assert_eq!(good_stem_cost(Money::from_minor(500), 0, Share::default()), Decimal::from(500));
        let all_lost = good_stem_cost(Money::from_minor(500), 1, Share::from_raw(1_000_000));
        assert_eq!(all_lost, Decimal::from(5_000));
    }

    proptest! {
        #[test]
        fn the_good_stems_of_a_pack_cost_the_pack(price in 0_i64..10_000_000, size in 1_i64..2_000, loss in 0_i64..=900_000) {
            let loss = Share::from_raw(loss);
            let good = Decimal::from(size) * (Decimal::ONE - loss.decimal());
            let back = good_stem_cost(Money::from_minor(price), size, loss) * good;
            prop_assert_eq!(Money::rounded(back), Money::from_minor(price));
        }

        #[test]
        fn more_loss_never_costs_less(price in 0_i64..10_000_000, size in 1_i64..2_000, low in 0_i64..450_000, more in 0_i64..450_000) {
            let cost = |loss| good_stem_cost(Money::from_minor(price), size, Share::from_raw(loss));
            prop_assert!(cost(low) <= cost(low + more));
        }
    }
}
