//! What the studio keeps of an event that was called off (C12): a share of the accepted total by the days before it.
//!
//! May import: plain values of the ground, the room's own table.

use super::CancellationStep;
use crate::ground::dates::Day;
use crate::ground::money::Money;
use crate::ground::quantity::Share;

/// What becomes of the money of a cancelled event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settled {
    /// Days from the day it was called off to the event; below nothing where that is past.
    pub days_before: i64,
    /// The share that is kept.
    pub share: Share,
    /// What is kept, with its tax.
    pub retained: Money,
    /// What is to be invoiced beside what was invoiced already.
    pub to_invoice: Money,
    /// What of the invoices is to be credited.
    pub to_credit: Money,
}

/// Settles an event called off on a day: the row with the fewest days that the days before the event do not exceed says the
/// share; with more days than any row names nothing is kept, with an empty table neither. The share of the accepted total
/// is rounded half up once. What was invoiced (after credits) above it is credited, what is missing is invoiced.
///
/// ```
/// use trug::accounts::{CancellationStep, cancellation::settle};
/// use trug::ground::{money::Money, quantity::Share};
/// let step = |days_before, retained| CancellationStep { days_before, retained: Share::from_raw(retained) };
/// let table = [step(60, 300_000), step(14, 800_000)];
/// let (off, event) = ("2026-04-20".parse().unwrap(), "2026-05-16".parse().unwrap());
/// let settled = settle(&table, (off, event), Money::from_minor(168_774), Money::from_minor(84_387));
/// // 26 days before: 30 % of 1687.74 is 506.32; 843.87 was invoiced.
/// assert_eq!((settled.retained.minor(), settled.to_credit.minor(), settled.to_invoice.minor()), (50_632, 33_755, 0));
/// ```
#[must_use]
pub fn settle(
    table: &[CancellationStep],
    (off, event): (Day, Day),
    total: Money,
    invoiced: Money,
) -> Settled {
    let days_before = event.days_after(off);
    let reached = table.iter().filter(|step| days_before <= step.days_before);
    let share = reached.min_by_key(|step| step.days_before).map_or(Share::default(), |step| step.retained);
    let retained = Money::rounded(total.decimal() * share.decimal());
    Settled {
        days_before,
        share,
        retained,
        to_invoice: (retained - invoiced).max(Money::ZERO),
        to_credit: (invoiced - retained).max(Money::ZERO),
    }
}

/// How much of each invoice is credited: the latest first, none more than is left of it. What is left of them is given
/// oldest first.
#[must_use]
pub fn credits(left: &[Money], to_credit: Money) -> Vec<Money> {
    let mut rest = to_credit;
    let mut credits = vec![Money::ZERO; left.len()];
    for (credit, left) in credits.iter_mut().zip(left).rev() {
        *credit = rest.min(*left).max(Money::ZERO);
        rest = rest - *credit;
    }
    credits
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn m(minor: i64) -> Money {
        Money::from_minor(minor)
    }

    fn table() -> [CancellationStep; 3] {
        let step = |days_before, per_cent: i64| CancellationStep {
            days_before,
            retained: Share::from_raw(per_cent * 10_000),
        };
        [step(90, 30), step(30, 50), step(7, 100)]
    }

    #[test]
    fn the_nearest_row_that_is_reached_decides() {
        let event: Day = "2026-06-30".parse().unwrap();
        let share =
            |days: i64| settle(&table(), (event.plus(-days), event), m(1_000), m(0)).share.raw() / 10_000;
        let shares = [91, 90, 31, 30, 8, 7, 0, -3].map(share);
        assert_eq!(shares, [0, 30, 30, 50, 50, 100, 100, 100]);
        assert_eq!(settle(&[], (event, event), m(1_000), m(300)).to_credit, m(300));
    }

    #[test]
    fn the_latest_invoice_is_credited_first() {
        assert_eq!(credits(&[m(300), m(400)], m(500)), [m(100), m(400)]);
        assert_eq!(credits(&[m(300), m(400)], m(0)), [m(0), m(0)]);
    }

    proptest! {
        /// What is kept is what was invoiced, less what is credited, plus what is invoiced now; all credits are given.
        #[test]
        fn what_is_kept_is_what_stays_invoiced(
            total in 0_i64..10_000_000, invoices in proptest::collection::vec(0_i64..4_000_000, 0..5), days in -10_i64..200,
        ) {
            let event: Day = "2026-06-30".parse().unwrap();
            let left: Vec<Money> = invoices.into_iter().map(m).collect();
            let invoiced: Money = left.iter().copied().sum();
            let settled = settle(&table(), (event.plus(-days), event), m(total), invoiced);
            prop_assert_eq!(invoiced - settled.to_credit + settled.to_invoice, settled.retained);
            let credits = credits(&left, settled.to_credit);
            prop_assert_eq!(credits.iter().copied().sum::<Money>(), settled.to_credit);
            prop_assert!(credits.iter().zip(&left).all(|(credit, left)| credit <= left));
            prop_assert!(settled.retained <= m(total).max(m(0)));
        }
    }
}
