//! In which parts a payment comes, how much each is and when it is due; what a new quote begins with.
//!
//! May import: plain values of the ground.

use super::Instalment;
use crate::ground::choice::choices;
use crate::ground::dates::Day;
use crate::ground::money::Money;
use crate::ground::quantity::Share;

/// How much of the total a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// A share of what the amounts leave.
    Share(Share),
    /// An amount.
    Amount(Money),
}

/// When a part is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Due {
    /// On the day on which the quote was accepted.
    Acceptance,
    /// So many days before the event.
    Before(i64),
    /// So many days after it.
    After(i64),
    /// On a day.
    On(Day),
}

choices! {
    /// From what the day on which a part is due is counted.
    DueKind {
        /// The day of the acceptance.
        Acceptance "acceptance" "on acceptance"
        /// Before the event's day.
        Before "before" "days before the event"
        /// After the event's day.
        After "after" "days after the event"
        /// A day that is typed.
        Day "day" "on a day"
    }
}

impl Part {
    /// A part from the two columns that keep it.
    #[must_use]
    pub fn of_columns(share: Option<Share>, amount: Option<Money>) -> Part {
        match (share, amount) {
            (Some(share), _) => Part::Share(share),
            (None, amount) => Part::Amount(amount.unwrap_or_default()),
        }
    }

    /// The two columns that keep it.
    #[must_use]
    pub fn columns(self) -> (Option<Share>, Option<Money>) {
        match self {
            Part::Share(share) => (Some(share), None),
            Part::Amount(amount) => (None, Some(amount)),
        }
    }
}

impl Due {
    /// The day on which it falls.
    ///
    /// ```
    /// use trug::quotes::payment::Due;
    /// let (accepted, event) = ("2026-03-01".parse().unwrap(), "2026-05-16".parse().unwrap());
    /// assert_eq!(Due::Before(14).day(accepted, event).to_string(), "2026-05-02");
    /// ```
    #[must_use]
    pub fn day(self, accepted_on: Day, event: Day) -> Day {
        match self {
            Due::Acceptance => accepted_on,
            Due::Before(days) => event.plus(-days),
            Due::After(days) => event.plus(days),
            Due::On(day) => day,
        }
    }

    /// A due day from the three columns that keep it.
    #[must_use]
    pub fn of_columns(kind: DueKind, days: i64, on: Option<Day>) -> Due {
        match (kind, on) {
            (DueKind::Day, Some(day)) => Due::On(day),
            (DueKind::Before, _) => Due::Before(days),
            (DueKind::After, _) => Due::After(days),
            (DueKind::Acceptance | DueKind::Day, _) => Due::Acceptance,
        }
    }

    /// The three columns that keep it.
    #[must_use]
    pub fn columns(self) -> (DueKind, i64, Option<Day>) {
        match self {
            Due::Acceptance => (DueKind::Acceptance, 0, None),
            Due::Before(days) => (DueKind::Before, days, None),
            Due::After(days) => (DueKind::After, days, None),
            Due::On(day) => (DueKind::Day, 0, Some(day)),
        }
    }
}

/// A part of the payment as the studio usually asks for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UsualPart {
    /// What it is called: "Deposit".
    pub label: String,
    /// How much.
    pub part: Part,
    /// When.
    pub due: Due,
}

/// The parts with which a new quote for an event on a day begins. A part that would have fallen due by today is due on acceptance.
/// A quote prints shares only, so it begins with none where a usual part is an amount: the event's account has that one then.
#[must_use]
pub fn beginning(usual: &[UsualPart], event: Day, today: Day) -> Vec<Instalment> {
    let begun = usual.iter().map(|usual| {
        let Part::Share(share) = usual.part else { return None };
        let due_on = match usual.due {
            Due::Acceptance => None,
            due => Some(due.day(today, event)).filter(|day| *day > today),
        };
        Some(Instalment { label: usual.label.clone(), share, due_on })
    });
    begun.collect::<Option<Vec<Instalment>>>().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(day: &str) -> Day {
        day.parse().unwrap()
    }

    fn usual() -> Vec<UsualPart> {
        let part = |label: &str, share, due| UsualPart {
            label: label.into(),
            part: Part::Share(Share::from_raw(share)),
            due,
        };
        vec![part("Deposit", 300_000, Due::Acceptance), part("Rest", 700_000, Due::Before(14))]
    }

    #[test]
    fn a_new_quote_begins_with_the_usual_parts() {
        let parts = beginning(&usual(), day("2026-05-16"), day("2026-03-01"));
        let told: Vec<_> = parts.iter().map(|part| (part.label.as_str(), part.due_on)).collect();
        assert_eq!(told, [("Deposit", None), ("Rest", Some(day("2026-05-02")))]);
        assert_eq!(parts[1].share, Share::from_raw(700_000));
    }

    #[test]
    fn what_would_be_late_already_is_due_on_acceptance() {
        for (today, due) in
            [("2026-05-01", Some(day("2026-05-02"))), ("2026-05-02", None), ("2026-05-10", None)]
        {
            assert_eq!(beginning(&usual(), day("2026-05-16"), day(today))[1].due_on, due, "{today}");
        }
    }

    #[test]
    fn with_an_amount_among_them_there_are_none() {
        let mut usual = usual();
        usual[0].part = Part::Amount(Money::from_minor(20_000));
        assert!(beginning(&usual, day("2026-05-16"), day("2026-03-01")).is_empty());
    }

    #[test]
    fn columns_keep_parts_and_due_days() {
        for part in [Part::Share(Share::from_raw(5)), Part::Amount(Money::from_minor(7))] {
            let (share, amount) = part.columns();
            assert_eq!(Part::of_columns(share, amount), part);
        }
        for due in [Due::Acceptance, Due::Before(3), Due::After(0), Due::On(day("2026-05-16"))] {
            let (kind, days, on) = due.columns();
            assert_eq!(Due::of_columns(kind, days, on), due);
        }
    }
}
