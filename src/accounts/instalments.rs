//! An event's payment in parts (C4, C5): how much each comes to and when it is due, so that they add up to the total.
//!
//! May import: `rust_decimal`, plain values of the ground, the parts of a payment.

use rust_decimal::Decimal;

use crate::ground::ids::InstalmentId;
use crate::ground::largest_remainder::split;
use crate::ground::money::Money;
use crate::quotes::payment::{Due, Part, UsualPart};

/// A part of the payment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Instalment {
    /// Its identity, once an event has its own plan.
    pub id: Option<InstalmentId>,
    /// What it is called: "Deposit".
    pub label: String,
    /// How much.
    pub part: Part,
    /// When.
    pub due: Due,
}

impl From<UsualPart> for Instalment {
    fn from(usual: UsualPart) -> Instalment {
        Instalment { id: None, label: usual.label, part: usual.part, due: usual.due }
    }
}

impl From<&Instalment> for UsualPart {
    fn from(part: &Instalment) -> UsualPart {
        UsualPart { label: part.label.clone(), part: part.part, due: part.due }
    }
}

/// The amounts of the parts of a total.
///
/// What was invoiced of a part (after credits) is that part's amount for good. Of what is left, the open amounts take
/// theirs in order, as far as it goes; the open shares divide the rest in proportion by largest remainder (C5). Where
/// there is no open share, the last open part takes the rest. A total below what was invoiced leaves open parts at
/// nothing. Minor units, exact; no errors.
///
/// Returns the amounts and what no part takes: nothing, unless everything was invoiced and the total changed since
/// (below nothing: a credit is due). The amounts and that rest always add up to the total.
///
/// ```
/// use trug::accounts::instalments::amounts;
/// use trug::quotes::payment::Part;
/// use trug::ground::{money::Money, quantity::Share};
/// let third = Part::Share(Share::from_raw(333_333));
/// let rest = Part::Share(Share::from_raw(333_334));
/// let (parts, left) = amounts(Money::from_minor(10_000), &[(third, None), (third, None), (rest, None)]);
/// assert_eq!(parts.iter().map(|part| part.minor()).collect::<Vec<_>>(), [3_333, 3_333, 3_334]);
/// assert!(left.is_zero());
/// // The deposit of 30.00 was invoiced; then the total rose to 120.00.
/// let deposit = (Part::Amount(Money::from_minor(3_000)), Some(Money::from_minor(3_000)));
/// let (parts, _) = amounts(Money::from_minor(12_000), &[deposit, (Part::Amount(Money::from_minor(7_000)), None)]);
/// assert_eq!(parts[1], Money::from_minor(9_000));
/// ```
#[must_use]
pub fn amounts(total: Money, parts: &[(Part, Option<Money>)]) -> (Vec<Money>, Money) {
    let mut left = total - parts.iter().filter_map(|(_, invoiced)| *invoiced).sum();
    let mut amounts: Vec<Money> = parts.iter().map(|(_, invoiced)| invoiced.unwrap_or_default()).collect();
    let open = |place: &usize| parts[*place].1.is_none();
    if left <= Money::ZERO {
        return (amounts, left);
    }
    for place in (0..parts.len()).filter(open) {
        if let Part::Amount(amount) = parts[place].0 {
            amounts[place] = amount.clamp(Money::ZERO, left);
            left = left - amounts[place];
        }
    }
    let share = |place: &usize| matches!(parts[*place].0, Part::Share(_));
    let shares: Vec<usize> = (0..parts.len()).filter(open).filter(share).collect();
    if shares.is_empty() {
        if let Some(last) = (0..parts.len()).rfind(open) {
            amounts[last] += left;
            left = Money::ZERO;
        }
        return (amounts, left);
    }
    let weights: Vec<Decimal> = shares.iter().map(|place| weight(parts[*place].0)).collect();
    for (place, part) in shares.iter().zip(split(left.minor(), &weights)) {
        amounts[*place] = Money::from_minor(part);
    }
    (amounts, Money::ZERO)
}

fn weight(part: Part) -> Decimal {
    match part {
        Part::Share(share) => share.decimal(),
        Part::Amount(_) => Decimal::ZERO,
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::ground::quantity::Share;

    fn m(minor: i64) -> Money {
        Money::from_minor(minor)
    }

    fn share(per_cent: i64) -> Part {
        Part::Share(Share::from_raw(per_cent * 10_000))
    }

    #[test]
    fn a_third_of_ten_leaves_no_cent() {
        // 1000 over 1 : 1 : 1 is 334, 333, 333 (calculation C5).
        let (parts, left) = amounts(m(1_000), &[(share(33), None), (share(33), None), (share(33), None)]);
        assert_eq!((parts, left), (vec![m(334), m(333), m(333)], m(0)));
    }

    #[test]
    fn an_amount_comes_first_and_shares_divide_the_rest() {
        let parts = [(share(50), None), (Part::Amount(m(200)), None), (share(50), None)];
        assert_eq!(amounts(m(1_001), &parts).0, [m(401), m(200), m(400)]);
        assert_eq!(amounts(m(150), &parts).0, [m(0), m(150), m(0)], "it takes what there is");
    }

    #[test]
    fn what_was_invoiced_stays() {
        let parts = [(share(30), Some(m(300))), (share(40), None), (share(30), None)];
        assert_eq!(amounts(m(1_000), &parts).0, [m(300), m(400), m(300)]);
        assert_eq!(amounts(m(1_400), &parts).0, [m(300), m(629), m(471)], "1100 over 40 : 30");
        assert_eq!(amounts(m(250), &parts), (vec![m(300), m(0), m(0)], m(-50)), "a credit is due");
    }

    #[test]
    fn where_all_is_invoiced_the_rest_stands_alone() {
        assert_eq!(amounts(m(500), &[(share(100), Some(m(400)))]), (vec![m(400)], m(100)));
        assert_eq!(amounts(m(500), &[]), (vec![], m(500)));
    }

    fn any_part() -> impl Strategy<Value = (Part, Option<Money>)> {
        let part = prop_oneof![
            (1_i64..1_000_001).prop_map(|raw| Part::Share(Share::from_raw(raw))),
            (1_i64..5_000_000).prop_map(|minor| Part::Amount(m(minor))),
        ];
        (part, proptest::option::of((1_i64..2_000_000).prop_map(m)))
    }

    proptest! {
        #[test]
        fn parts_and_rest_are_the_total(
            total in 0_i64..1_000_000_000, parts in proptest::collection::vec(any_part(), 0..8),
        ) {
            let (amounts, left) = amounts(m(total), &parts);
            prop_assert_eq!(amounts.iter().copied().sum::<Money>() + left, m(total));
            prop_assert!(amounts.iter().all(|amount| *amount >= m(0)));
            for ((_, invoiced), amount) in parts.iter().zip(&amounts) {
                prop_assert!(invoiced.is_none_or(|invoiced| invoiced == *amount));
            }
            prop_assert!(left <= m(0) || parts.iter().all(|(_, invoiced)| invoiced.is_some()));
        }
    }
}
