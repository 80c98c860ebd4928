//! What a change does to the payment: parts stay as they were agreed, the last that has not fallen due takes the difference.
//! The account does the same with parts that were invoiced.
//!
//! May import: `rust_decimal`, the room's documents and plain values of the ground.

use rust_decimal::Decimal;

use crate::ground::dates::Day;
use crate::ground::largest_remainder::split;
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::quotes::Instalment;
use crate::quotes::document::InstalmentLine;

/// A payment that was agreed.
#[derive(Debug, Clone, Copy)]
pub struct AgreedPayment<'a> {
    /// Its parts.
    pub parts: &'a [InstalmentLine],
    /// As they were typed then.
    pub plan: &'a [Instalment],
}

/// The parts of a new total.
///
/// Due by `on` are parts of that day or earlier and a first part without a day (it is due on accepting). They keep their
/// amounts. A rise goes to the last of the others or, where none is left, makes a part of its own called `label`; a fall
/// lowers the others from the last on, then those that have fallen due: what was paid of them is given back. Where the parts
/// were typed anew, those that are not due share what is left by their typed shares, by largest remainder. Amounts are minor
/// units and add up to the total; shares are those of the new total.
///
/// ```
/// use trug::ground::{money::Money, quantity::Share};
/// use trug::quotes::change_note::payment::{AgreedPayment, parts};
/// use trug::quotes::{Instalment, document::InstalmentLine};
/// let line = |label: &str, share, due_on: Option<&str>, amount| InstalmentLine {
///     label: label.into(),
///     share: Share::from_raw(share),
///     due_on: due_on.and_then(|day| day.parse().ok()),
///     amount: Money::from_minor(amount),
/// };
/// let agreed = [line("On accepting", 300_000, None, 30_000), line("Rest", 700_000, Some("2026-06-01"), 70_000)];
/// let plan: Vec<Instalment> = agreed.iter().map(Instalment::from).collect();
/// // 1,000.00 became 1,120.00: the deposit stays 300.00, the rest becomes 820.00.
/// let payment = AgreedPayment { parts: &agreed, plan: &plan };
/// let now = parts(payment, &plan, Money::from_minor(112_000), "2026-05-04".parse().unwrap(), "Change note 1");
/// assert_eq!(now.iter().map(|part| part.amount.minor()).collect::<Vec<_>>(), [30_000, 82_000]);
/// ```
#[must_use]
pub fn parts(
    agreed: AgreedPayment,
    typed: &[Instalment],
    total: Money,
    on: Day,
    label: &str,
) -> Vec<InstalmentLine> {
    let (mut due, mut open) = fallen_due(agreed.parts, on);
    if typed != agreed.plan && !typed.is_empty() {
        let rest = total - due.iter().map(|part| part.amount).sum();
        open = shared_out(rest, not_due(typed, &due));
    }
    let sum: Money = due.iter().chain(&open).map(|part| part.amount).sum();
    let rise = total - sum;
    if rise < Money::ZERO {
        let left = lower(&mut open, -rise);
        lower(&mut due, left);
    } else if let Some(last) = open.last_mut() {
        last.amount += rise;
    } else {
        due.push(InstalmentLine { label: label.into(), share: Share::default(), due_on: None, amount: rise });
    }
    due.extend(open);
    due.retain(|part| !part.amount.is_zero());
    with_shares(due)
}

impl From<&InstalmentLine> for Instalment {
    fn from(line: &InstalmentLine) -> Instalment {
        Instalment { label: line.label.clone(), share: line.share, due_on: line.due_on }
    }
}

fn fallen_due(parts: &[InstalmentLine], on: Day) -> (Vec<InstalmentLine>, Vec<InstalmentLine>) {
    let is_due = |place: usize, part: &InstalmentLine| part.due_on.map_or(place == 0, |day| day <= on);
    let (due, open): (Vec<_>, Vec<_>) =
        parts.iter().cloned().enumerate().partition(|(place, part)| is_due(*place, part));
    let only = |parts: Vec<(usize, InstalmentLine)>| parts.into_iter().map(|(_, part)| part).collect();
    (only(due), only(open))
}

/// The typed parts without those that have fallen due, by what they are called.
fn not_due(typed: &[Instalment], due: &[InstalmentLine]) -> Vec<Instalment> {
    let mut open = typed.to_vec();
    for part in due {
        if let Some(at) = open.iter().position(|typed| typed.label.eq_ignore_ascii_case(&part.label)) {
            open.remove(at);
        }
    }
    open
}

/// What is left of a total, by the typed shares of its parts; nothing where nothing is left.
fn shared_out(rest: Money, parts: Vec<Instalment>) -> Vec<InstalmentLine> {
    let weights: Vec<Decimal> = parts.iter().map(|part| part.share.decimal()).collect();
    let amounts = split(rest.max(Money::ZERO).minor(), &weights);
    let line = |(part, amount): (Instalment, i64)| InstalmentLine {
        label: part.label,
        share: part.share,
        due_on: part.due_on,
        amount: Money::from_minor(amount),
    };
    parts.into_iter().zip(amounts).map(line).collect()
}

/// Takes an amount off parts, from the last on; what of it they do not hold.
fn lower(parts: &mut [InstalmentLine], mut excess: Money) -> Money {
    for part in parts.iter_mut().rev() {
        let off = excess.min(part.amount);
        part.amount = part.amount - off;
        excess = excess - off;
    }
    excess
}

/// Shares of the sum of the parts, in whole parts per million that add up.
fn with_shares(mut parts: Vec<InstalmentLine>) -> Vec<InstalmentLine> {
    let weights: Vec<Decimal> = parts.iter().map(|part| part.amount.decimal()).collect();
    let whole = Share::from_raw(1_000_000).raw();
    for (part, share) in parts.iter_mut().zip(split(whole, &weights)) {
        part.share = Share::from_raw(share);
    }
    parts
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn agreed(amounts: [i64; 3]) -> Vec<InstalmentLine> {
        let due = [None, Some(day("2026-05-10")), Some(day("2026-06-10"))];
        let line = |((label, due_on), amount)| InstalmentLine {
            label,
            share: Share::from_raw(333_333),
            due_on,
            amount: Money::from_minor(amount),
        };
        let labels = ["On accepting", "Second", "Third"].map(str::to_owned);
        labels.into_iter().zip(due).zip(amounts).map(line).collect()
    }

    fn of(total: i64, on: &str, typed: Option<&[Instalment]>) -> Vec<(String, i64)> {
        let parts_agreed = agreed([30_000, 30_000, 40_000]);
        let plan: Vec<Instalment> = parts_agreed.iter().map(Instalment::from).collect();
        let payment = AgreedPayment { parts: &parts_agreed, plan: &plan };
        let now = parts(payment, typed.unwrap_or(&plan), Money::from_minor(total), day(on), "Change note 1");
        now.into_iter().map(|part| (part.label, part.amount.minor())).collect()
    }

    fn amounts(total: i64, on: &str) -> Vec<i64> {
        of(total, on, None).into_iter().map(|(_, amount)| amount).collect()
    }

    #[test]
    fn parts_stay_and_the_last_that_is_not_due_takes_the_difference() {
        assert_eq!(amounts(107_000, "2026-05-04"), [30_000, 30_000, 47_000]);
        assert_eq!(amounts(107_000, "2026-05-10"), [30_000, 30_000, 47_000]);
        assert_eq!(amounts(55_000, "2026-05-04"), [30_000, 25_000]);
        assert_eq!(amounts(93_000, "2026-05-10"), [30_000, 30_000, 33_000]);
    }

    #[test]
    fn an_unchanged_total_changes_nothing() {
        assert_eq!(amounts(100_000, "2026-05-04"), [30_000, 30_000, 40_000]);
    }

    #[test]
    fn a_rise_after_the_last_part_makes_a_part_of_its_own() {
        let last = of(107_000, "2026-06-10", None).pop();
        assert_eq!(last, Some(("Change note 1".to_owned(), 7_000)));
    }

    #[test]
    fn less_than_what_has_fallen_due_lowers_the_latest_of_it() {
        assert_eq!(amounts(50_000, "2026-05-20"), [30_000, 20_000]);
        assert_eq!(amounts(0, "2026-05-20"), [0; 0]);
    }

    #[test]
    fn parts_typed_anew_share_the_rest_by_their_shares() {
        let typed = |label: &str, share| Instalment {
            label: label.into(),
            share: Share::from_raw(share),
            due_on: None,
        };
        let typed = [typed("On accepting", 300_000), typed("Week before", 350_000), typed("After", 350_000)];
        let now = of(110_001, "2026-05-04", Some(&typed));
        let labels: Vec<(&str, i64)> = now.iter().map(|(label, amount)| (label.as_str(), *amount)).collect();
        assert_eq!(labels, [("On accepting", 30_000), ("Week before", 40_001), ("After", 40_000)]);
    }

    proptest! {
        /// The parts add up to the new total, none is below nothing; what has fallen due stays unless the total is less.
        #[test]
        fn the_parts_add_up(
            was in [0_i64..1_000_000, 0..1_000_000, 0..1_000_000],
            total in 0_i64..4_000_000,
            at in 0_usize..3,
        ) {
            let on = ["2026-05-01", "2026-05-15", "2026-07-01"][at];
            let parts_agreed = agreed(was);
            let plan: Vec<Instalment> = parts_agreed.iter().map(Instalment::from).collect();
            let payment = AgreedPayment { parts: &parts_agreed, plan: &plan };
            let now = parts(payment, &plan, Money::from_minor(total), day(on), "Change note 1");
            prop_assert_eq!(now.iter().map(|part| part.amount.minor()).sum::<i64>(), total);
            prop_assert!(now.iter().all(|part| part.amount > Money::ZERO));
            let due: i64 = was[..=at].iter().sum();
            if total >= due {
                let kept = was[..=at].iter().filter(|amount| **amount > 0);
                prop_assert!(kept.zip(&now).all(|(was, now)| *was == now.amount.minor()));
            }
        }
    }
}
