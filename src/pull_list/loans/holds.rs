//! Who holds how many on which days: a sweep over intervals of days (C10).
//!
//! The days on which a hold begins, or is over, are the only days on which what is booked changes; between two of them
//! it stays the same. So a material's bookings are a few stretches of days, each with those who hold something then.
//!
//! *Laws:* on every day what is booked is the sum of the holds that cover it; one hold more never makes a shortfall
//! smaller.
//!
//! May import: identities and days.

use std::collections::BTreeMap;

use crate::ground::dates::Day;
use crate::ground::ids::EventId;

/// One event's hold on one material, both days included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hold {
    /// Whose.
    pub event: EventId,
    /// The first day off the shelf.
    pub from: Day,
    /// The last day off the shelf.
    pub to: Day,
    /// How many.
    pub count: i64,
}

/// Days, both included, on which the same events hold the same numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    /// The first day.
    pub from: Day,
    /// The last day.
    pub to: Day,
    /// How many are held in all.
    pub booked: i64,
    /// Who holds how many, by event.
    pub by: Vec<(EventId, i64)>,
}

impl Stretch {
    /// How many more are held than are owned.
    #[must_use]
    pub fn short(&self, owned: i64) -> i64 {
        self.booked.saturating_sub(owned).max(0)
    }

    /// How many an event holds in it.
    #[must_use]
    pub fn held_by(&self, event: EventId) -> i64 {
        self.by.iter().find(|(holder, _)| *holder == event).map_or(0, |(_, count)| *count)
    }
}

/// The stretches of days on which anything is held, in order. Holds of nothing, and holds that end before they begin,
/// are no holds.
///
/// ```
/// use trug::ground::ids::EventId;
/// use trug::pull_list::loans::holds::{Hold, stretches};
/// let hold = |event, from: &str, to: &str, count| Hold {
///     event: EventId(event), from: from.parse().unwrap(), to: to.parse().unwrap(), count,
/// };
/// // 24 from Friday to Sunday, 16 from Saturday to Monday: 40 are out on Saturday and Sunday; 38 owned, 2 short.
/// let found = stretches(&[hold(3, "2026-05-15", "2026-05-17", 24), hold(4, "2026-05-16", "2026-05-18", 16)]);
/// assert_eq!(found.iter().map(|stretch| stretch.booked).collect::<Vec<_>>(), [24, 40, 16]);
/// assert_eq!((found[1].from.to_string(), found[1].to.to_string()), ("2026-05-16".into(), "2026-05-17".into()));
/// assert_eq!(found[1].short(38), 2);
/// ```
#[must_use]
pub fn stretches(holds: &[Hold]) -> Vec<Stretch> {
    let mut changes: BTreeMap<Day, Vec<(EventId, i64)>> = BTreeMap::new();
    for hold in holds.iter().filter(|hold| hold.count > 0 && hold.from <= hold.to) {
        changes.entry(hold.from).or_default().push((hold.event, hold.count));
        changes.entry(hold.to.plus(1)).or_default().push((hold.event, -hold.count));
    }
    let mut found: Vec<Stretch> = Vec::new();
    let mut held: BTreeMap<EventId, i64> = BTreeMap::new();
    let mut days = changes.into_iter().peekable();
    while let Some((from, changed)) = days.next() {
        for (event, change) in changed {
            let count = held.entry(event).or_default();
            *count = count.saturating_add(change);
        }
        held.retain(|_, count| *count > 0);
        let Some((next, _)) = days.peek() else { break };
        if !held.is_empty() {
            let booked = held.values().fold(0_i64, |sum, count| sum.saturating_add(*count));
            let by = held.iter().map(|(event, count)| (*event, *count)).collect();
            found.push(Stretch { from, to: next.plus(-1), booked, by });
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn start() -> Day {
        "2026-05-11".parse().unwrap()
    }

    fn hold((event, from, length, count): (i64, i64, i64, i64)) -> Hold {
        let from = start().plus(from);
        Hold { event: EventId(event), from, to: from.plus(length), count }
    }

    fn booked(holds: &[Hold], day: Day) -> i64 {
        holds.iter().filter(|hold| hold.from <= day && day <= hold.to).map(|hold| hold.count).sum()
    }

    fn swept(stretches: &[Stretch], day: Day) -> i64 {
        let on = stretches.iter().filter(|stretch| stretch.from <= day && day <= stretch.to);
        on.map(|stretch| stretch.booked).sum()
    }

    #[test]
    fn holds_of_nothing_and_backward_holds_are_none() {
        assert_eq!(stretches(&[]), []);
        assert_eq!(stretches(&[hold((1, 0, 3, 0)), hold((2, 5, -1, 4)), hold((3, 0, 1, -2))]), []);
    }

    #[test]
    fn one_event_may_hold_twice() {
        let found = stretches(&[hold((1, 0, 1, 4)), hold((1, 1, 1, 3)), hold((2, 1, 0, 5))]);
        let sums: Vec<i64> = found.iter().map(|stretch| stretch.booked).collect();
        assert_eq!(sums, [4, 12, 3]);
        assert_eq!(found[1].by, [(EventId(1), 7), (EventId(2), 5)]);
        assert_eq!((found[1].held_by(EventId(1)), found[1].held_by(EventId(9))), (7, 0));
    }

    #[test]
    fn giants_do_not_overflow() {
        let most = Hold { count: i64::MAX, ..hold((1, 0, 1, 1)) };
        let found = stretches(&[most, Hold { event: EventId(2), ..most }]);
        assert_eq!((found[0].booked, found[0].short(0)), (i64::MAX, i64::MAX));
    }

    proptest! {
        #[test]
        fn the_sweep_is_the_sum_day_by_day(
            holds in prop::collection::vec((0_i64..6, 0_i64..30, 0_i64..9, 0_i64..50), 0..14),
        ) {
            let holds: Vec<Hold> = holds.into_iter().map(hold).collect();
            let found = stretches(&holds);
            for day in (-2..45).map(|days| start().plus(days)) {
                prop_assert_eq!(swept(&found, day), booked(&holds, day), "{}", day);
            }
            prop_assert!(found.windows(2).all(|pair| pair[0].to < pair[1].from), "in order, each day once");
            let tied = |stretch: &Stretch| stretch.booked == stretch.by.iter().map(|(_, count)| count).sum::<i64>();
            prop_assert!(found.iter().all(tied));
        }

        #[test]
        fn one_hold_more_never_makes_a_shortfall_smaller(
            holds in prop::collection::vec((0_i64..6, 0_i64..30, 0_i64..9, 0_i64..50), 0..10),
            more in (0_i64..8, 0_i64..30, 0_i64..9, 0_i64..50),
            owned in 0_i64..120,
        ) {
            let mut holds: Vec<Hold> = holds.into_iter().map(hold).collect();
            let before = stretches(&holds);
            holds.push(hold(more));
            let after = stretches(&holds);
            for day in (-2..45).map(|days| start().plus(days)) {
                let short = |found: &[Stretch]| (swept(found, day) - owned).max(0);
                prop_assert!(short(&after) >= short(&before), "{}", day);
            }
        }
    }
}
