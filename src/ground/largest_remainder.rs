//! Splitting a whole number of cents or stems in proportion to weights, so that the parts add up to it exactly.
//!
//! Hamilton's method, the method of largest remainders: every part is its quota (total × weight ÷ sum of weights) rounded
//! down; the units left over go one each to the parts with the largest remainders, ties to the earlier part. Used for an
//! order's cost by event, spares by event, discounts by line and instalments.
//!
//! Source: the method of A. Hamilton (1792) for apportioning seats; see M. L. Balinski and H. P. Young, "Fair
//! Representation", 1982 (cited from memory).
//!
//! May import: `rust_decimal` only.

use rust_decimal::Decimal;

/// Splits `total` in proportion to `weights`. The parts sum to `total`, and each is less than 1 away from its quota.
///
/// - A negative total is split as its amount, with the sign put back: a refund mirrors its invoice.
/// - If all weights are zero, the parts are as equal as they can be, larger ones first.
/// - A weight below zero counts as zero: nobody is given a share of the opposite sign.
/// - No weights, no parts: then, and only then, the total is not handed out.
///
/// The arithmetic is exact (whole numbers; no rounding but the one of the method).
///
/// ```
/// use rust_decimal::Decimal;
/// use trug::ground::largest_remainder::split;
/// let thirds = [Decimal::ONE; 3];
/// assert_eq!(split(1_000, &thirds), [334, 333, 333]);
/// assert_eq!(split(-1_000, &thirds), [-334, -333, -333]);
/// assert_eq!(split(7, &[Decimal::new(25, 1), Decimal::ONE]), [5, 2]); // 2.5 : 1
/// assert_eq!(split(5, &[Decimal::ZERO, Decimal::ZERO]), [3, 2]);
/// ```
#[must_use]
pub fn split(total: i64, weights: &[Decimal]) -> Vec<i64> {
    split_whole(total, &in_whole_numbers(weights))
}

/// As [`split`], by whole-number weights: stems, cents, pieces.
///
/// ```
/// use trug::ground::largest_remainder::split_by;
/// assert_eq!(split_by(10_001, &[61, 92]), [3_987, 6_014]);
/// assert_eq!(split_by(35_920, &[15_260, 24_850]), [13_666, 22_254]);
/// ```
#[must_use]
pub fn split_by(total: i64, weights: &[u64]) -> Vec<i64> {
    let weights: Vec<u128> = weights.iter().map(|w| u128::from(*w)).collect();
    split_whole(total, &weights)
}

/// The weights' sum must stay below 2^127.
fn split_whole(total: i64, weights: &[u128]) -> Vec<i64> {
    let sum: u128 = weights.iter().sum();
    if sum == 0 && !weights.is_empty() {
        return split_whole(total, &vec![1; weights.len()]);
    }
    let amount = total.unsigned_abs();
    let quotas: Vec<(u64, u128)> = weights.iter().map(|weight| quota(amount, *weight, sum)).collect();
    let floors: u64 = quotas.iter().map(|quota| quota.0).sum();
    let mut by_remainder: Vec<usize> = (0..quotas.len()).collect();
    by_remainder.sort_by_key(|&i| std::cmp::Reverse(quotas[i].1)); // stable: ties stay with the earlier
    let mut parts: Vec<u64> = quotas.iter().map(|quota| quota.0).collect();
    let mut left_over = amount - floors;
    for i in by_remainder {
        if left_over == 0 || weights[i] == 0 {
            break;
        }
        parts[i] += 1;
        left_over -= 1;
    }
    let signed = |part: u64| {
        if total < 0 { 0_i64.saturating_sub_unsigned(part) } else { 0_i64.saturating_add_unsigned(part) }
    };
    parts.into_iter().map(signed).collect()
}

/// total × weight ÷ sum as whole part and remainder, by long division bit by bit: the product may need 190 bits.
fn quota(total: u64, weight: u128, sum: u128) -> (u64, u128) {
    let (mut whole, mut rest) = (0_u64, 0_u128);
    for bit in (0..u64::BITS).rev() {
        whole <<= 1;
        rest <<= 1;
        for add in [0, if total >> bit & 1 == 1 { weight } else { 0 }] {
            rest += add;
            if rest >= sum {
                rest -= sum;
                whole += 1;
            }
        }
    }
    (whole, rest)
}

/// Decimals on one common scale. Weights so far apart in size that this needs more than 126 bits lose their last decimals.
fn in_whole_numbers(weights: &[Decimal]) -> Vec<u128> {
    let weights: Vec<Decimal> =
        weights.iter().map(|weight| (*weight).max(Decimal::ZERO).normalize()).collect();
    let mut scale = weights.iter().map(Decimal::scale).max().unwrap_or(0);
    loop {
        let scaled: Option<Vec<u128>> = weights.iter().map(|w| at_scale(*w, scale)).collect();
        let sum = scaled
            .as_ref()
            .and_then(|all| all.iter().try_fold(0_u128, |sum, weight| sum.checked_add(*weight)));
        match (scaled, sum) {
            (Some(scaled), Some(sum)) if sum < 1 << 126 => return scaled,
            _ if scale > 0 => scale -= 1,
            // A Decimal has 96 bits: without decimals, some 2^30 weights fit.
            _ => return vec![0; weights.len()],
        }
    }
}

fn at_scale(weight: Decimal, scale: u32) -> Option<u128> {
    let rounded = weight.round_dp(scale);
    let factor = 10_u128.checked_pow(scale - rounded.scale())?;
    rounded.mantissa().unsigned_abs().checked_mul(factor)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn ties_go_to_the_earlier() {
        assert_eq!(split_by(1, &[1, 1]), [1, 0]);
        assert_eq!(split_by(5, &[1, 2, 1]), [1, 3, 1]); // quotas 1.25, 2.5, 1.25
        assert_eq!(split_by(3, &[1, 1, 1, 1]), [1, 1, 1, 0]);
    }

    #[test]
    fn nothing_for_a_weight_of_zero_or_below() {
        assert_eq!(split_by(100, &[0, 3, 0]), [0, 100, 0]);
        let weights = [Decimal::new(-5, 0), Decimal::new(1, 28), Decimal::ZERO];
        assert_eq!(split(100, &weights), [0, 100, 0]);
    }

    #[test]
    fn the_ends_of_the_number_range_are_split_too() {
        assert_eq!(split_by(i64::MIN, &[7]), [i64::MIN]);
        assert_eq!(split_by(i64::MAX, &[u64::MAX, u64::MAX]), [i64::MAX / 2 + 1, i64::MAX / 2]);
        let far_apart = [Decimal::MAX, Decimal::new(1, 28)];
        assert_eq!(split(1_000, &far_apart), [1_000, 0]);
        assert!(split(5, &[]).is_empty());
    }

    #[test]
    fn money_shares_tie_to_the_cent() {
        // 40 %, 35 % and 25 % of 12 345.67, entered as percentages.
        let percent = [Decimal::new(40, 0), Decimal::new(35, 0), Decimal::new(25, 0)];
        assert_eq!(split(1_234_567, &percent), [493_827, 432_098, 308_642]);
    }

    proptest! {
        #[test]
        fn parts_sum_to_the_total_and_stay_within_one_of_their_quota(
            total in any::<i64>(),
            weights in prop::collection::vec(0_u64..1_000_000, 1..12),
        ) {
            let parts = split_by(total, &weights);
            prop_assert_eq!(parts.iter().map(|p| i128::from(*p)).sum::<i128>(), i128::from(total));
            let sum: i128 = weights.iter().map(|w| i128::from(*w)).sum();
            for (part, weight) in parts.iter().zip(&weights).filter(|_| sum > 0) {
                let off = i128::from(*part) * sum - i128::from(total) * i128::from(*weight);
                prop_assert!(off.abs() < sum, "part {} of weight {}", part, weight);
            }
        }

        #[test]
        fn decimal_weights_split_like_the_same_weights_in_whole_numbers(
            total in -1_000_000_i64..1_000_000,
            weights in prop::collection::vec(0_u32..10_000, 1..8),
        ) {
            let whole: Vec<u64> = weights.iter().map(|w| u64::from(*w)).collect();
            let decimal: Vec<Decimal> = weights.iter().map(|w| Decimal::new(i64::from(*w), 3)).collect();
            prop_assert_eq!(split(total, &decimal), split_by(total, &whole));
        }
    }
}
