//! How many of a lot are used, reserved and free.
//!
//! - used = what events have reserved that have passed since the lot was counted
//! - there now = counted − used
//! - free = counted − all that is reserved, never below 0
//!
//! Whole pieces, nothing is rounded. May import `ground` and the room's types.

use super::{Lot, Reservation};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, StockLotId};

/// A lot with what is reserved of it: only reservations that count (see the room's invariants).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holding {
    /// The lot.
    pub lot: Lot,
    /// By the event's day.
    pub reservations: Vec<Reservation>,
}

/// A lot as an order sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnHand {
    /// Which lot.
    pub lot: StockLotId,
    /// When it came.
    pub arrived_on: Day,
    /// When it was counted.
    pub counted_on: Day,
    /// How many were there then.
    pub on_hand: i64,
    /// Where it came from, what to remember.
    pub note: String,
    /// How many the order may take.
    pub free: i64,
    /// How many of it are kept for other events, by name.
    pub kept: Vec<(String, i64)>,
    /// How many of it are kept for the order's own events: these the order may take.
    pub own: Vec<(EventId, i64)>,
}

impl OnHand {
    /// What neither the order's own events nor others have reserved.
    #[must_use]
    pub fn unclaimed(&self) -> i64 {
        let own: i64 = self.own.iter().map(|(_, count)| count).sum();
        (self.free - own).max(0)
    }
}

impl Holding {
    /// What events before today have taken since the count.
    #[must_use]
    pub fn used(&self, today: Day) -> i64 {
        self.sum(|reservation| reservation.event_day < today)
    }

    /// What must lie there now, if nothing else happened: counted − used.
    #[must_use]
    pub fn there(&self, today: Day) -> i64 {
        (self.lot.on_hand - self.used(today)).max(0)
    }

    /// What is kept for events from today on.
    #[must_use]
    pub fn reserved(&self, today: Day) -> i64 {
        self.sum(|reservation| today <= reservation.event_day)
    }

    /// How many of what was reserved are not there: a count or a write-off took them.
    #[must_use]
    pub fn missing(&self) -> i64 {
        (self.sum(|_| true) - self.lot.on_hand).max(0)
    }

    /// What nobody has reserved.
    #[must_use]
    pub fn free(&self) -> i64 {
        self.free_for(&[])
    }

    /// What an order for these events may take: what nobody has reserved, and what is reserved for these events.
    #[must_use]
    pub fn free_for(&self, events: &[EventId]) -> i64 {
        (self.lot.on_hand - self.sum(|reservation| !events.contains(&reservation.event))).max(0)
    }

    /// The lot as an order for these events sees it.
    #[must_use]
    pub fn for_order(&self, events: &[EventId]) -> OnHand {
        let own = |reservation: &&Reservation| events.contains(&reservation.event);
        let others = self.reservations.iter().filter(|reservation| !own(reservation));
        OnHand {
            lot: self.lot.id,
            arrived_on: self.lot.arrived_on,
            counted_on: self.lot.counted_on,
            on_hand: self.lot.on_hand,
            note: self.lot.note.clone(),
            free: self.free_for(events),
            kept: others.map(|one| (one.event_name.clone(), one.count)).collect(),
            own: self.reservations.iter().filter(own).map(|one| (one.event, one.count)).collect(),
        }
    }

    fn sum(&self, of: impl Fn(&Reservation) -> bool) -> i64 {
        let counts = self.reservations.iter().filter(|reservation| of(reservation));
        counts.fold(0_i64, |sum, reservation| sum.saturating_add(reservation.count))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::ground::ids::{MaterialId, StockLotId};

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn holding(on_hand: i64, reserved: &[(i64, &str, i64)]) -> Holding {
        let lot = Lot {
            id: StockLotId(1),
            version: 1,
            material: MaterialId(1),
            arrived_on: day("2026-05-01"),
            on_hand,
            counted_on: day("2026-05-04"),
            note: String::new(),
        };
        let reservation = |(event, on, count): &(i64, &str, i64)| Reservation {
            id: *event,
            lot: lot.id,
            event: EventId(*event),
            event_name: format!("Event {event}"),
            event_day: day(on),
            count: *count,
        };
        Holding { reservations: reserved.iter().map(reservation).collect(), lot }
    }

    #[test]
    fn past_events_have_used_what_they_reserved() {
        let votives = holding(64, &[(1, "2026-05-09", 20), (2, "2026-05-16", 30)]);
        let figures = |today: &str| {
            let today = day(today);
            (votives.used(today), votives.there(today), votives.reserved(today), votives.free())
        };
        assert_eq!(figures("2026-05-08"), (0, 64, 50, 14));
        assert_eq!(figures("2026-05-10"), (20, 44, 30, 14));
        assert_eq!(figures("2026-05-17"), (50, 14, 0, 14));
        assert_eq!(votives.free_for(&[EventId(2)]), 44);
    }

    #[test]
    fn a_count_below_what_is_reserved_says_how_many_are_missing() {
        let votives = holding(10, &[(1, "2026-05-09", 8), (2, "2026-05-16", 5)]);
        assert_eq!((votives.free(), votives.missing(), votives.free_for(&[EventId(1)])), (0, 3, 5));
    }

    proptest! {
        /// Free is never below nothing; what all orders may take beside what is reserved is never more than is there;
        /// with more reserved nobody has more.
        #[test]
        fn nothing_is_promised_twice(
            on_hand in 0_i64..200, counts in prop::collection::vec((1_i64..5, 1_i64..60), 0..6), own in 1_i64..5,
        ) {
            let rows: Vec<(i64, &str, i64)> = counts.iter().map(|(event, count)| (*event, "2026-05-09", *count)).collect();
            let all = holding(on_hand, &rows);
            let reserved: i64 = rows.iter().map(|row| row.2).sum();
            prop_assert!(all.free() >= 0 && all.free() <= on_hand);
            if reserved <= on_hand {
                prop_assert_eq!(all.free() + reserved, on_hand);
                prop_assert_eq!(all.missing(), 0);
            } else {
                prop_assert_eq!((all.free(), all.missing()), (0, reserved - on_hand));
            }
            let others: i64 = rows.iter().filter(|row| row.0 != own).map(|row| row.2).sum();
            prop_assert!(all.free_for(&[EventId(own)]) + others <= on_hand.max(others));
            if let Some((_, fewer)) = rows.split_last() {
                prop_assert!(all.free_for(&[EventId(own)]) <= holding(on_hand, fewer).free_for(&[EventId(own)]));
                prop_assert!(all.free() <= holding(on_hand, fewer).free());
            }
        }
    }
}
