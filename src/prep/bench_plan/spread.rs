//! Divisible work spread over the spells of some shifts: a transport problem, solved exactly in integers.
//!
//! A spell is a stretch of a day with so much room; work may be done in the spells of its window, in any pieces, by many
//! hands at once. Work beyond a spell's room is overtime. Least is, in this order: the overtime of all spells together; the
//! sum of minutes × days before the last day of their window (nothing is done earlier than it must be). Both depend only on
//! how much is done in each spell, so a least-cost flow finds these sums, and within them work is done by earliest end
//! of its window first, equal ends in the order given. Earliest end first places everything that can be placed where
//! windows are stretches of time (F. Glover, Maximum matching in a convex bipartite graph, 1967; for one machine that may be
//! interrupted: earliest deadline first is feasible if anything is, e.g. Dertouzos 1974; both from memory).
//!
//! Since earlier ends go first, work whose window begins and ends no later than another's, and stands before it in the order,
//! is done before it: that is how parts come before the pieces they go into without leaving the transport problem.
//!
//! Units: whatever the caller counts in (the plan: thousandths of a person-minute). No errors: every window holds a spell.
//!
//! May import: this room's `flow`.

use super::flow::Network;

/// More than any sum of days along a path: overtime always outweighs days.
const OVERTIME: i64 = 1 << 32;

/// A stretch of a shift, in order of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spell {
    /// On which day, as a running number.
    pub day: i64,
    /// How much can be done in it without overtime.
    pub room: i64,
}

/// Work that can be divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Load {
    /// The first spell of its window.
    pub first: usize,
    /// The last spell of its window, not before the first.
    pub last: usize,
    /// How much there is of it.
    pub work: i64,
}

/// What is done when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spread {
    /// For each load, how much of it is done in which spell.
    pub done: Vec<Vec<(usize, i64)>>,
    /// For each spell, how much more is done than there is room.
    pub overtime: Vec<i64>,
    /// Work × days before the last day of its window.
    pub early: i64,
}

impl Spread {
    /// Overtime of all spells together.
    #[must_use]
    pub fn total_overtime(&self) -> i64 {
        self.overtime.iter().sum()
    }
}

/// Spreads work over spells: least overtime, then as late as its windows allow.
///
/// ```
/// use trug::prep::bench_plan::spread::{Load, Spell, spread};
/// // Thursday and Friday of 480 minutes; 300 that may be done on either day, 400 on Friday only.
/// let week = [Spell { day: 0, room: 480 }, Spell { day: 1, room: 480 }];
/// let work = [Load { first: 0, last: 1, work: 300 }, Load { first: 1, last: 1, work: 400 }];
/// let spread = spread(&week, &work);
/// assert_eq!(spread.done, [vec![(0, 220), (1, 80)], vec![(1, 400)]]);
/// assert_eq!((spread.total_overtime(), spread.early), (0, 220));
/// ```
#[must_use]
pub fn spread(spells: &[Spell], loads: &[Load]) -> Spread {
    let sums = sums(spells, loads);
    let overtime = sums.iter().zip(spells).map(|(sum, spell)| (sum - spell.room).max(0)).collect();
    let done = earliest_end_first(&sums, loads);
    let early = |load: &Load, (at, work): &(usize, i64)| (spells[load.last].day - spells[*at].day) * work;
    let early =
        loads.iter().zip(&done).flat_map(|(load, done)| done.iter().map(move |part| early(load, part)));
    Spread { early: early.sum(), done, overtime }
}

/// How much is done in each spell.
fn sums(spells: &[Spell], loads: &[Load]) -> Vec<i64> {
    let windows = windows(loads);
    let (source, sink) = (windows.len() + spells.len(), windows.len() + spells.len() + 1);
    let mut network = Network::new(sink + 1);
    let ends: Vec<[usize; 2]> = (windows.len()..)
        .zip(spells)
        .map(|(node, spell)| {
            [network.arc(node, sink, spell.room, 0), network.arc(node, sink, i64::MAX / 4, OVERTIME)]
        })
        .collect();
    for (at, (first, last, work)) in windows.iter().enumerate() {
        network.arc(source, at, *work, 0);
        for spell in *first..=*last {
            let days = spells[*last].day - spells[spell].day;
            network.arc(at, windows.len() + spell, i64::MAX / 4, days);
        }
    }
    network.send(source, sink);
    ends.iter().map(|arcs| arcs.iter().map(|arc| network.flow(*arc)).sum()).collect()
}

/// Loads of one window are one.
fn windows(loads: &[Load]) -> Vec<(usize, usize, i64)> {
    let mut sums = std::collections::BTreeMap::new();
    for load in loads {
        *sums.entry((load.first, load.last)).or_insert(0) += load.work;
    }
    sums.into_iter().map(|((first, last), work)| (first, last, work)).collect()
}

/// Fills each spell to its sum, earliest end first; what no longer fits into its window is left.
pub(super) fn earliest_end_first(sums: &[i64], loads: &[Load]) -> Vec<Vec<(usize, i64)>> {
    let mut order: Vec<usize> = (0..loads.len()).collect();
    order.sort_by_key(|at| (loads[*at].last, *at));
    let mut left: Vec<i64> = loads.iter().map(|load| load.work).collect();
    let mut done = vec![Vec::new(); loads.len()];
    for (spell, sum) in sums.iter().enumerate() {
        let mut room = *sum;
        for &at in &order {
            let open = loads[at].first <= spell && spell <= loads[at].last;
            let some = left[at].min(room);
            if open && some > 0 {
                left[at] -= some;
                room -= some;
                done[at].push((spell, some));
            }
        }
    }
    done
}

/// The least overtime of work within its windows, without spreading it: all work less what fits, earliest end first.
#[must_use]
pub fn least_overtime(spells: &[Spell], loads: &[Load]) -> i64 {
    let rooms: Vec<i64> = spells.iter().map(|spell| spell.room).collect();
    let fits: i64 = earliest_end_first(&rooms, loads).iter().flatten().map(|(_, work)| work).sum();
    loads.iter().map(|load| load.work).sum::<i64>() - fits
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn week(rooms: &[i64]) -> Vec<Spell> {
        (0..).zip(rooms).map(|(day, room)| Spell { day, room: *room }).collect()
    }

    fn load(first: usize, last: usize, work: i64) -> Load {
        Load { first, last, work }
    }

    #[test]
    fn an_overfull_day_says_by_how_much_and_nothing_else_moves() {
        let spread = spread(&week(&[100, 100, 100]), &[load(2, 2, 130), load(0, 2, 90), load(0, 0, 20)]);
        assert_eq!(spread.overtime, [0, 0, 30]);
        assert_eq!(spread.done, [vec![(2, 130)], vec![(1, 90)], vec![(0, 20)]]);
        assert_eq!(spread.early, 90);
    }

    #[test]
    fn equal_windows_are_done_in_the_order_given() {
        let spread = spread(&week(&[50, 100]), &[load(0, 1, 60), load(0, 1, 60)]);
        assert_eq!(spread.done, [vec![(0, 20), (1, 40)], vec![(1, 60)]]);
    }

    #[test]
    fn no_shift_at_all_is_overtime_on_the_last_day() {
        let spread = spread(&week(&[0, 0]), &[load(0, 1, 60)]);
        assert_eq!((spread.overtime, spread.early), (vec![0, 60], 0));
    }

    prop_compose! {
        fn problem()(rooms in prop::collection::vec((0_i64..40, 0_i64..2), 1..7))(
            loads in prop::collection::vec((0..rooms.len(), 0..rooms.len(), 0_i64..30), 0..9),
            rooms in Just(rooms),
        ) -> (Vec<Spell>, Vec<Load>) {
            let mut day = 0;
            let spells = rooms.into_iter().map(|(room, later)| {
                day += later;
                Spell { day, room }
            });
            let loads = loads.into_iter().map(|(one, other, work)| load(one.min(other), one.max(other), work));
            (spells.collect(), loads.collect())
        }
    }

    /// One machine, minute by minute: of what may be done now, the earliest deadline; true if nothing comes too late.
    fn one_machine_can(spells: &[Spell], loads: &[Load]) -> bool {
        let mut left: Vec<i64> = loads.iter().map(|load| load.work).collect();
        for (now, spell) in spells.iter().enumerate() {
            for _ in 0..spell.room {
                let open = (0..loads.len()).filter(|at| loads[*at].first <= now && left[*at] > 0);
                if let Some(next) = open.min_by_key(|at| loads[*at].last) {
                    left[next] -= 1;
                }
            }
            if loads.iter().zip(&left).any(|(load, left)| load.last == now && *left > 0) {
                return false;
            }
        }
        true
    }

    /// The most that fits (Hall): over all sets of spells, their room and what cannot be done in them.
    fn hall(spells: &[Spell], loads: &[Load]) -> i64 {
        (0_u32..1 << spells.len())
            .map(|set| {
                let within = |load: &&Load| (load.first..=load.last).all(|at| set >> at & 1 == 1);
                let must: i64 = loads.iter().filter(within).map(|load| load.work).sum();
                let room: i64 =
                    spells.iter().enumerate().filter(|(at, _)| set >> at & 1 == 1).map(|(_, s)| s.room).sum();
                must - room
            })
            .max()
            .unwrap_or(0)
    }

    proptest! {
        #[test]
        fn everything_is_placed_inside_its_window((spells, loads) in problem()) {
            let spread = spread(&spells, &loads);
            let mut sums = vec![0; spells.len()];
            for (load, done) in loads.iter().zip(&spread.done) {
                prop_assert_eq!(done.iter().map(|(_, work)| work).sum::<i64>(), load.work);
                for (at, work) in done {
                    prop_assert!(*work > 0 && (load.first..=load.last).contains(at));
                    sums[*at] += work;
                }
            }
            for ((sum, spell), over) in sums.iter().zip(&spells).zip(&spread.overtime) {
                prop_assert_eq!((sum - spell.room).max(0), *over);
            }
        }

        #[test]
        fn overtime_is_what_hall_says_and_none_is_when_one_machine_can((spells, loads) in problem()) {
            let over = spread(&spells, &loads).total_overtime();
            prop_assert_eq!(over, hall(&spells, &loads));
            prop_assert_eq!(over, least_overtime(&spells, &loads));
            prop_assert_eq!(over == 0, one_machine_can(&spells, &loads));
        }

        /// What stands before another in the order and whose window begins and ends no later is done before it.
        #[test]
        fn parts_come_before_what_they_go_into((spells, loads) in problem()) {
            let spread = spread(&spells, &loads);
            for (part, whole) in (0..loads.len()).flat_map(|part| (part + 1..loads.len()).map(move |w| (part, w))) {
                let (one, other) = (loads[part], loads[whole]);
                if one.first <= other.first && one.last <= other.last {
                    let ends = spread.done[part].last().map_or(0, |(at, _)| *at);
                    let begins = spread.done[whole].first().map_or(usize::MAX, |(at, _)| *at);
                    prop_assert!(ends <= begins);
                }
            }
        }

        /// More room never makes more overtime, and later windows never make work earlier or more of it over.
        #[test]
        fn more_hands_never_hurt((spells, loads) in problem(), at in 0_usize..7, more in 1_i64..30) {
            let mut helped = spells.clone();
            let at = at % helped.len();
            helped[at].room += more;
            let (before, after) = (spread(&spells, &loads), spread(&helped, &loads));
            prop_assert!(after.total_overtime() <= before.total_overtime());
        }
    }
}
