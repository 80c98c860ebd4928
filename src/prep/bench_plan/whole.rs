//! From minutes to whole pieces a day: the second step after [`spread`](super::spread).
//!
//! Along a task's days its minutes add up; at the end of each day so many whole pieces are done as those minutes come to,
//! rounded half up, and at the end of its window all. So no piece leaves the window, counts are kept, and what comes before other
//! work still does: a part's last piece is done on the day on which its minutes are. A rounded piece may push a day over; then
//! single pieces are moved to another day of their window (parts still before what they go into) as long as that lessens the
//! overtime. What is left cannot be mended by moving any one piece, and is shown; the least possible stands beside it.
//!
//! A day's overtime is exact for its whole pieces: their minutes, within the stretch of the day that their windows leave, earliest
//! end first.
//!
//! May import: this room's `spread`.

use std::collections::{BTreeMap, BTreeSet};

use super::spread::{Load, Spell, Spread, least_overtime};

/// More single moves than this are not tried.
const MOST_MOVES: usize = 400;

/// Pieces of one task with one window.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pieces {
    /// The first spell of the window.
    pub first: usize,
    /// Its last spell.
    pub last: usize,
    /// How many.
    pub count: i64,
    /// Work of one.
    pub unit: i64,
    /// Which of the others are done before these, by their places.
    pub after: Vec<usize>,
}

impl Pieces {
    /// As work that can be divided.
    #[must_use]
    pub fn load(&self) -> Load {
        Load { first: self.first, last: self.last, work: super::tasks::work(self.count, self.unit) }
    }
}

/// How many pieces of each are done on which day.
pub type Days = Vec<BTreeMap<i64, i64>>;

/// Whole pieces a day of work that was spread.
#[must_use]
pub fn whole(spells: &[Spell], pieces: &[Pieces], spread: &Spread) -> Days {
    let rounded = pieces.iter().zip(&spread.done).map(|(of, done)| round(spells, of, done)).collect();
    let bench = Bench::new(spells, pieces);
    let mut days = bench.mend(rounded, spread.total_overtime());
    bench.before_others(&mut days);
    days
}

/// Overtime of each day, of work of whole pieces.
#[must_use]
pub fn overtime(spells: &[Spell], pieces: &[Pieces], days: &Days) -> BTreeMap<i64, i64> {
    let bench = Bench::new(spells, pieces);
    bench.spells_of.keys().map(|day| (*day, bench.overtime(days, *day))).collect()
}

/// As many pieces as the minutes up to the end of each day come to, rounded half up.
fn round(spells: &[Spell], of: &Pieces, done: &[(usize, i64)]) -> BTreeMap<i64, i64> {
    let mut minutes: BTreeMap<i64, i64> = BTreeMap::new();
    for (spell, work) in done {
        *minutes.entry(spells[*spell].day).or_default() += work;
    }
    if of.unit == 0 || minutes.is_empty() {
        return BTreeMap::from([(spells[of.last].day, of.count)]);
    }
    let (mut sum, mut before, mut days) = (0_i64, 0_i64, BTreeMap::new());
    let last = minutes.keys().next_back().copied();
    for (day, work) in minutes {
        sum += work;
        let upto = if Some(day) == last { of.count } else { ((sum + of.unit / 2) / of.unit).min(of.count) };
        if upto > before {
            days.insert(day, upto - before);
            before = upto;
        }
    }
    days
}

struct Bench<'a> {
    pieces: &'a [Pieces],
    /// The spells of each day, and where they begin among all.
    spells_of: BTreeMap<i64, (usize, &'a [Spell])>,
    /// Which others come after each.
    before: Vec<Vec<usize>>,
    /// Which others that take time are done before each, also by way of such that take none.
    timed_parts: Vec<Vec<usize>>,
    /// Which others that take time come after each, likewise.
    timed_wholes: Vec<Vec<usize>>,
    spells: &'a [Spell],
}

impl<'a> Bench<'a> {
    fn new(spells: &'a [Spell], pieces: &'a [Pieces]) -> Bench<'a> {
        let mut spells_of = BTreeMap::new();
        let mut at = 0;
        for day in spells.chunk_by(|one, other| one.day == other.day) {
            spells_of.insert(day[0].day, (at, day));
            at += day.len();
        }
        let mut before = vec![Vec::new(); pieces.len()];
        for (whole, of) in pieces.iter().enumerate() {
            for part in &of.after {
                before[*part].push(whole);
            }
        }
        let timed_parts: Vec<Vec<usize>> = (0..pieces.len()).map(|at| timed_parts(pieces, at)).collect();
        let mut timed_wholes = vec![Vec::new(); pieces.len()];
        for (whole, parts) in timed_parts.iter().enumerate().filter(|(whole, _)| pieces[*whole].unit > 0) {
            for part in parts {
                timed_wholes[*part].push(whole);
            }
        }
        Bench { pieces, spells_of, before, timed_parts, timed_wholes, spells }
    }

    /// Overtime of a day.
    fn overtime(&self, days: &Days, day: i64) -> i64 {
        let Some((from, spells)) = self.spells_of.get(&day) else { return 0 };
        let here = self.pieces.iter().zip(days).filter_map(|(of, days)| {
            let work = super::tasks::work(*days.get(&day)?, of.unit);
            let first = of.first.saturating_sub(*from).min(spells.len() - 1);
            let last = of.last.saturating_sub(*from).min(spells.len() - 1);
            Some(Load { first, last, work })
        });
        least_overtime(spells, &here.collect::<Vec<_>>())
    }

    /// What takes no time is done on its last day, but not after what it goes into.
    fn before_others(&self, days: &mut Days) {
        for at in (0..self.pieces.len()).rev().filter(|at| self.pieces[*at].unit == 0) {
            let of = &self.pieces[at];
            let first = self.before[at].iter().filter_map(|whole| days[*whole].keys().next().copied()).min();
            let last = self.spells[of.last].day;
            let day = first.map_or(last, |first| first.min(last)).max(self.spells[of.first].day);
            days[at] = BTreeMap::from([(day, of.count)]);
        }
    }

    /// Moves single pieces while that lessens the overtime.
    fn mend(&self, mut days: Days, least: i64) -> Days {
        let mut over: BTreeMap<i64, i64> =
            self.spells_of.keys().map(|day| (*day, self.overtime(&days, *day))).collect();
        for _ in 0..MOST_MOVES {
            if over.values().sum::<i64>() <= least || !self.move_one(&mut days, &mut over) {
                break;
            }
        }
        days
    }

    /// Moves the piece that lessens the overtime most, if one does; of those that lessen it as much, the one that leaves most
    /// work latest (minutes × days).
    fn move_one(&self, days: &mut Days, over: &mut BTreeMap<i64, i64>) -> bool {
        let full: Vec<i64> = over.iter().filter(|(_, over)| **over > 0).map(|(day, _)| *day).collect();
        let mut best = ((0, i64::MAX), None);
        for from in full {
            for at in (0..self.pieces.len()).filter(|at| days[*at].contains_key(&from)) {
                for to in self.free_days(days, at, from) {
                    let moved = shifted(days, at, from, to);
                    let gain =
                        over[&from] + over[&to] - self.overtime(&moved, from) - self.overtime(&moved, to);
                    let later = self.pieces[at].unit.saturating_mul(to - from);
                    if (gain, later) > best.0 {
                        best = ((gain, later), Some((at, from, to)));
                    }
                }
            }
        }
        let Some((at, from, to)) = best.1 else { return false };
        *days = shifted(days, at, from, to);
        for day in [from, to] {
            over.insert(day, self.overtime(days, day));
        }
        true
    }

    /// The other days of a task's window on which a piece of it may be done, others before and after considered.
    fn free_days(&self, days: &Days, at: usize, from: i64) -> Vec<i64> {
        let of = &self.pieces[at];
        if of.unit == 0 {
            return Vec::new();
        }
        // What takes no time moves along by itself.
        let last = |part: &usize| days[*part].keys().next_back().copied();
        let first = |whole: &usize| days[*whole].keys().next().copied();
        let after = self.timed_parts[at].iter().filter_map(last).max().unwrap_or(i64::MIN);
        let before = self.timed_wholes[at].iter().filter_map(first).min().unwrap_or(i64::MAX);
        let window = self.spells[of.first].day..=self.spells[of.last].day;
        window.filter(|day| *day != from && after <= *day && *day <= before).collect()
    }
}

/// The parts of a piece that take time; of a part that takes none, its own.
fn timed_parts(pieces: &[Pieces], at: usize) -> Vec<usize> {
    let (mut open, mut seen) = (pieces[at].after.clone(), BTreeSet::new());
    while let Some(part) = open.pop() {
        if seen.insert(part) && pieces[part].unit == 0 {
            open.extend(&pieces[part].after);
        }
    }
    seen.into_iter().filter(|part| pieces[*part].unit > 0).collect()
}

fn shifted(days: &Days, at: usize, from: i64, to: i64) -> Days {
    let mut moved = days.clone();
    let left = moved[at].get(&from).copied().unwrap_or(0) - 1;
    if left > 0 {
        moved[at].insert(from, left);
    } else {
        moved[at].remove(&from);
    }
    *moved[at].entry(to).or_default() += 1;
    moved
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::spread::spread;
    use super::*;

    fn pieces(first: usize, last: usize, count: i64, unit: i64) -> Pieces {
        Pieces { first, last, count, unit, after: Vec::new() }
    }

    fn planned(spells: &[Spell], pieces: &[Pieces]) -> (Days, Spread) {
        let loads: Vec<Load> = pieces.iter().map(Pieces::load).collect();
        let spread = spread(spells, &loads);
        (whole(spells, pieces, &spread), spread)
    }

    #[test]
    fn fourteen_bowls_over_two_days_are_whole() {
        // 14 × 24 minutes; 200 fit on Friday: 8.33 bowls there, 5.67 on Thursday.
        let spells = [Spell { day: 3, room: 480 }, Spell { day: 4, room: 200 }];
        let (days, _) = planned(&spells, &[pieces(0, 1, 14, 24)]);
        assert_eq!(days[0], BTreeMap::from([(3, 6), (4, 8)]));
    }

    #[test]
    fn a_piece_that_pushes_a_day_over_is_moved_where_there_is_room() {
        // Three of 100 minutes, 150 on either day: rounded to 2 and 1, 50 over; with 200 on Thursday none is.
        let (days, spread) =
            planned(&[Spell { day: 0, room: 200 }, Spell { day: 1, room: 150 }], &[pieces(0, 1, 3, 100)]);
        assert_eq!((spread.total_overtime(), days[0].clone()), (0, BTreeMap::from([(0, 2), (1, 1)])));
    }

    #[test]
    fn of_days_with_room_the_later_takes_the_moved_piece() {
        let spells = [(0, 100), (1, 130), (2, 100)].map(|(day, room)| Spell { day, room });
        let (days, _) = planned(&spells, &[pieces(0, 2, 3, 60)]);
        assert_eq!(days[0], BTreeMap::from([(1, 2), (2, 1)]));
    }

    #[test]
    fn of_full_days_the_one_whose_piece_goes_less_far_back_gives_it() {
        // Monday has 60 free; Tuesday and Wednesday are 60 over each, their pieces of 60 may go to Monday: Tuesday's is moved.
        let spells = [(0, 60), (1, 0), (2, 0)].map(|(day, room)| Spell { day, room });
        let pieces = [pieces(0, 2, 1, 60), pieces(0, 1, 1, 60)];
        let bench = Bench::new(&spells, &pieces);
        let mut days = vec![BTreeMap::from([(2, 1)]), BTreeMap::from([(1, 1)])];
        let mut over = BTreeMap::from([(0, 0), (1, 60), (2, 60)]);
        assert!(bench.move_one(&mut days, &mut over));
        assert_eq!(days, [BTreeMap::from([(2, 1)]), BTreeMap::from([(0, 1)])]);
        assert_eq!(over, BTreeMap::from([(0, 0), (1, 0), (2, 60)]));
    }

    #[test]
    fn order_holds_through_a_part_that_takes_no_time() {
        let spells = [(1, 75), (2, 65), (2, 58), (3, 63), (4, 57)].map(|(day, room)| Spell { day, room });
        let chain =
            |count, unit, after: &[usize]| Pieces { after: after.to_vec(), ..pieces(0, 4, count, unit) };
        let (days, _) =
            planned(&spells, &[chain(4, 24, &[]), chain(4, 17, &[0]), chain(1, 0, &[1]), chain(3, 20, &[2])]);
        for part in 0..3 {
            assert!(days[part].keys().next_back() <= days[part + 1].keys().next(), "{days:?}");
        }
    }

    prop_compose! {
        fn bench()(rooms in prop::collection::vec((0_i64..80, 0_i64..2), 1..6))(
            of in prop::collection::vec((0..rooms.len(), 0..rooms.len(), 1_i64..8, 0_i64..30, any::<bool>()), 1..7),
            rooms in Just(rooms),
        ) -> (Vec<Spell>, Vec<Pieces>) {
            let mut day = 0;
            let spells: Vec<Spell> = rooms.into_iter().map(|(room, later)| {
                day += later;
                Spell { day, room }
            }).collect();
            let mut all: Vec<Pieces> = Vec::new();
            for (one, other, count, unit, follows) in of {
                let (mut first, mut last, mut after) = (one.min(other), one.max(other), Vec::new());
                if follows && !all.is_empty() {
                    let part = all.len() - 1;
                    (first, last) = (first.max(all[part].first), last.max(all[part].last));
                    after.push(part);
                }
                all.push(Pieces { first, last, count, unit, after });
            }
            (spells, all)
        }
    }

    proptest! {
        #[test]
        fn pieces_are_whole_all_there_and_in_their_window((spells, pieces) in bench()) {
            let (days, spread) = planned(&spells, &pieces);
            for (of, days) in pieces.iter().zip(&days) {
                prop_assert_eq!(days.values().sum::<i64>(), of.count);
                let window = spells[of.first].day..=spells[of.last].day;
                prop_assert!(days.iter().all(|(day, count)| window.contains(day) && *count > 0));
            }
            for (at, of) in pieces.iter().enumerate() {
                for part in &of.after {
                    prop_assert!(days[*part].keys().next_back() <= days[at].keys().next());
                }
            }
            let over: i64 = overtime(&spells, &pieces, &days).values().sum();
            prop_assert!(over >= spread.total_overtime());
        }

        /// No single piece can be moved, within its window and its order, to lessen the overtime.
        #[test]
        fn no_overtime_is_left_that_one_move_would_mend((spells, pieces) in bench()) {
            let (days, _) = planned(&spells, &pieces);
            let bench = Bench::new(&spells, &pieces);
            let over = |days: &Days| overtime(&spells, &pieces, days).values().sum::<i64>();
            let now = over(&days);
            for at in 0..pieces.len() {
                for from in days[at].keys().copied().collect::<Vec<_>>() {
                    for to in bench.free_days(&days, at, from) {
                        prop_assert!(over(&shifted(&days, at, from, to)) >= now);
                    }
                }
            }
        }
    }
}
