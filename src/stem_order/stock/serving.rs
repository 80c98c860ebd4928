//! Which lot serves which event: the oldest that still keeps first, since it dies first.
//!
//! May import `ground`.

use crate::ground::dates::Day;

/// Pieces that can be taken, all of one material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Supply {
    /// When they came.
    pub arrived: Day,
    /// How many are free.
    pub free: i64,
}

/// Pieces that an event wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Demand {
    /// When the event is.
    pub event_day: Day,
    /// How many.
    pub pieces: i64,
}

/// So many pieces of a supply for a want, both by their place.
pub type Served = (usize, usize, i64);

/// Serves wants from supplies of one material.
///
/// The last event is served first, since the fewest lots keep until then, each from the oldest lot that keeps for it; of
/// lots of one age, and of events on one day, the earlier in the list goes first. A lot that keeps for a day keeps for every
/// earlier one, so no choice takes away what another event could not have otherwise: as much is served as can be, and
/// whatever a plan has allotted to events in all can be handed out so.
///
/// ```
/// use trug::stem_order::stock::serving::{Supply, Demand, oldest_first};
/// let supplies = [Supply { arrived: "2026-05-12".parse()?, free: 5 }, Supply { arrived: "2026-05-10".parse()?, free: 5 }];
/// let wants = [Demand { event_day: "2026-05-15".parse()?, pieces: 6 }, Demand { event_day: "2026-05-16".parse()?, pieces: 3 }];
/// // Both keep five days: Saturday's can only come from Tuesday's lot.
/// let keeps = |arrived: trug::ground::dates::Day, event: trug::ground::dates::Day| event.days_after(arrived) <= 5;
/// assert_eq!(oldest_first(&supplies, &wants, keeps), [(0, 1, 3), (1, 0, 5), (0, 0, 1)]);
/// # Ok::<(), jiff::Error>(())
/// ```
#[must_use]
pub fn oldest_first(supplies: &[Supply], wants: &[Demand], keeps: impl Fn(Day, Day) -> bool) -> Vec<Served> {
    let mut left: Vec<i64> = supplies.iter().map(|supply| supply.free.max(0)).collect();
    let mut by_age: Vec<usize> = (0..supplies.len()).collect();
    by_age.sort_by_key(|at| supplies[*at].arrived);
    let mut last_first: Vec<usize> = (0..wants.len()).collect();
    last_first.sort_by_key(|at| std::cmp::Reverse(wants[*at].event_day));
    let mut served = Vec::new();
    for want in last_first {
        let mut open = wants[want].pieces;
        for supply in by_age.iter().copied().filter(|at| keeps(supplies[*at].arrived, wants[want].event_day))
        {
            let taken = open.min(left[supply]);
            if taken > 0 {
                served.push((supply, want, taken));
                left[supply] -= taken;
                open -= taken;
            }
        }
    }
    served
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn day(number: i64) -> Day {
        "2026-05-01".parse::<Day>().unwrap().plus(number)
    }

    proptest! {
        /// No lot is used beyond what is free or beyond its holding life, no want is overfilled; and no other way serves
        /// more in all (held against every cut: wants from a day on can have no more than the lots that keep until then).
        #[test]
        fn as_much_as_can_be_is_served_and_nothing_beyond_its_life(
            lots in prop::collection::vec((0_i64..8, 0_i64..20), 0..5),
            events in prop::collection::vec((4_i64..12, 0_i64..20), 0..5),
            life in 2_i64..7,
        ) {
            let supplies: Vec<Supply> = lots.iter().map(|(at, free)| Supply { arrived: day(*at), free: *free }).collect();
            let wants: Vec<Demand> = events.iter().map(|(at, pieces)| Demand { event_day: day(*at), pieces: *pieces }).collect();
            let keeps = |arrived: Day, event: Day| event.days_after(arrived) <= life;
            let served = oldest_first(&supplies, &wants, keeps);
            for (at, supply) in supplies.iter().enumerate() {
                let used: i64 = served.iter().filter(|share| share.0 == at).map(|share| share.2).sum();
                prop_assert!(used <= supply.free);
            }
            for (at, want) in wants.iter().enumerate() {
                let had: i64 = served.iter().filter(|share| share.1 == at).map(|share| share.2).sum();
                prop_assert!(had <= want.pieces);
            }
            for (supply, want, count) in &served {
                prop_assert!(*count > 0 && keeps(supplies[*supply].arrived, wants[*want].event_day));
            }
            let total: i64 = served.iter().map(|share| share.2).sum();
            let bound = (0..13).map(|from| {
                let early: i64 = wants.iter().filter(|want| want.event_day < day(from)).map(|want| want.pieces).sum();
                let late = supplies.iter().filter(|supply| keeps(supply.arrived, day(from)));
                early + late.map(|supply| supply.free).sum::<i64>()
            }).chain([wants.iter().map(|want| want.pieces).sum()]).min().unwrap();
            prop_assert_eq!(total, bound);
        }
    }
}
