//! Which days are too full together, by how much, because of what, and what would mend it.
//!
//! From a spell with overtime: all work that is done in it, all spells in which that work might be done instead, all work done in
//! those, and so on. All these spells are full (else the overtime would not be least), and all work done in them can be done
//! nowhere else: their work exceeds their room by exactly their overtime. That is Hall's condition, and names the tight days.
//! What would mend it is tried, not guessed: each proposal is spread anew.
//!
//! May import: this room's calculations.

use std::collections::BTreeSet;

use super::spread::{Load, Spell, Spread};

/// Spells that are too full together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tight {
    /// Which.
    pub spells: BTreeSet<usize>,
    /// The loads that can only be done in them, by their places.
    pub loads: Vec<usize>,
    /// How much there is to do.
    pub work: i64,
    /// How much there is room for.
    pub room: i64,
}

impl Tight {
    /// By how much they are too full.
    #[must_use]
    pub fn over(&self) -> i64 {
        self.work - self.room
    }
}

/// The sets of spells that are too full, each apart from the others, in order of time.
///
/// ```
/// use trug::prep::bench_plan::overfull::tight;
/// use trug::prep::bench_plan::spread::{Load, Spell, spread};
/// let week = [0, 1, 2].map(|day| Spell { day, room: 100 });
/// let work = [Load { first: 1, last: 2, work: 150 }, Load { first: 2, last: 2, work: 80 }, Load { first: 0, last: 0, work: 90 }];
/// let tight = tight(&week, &work, &spread(&week, &work));
/// assert_eq!(tight.len(), 1);
/// assert_eq!((tight[0].work, tight[0].room, tight[0].over()), (230, 200, 30));
/// assert_eq!(tight[0].loads, [0, 1]);
/// ```
#[must_use]
pub fn tight(spells: &[Spell], loads: &[Load], spread: &Spread) -> Vec<Tight> {
    let mut sets: Vec<(BTreeSet<usize>, BTreeSet<usize>)> = Vec::new();
    for (at, _) in spread.overtime.iter().enumerate().filter(|(_, over)| **over > 0) {
        let (mut full, mut within) = closed(at, loads, spread);
        // Sets that share a spell are one.
        sets.retain(|(spells, loads)| {
            let apart = spells.is_disjoint(&full);
            if !apart {
                full.extend(spells);
                within.extend(loads);
            }
            apart
        });
        sets.push((full, within));
    }
    let told = |(full, within): (BTreeSet<usize>, BTreeSet<usize>)| Tight {
        work: within.iter().map(|load| loads[*load].work).sum(),
        room: full.iter().map(|spell| spells[*spell].room).sum(),
        spells: full,
        loads: within.into_iter().collect(),
    };
    sets.into_iter().map(told).collect()
}

/// Everything that hangs on a spell.
fn closed(from: usize, loads: &[Load], spread: &Spread) -> (BTreeSet<usize>, BTreeSet<usize>) {
    let mut spells = BTreeSet::from([from]);
    let mut within: BTreeSet<usize> = BTreeSet::new();
    loop {
        let done_here = |at: &usize| spread.done[*at].iter().any(|(spell, _)| spells.contains(spell));
        let new: Vec<usize> = (0..loads.len()).filter(|at| !within.contains(at) && done_here(at)).collect();
        if new.is_empty() {
            return (spells, within);
        }
        for at in new {
            within.insert(at);
            spells.extend(loads[at].first..=loads[at].last);
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::spread::spread;
    use super::*;

    proptest! {
        /// All overtime is named, once; the work named can be done nowhere else and exceeds the room by the overtime.
        #[test]
        fn what_is_named_is_what_is_over(
            rooms in prop::collection::vec(0_i64..50, 1..7),
            ends in prop::collection::vec((0_usize..7, 0_usize..7, 1_i64..40), 0..9),
        ) {
            let spells: Vec<Spell> = (0..).zip(&rooms).map(|(day, room)| Spell { day, room: *room }).collect();
            let most = spells.len() - 1;
            let loads: Vec<Load> = ends.iter().map(|(one, other, work)| {
                let (one, other) = ((*one).min(most), (*other).min(most));
                Load { first: one.min(other), last: one.max(other), work: *work }
            }).collect();
            let spread = spread(&spells, &loads);
            let sets = tight(&spells, &loads, &spread);
            prop_assert_eq!(sets.iter().map(Tight::over).sum::<i64>(), spread.total_overtime());
            for set in sets {
                prop_assert!(set.over() > 0);
                for load in set.loads {
                    prop_assert!((loads[load].first..=loads[load].last).all(|spell| set.spells.contains(&spell)));
                }
            }
        }
    }
}
