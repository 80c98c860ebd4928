//! An event's payment as it stands: its parts with their amounts and days, what of them was invoiced, what is left.
//!
//! May import: plain values of the ground and of quotes, the room's own parts.

use std::collections::BTreeMap;

use super::instalments::{Instalment, amounts};
use crate::ground::dates::Day;
use crate::ground::ids::InstalmentId;
use crate::ground::money::Money;
use crate::quotes::document::{Document as Quote, InstalmentLine};
use crate::quotes::payment::{Due, Part};

/// A part with what it comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Planned {
    /// The part.
    pub instalment: Instalment,
    /// The day on which it is due.
    pub due_on: Day,
    /// What it comes to.
    pub amount: Money,
    /// Whether that was invoiced, and not credited whole since.
    pub invoiced: bool,
}

/// All parts of a payment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schedule {
    /// The parts, in order.
    pub parts: Vec<Planned>,
    /// What no part takes: above nothing where everything was invoiced and the total rose since, below nothing where it
    /// fell and a credit is due.
    pub unplanned: Money,
    /// What is not invoiced yet, parts and rest.
    pub left: Money,
}

/// On which days parts are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dates {
    /// The day of the acceptance.
    pub accepted_on: Day,
    /// The event's day.
    pub event: Day,
}

/// Reckons the parts of a total. `invoiced` is what was invoiced of each part after credits, `all` what was invoiced of
/// the event altogether.
#[must_use]
pub fn schedule(
    total: Money,
    parts: &[Instalment],
    dates: Dates,
    invoiced: &BTreeMap<InstalmentId, Money>,
    all: Money,
) -> Schedule {
    let of =
        |part: &Instalment| part.id.and_then(|id| invoiced.get(&id).copied()).filter(|sum| !sum.is_zero());
    let weighed: Vec<(Part, Option<Money>)> = parts.iter().map(|part| (part.part, of(part))).collect();
    // What was invoiced beside the parts (a cancellation, an instalment that was taken out) lowers what is to be parted.
    let of_parts: Money = weighed.iter().filter_map(|(_, invoiced)| *invoiced).sum();
    let (amounts, unplanned) = amounts(total - (all - of_parts), &weighed);
    let planned = parts.iter().zip(amounts).zip(&weighed).map(|((part, amount), (_, invoiced))| Planned {
        instalment: part.clone(),
        due_on: part.due.day(dates.accepted_on, dates.event),
        amount,
        invoiced: invoiced.is_some(),
    });
    Schedule { parts: planned.collect(), unplanned, left: total - all }
}

impl Schedule {
    /// The parts that are still to be invoiced, with their places.
    pub fn open(&self) -> impl Iterator<Item = (usize, &Planned)> {
        self.parts.iter().enumerate().filter(|(_, part)| !part.invoiced && !part.amount.is_zero())
    }

    /// Whether the part at a place is the last to be invoiced: then its invoice is the final one.
    #[must_use]
    pub fn is_last(&self, place: usize) -> bool {
        self.unplanned <= Money::ZERO && self.open().all(|(other, _)| other == place)
    }
}

/// The parts that an accepted version names, with the amounts it prints.
#[must_use]
pub fn of_quote(quote: &Quote) -> Vec<Instalment> {
    of_lines(&quote.instalments)
}

/// The parts that a version's payment schedule names. One without a day is due on acceptance if it is the first, else on
/// the event's day.
#[must_use]
pub fn of_lines(lines: &[InstalmentLine]) -> Vec<Instalment> {
    let part = |(place, line): (usize, &InstalmentLine)| Instalment {
        id: None,
        label: line.label.clone(),
        part: Part::Amount(line.amount),
        due: match line.due_on {
            Some(day) => Due::On(day),
            None if place == 0 => Due::Acceptance,
            None => Due::Before(0),
        },
    };
    lines.iter().enumerate().filter(|(_, line)| line.amount > Money::ZERO).map(part).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::accounts::samples;
    use crate::ground::quantity::Share;

    fn m(minor: i64) -> Money {
        Money::from_minor(minor)
    }

    fn dates() -> Dates {
        Dates { accepted_on: "2026-03-01".parse().unwrap(), event: "2026-05-16".parse().unwrap() }
    }

    fn parts() -> Vec<Instalment> {
        let part = |id, label: &str, share, due| Instalment {
            id: Some(InstalmentId(id)),
            label: label.into(),
            part: Part::Share(Share::from_raw(share)),
            due,
        };
        vec![part(1, "Deposit", 300_000, Due::Acceptance), part(2, "Rest", 700_000, Due::Before(14))]
    }

    #[test]
    fn the_last_open_part_makes_the_final_invoice() {
        let none = schedule(m(1_000), &parts(), dates(), &BTreeMap::new(), m(0));
        assert_eq!((none.is_last(0), none.is_last(1), none.left), (false, false, m(1_000)));
        let invoiced = BTreeMap::from([(InstalmentId(1), m(300))]);
        let one = schedule(m(1_000), &parts(), dates(), &invoiced, m(300));
        assert_eq!(
            (one.is_last(1), one.parts[1].amount, one.parts[1].due_on.to_string()),
            (true, m(700), "2026-05-02".into())
        );
    }

    #[test]
    fn what_was_credited_whole_is_open_again() {
        let credited = BTreeMap::from([(InstalmentId(1), m(0))]);
        let schedule = schedule(m(1_000), &parts(), dates(), &credited, m(0));
        assert_eq!(schedule.open().count(), 2);
    }

    #[test]
    fn a_final_invoice_takes_the_parts_it_covers() {
        // Everything was invoiced on the second part at once; the first is left at nothing.
        let invoiced = BTreeMap::from([(InstalmentId(2), m(1_000))]);
        let paid = schedule(m(1_000), &parts(), dates(), &invoiced, m(1_000));
        assert_eq!((paid.parts[0].amount, paid.open().count(), paid.left), (m(0), 0, m(0)));
        let fallen = schedule(m(900), &parts(), dates(), &invoiced, m(1_000));
        assert_eq!((fallen.unplanned, fallen.left), (m(-100), m(-100)));
    }

    #[test]
    fn a_quotes_own_schedule_is_taken_as_printed() {
        let mut quote = samples::quote(false);
        let line = |label: &str, due_on, amount| InstalmentLine {
            label: label.into(),
            share: Share::from_raw(500_000),
            due_on,
            amount: m(amount),
        };
        quote.instalments = vec![line("On booking", None, 84_387), line("On the day", None, 84_387)];
        let parts = of_quote(&quote);
        assert_eq!(parts.iter().map(|part| part.due).collect::<Vec<_>>(), [Due::Acceptance, Due::Before(0)]);
        let schedule = schedule(quote.total, &parts, dates(), &BTreeMap::new(), m(0));
        assert_eq!((schedule.parts[1].amount, schedule.unplanned), (m(84_387), m(0)));
    }
}
