//! All choices worth having: one alternative a group, so that no other choice costs no more and is worth no less.
//!
//! The exact method of the multiple-choice knapsack by lists of undominated states (G. L. Nemhauser and Z. Ullmann,
//! "Discrete dynamic programming and capital allocation", Management Science 15 (1969) 494–505): the groups are taken
//! in one after the other, and only states that no other dominates are carried on. What an alternative costs is kept by tax
//! rate, since the total of a quote rises with each of these sums.
//!
//! May import: nothing of the house.

use std::collections::BTreeMap;

/// More undominated states than this are not carried on.
pub const MOST_STATES: usize = 100_000;

/// What one way of making a group costs and is worth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cost {
    /// What it comes to under each tax rate, in minor units.
    pub nets: Vec<i64>,
    /// What it is worth.
    pub worth: i64,
}

/// One way for each group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// What it comes to under each tax rate, in minor units.
    pub nets: Vec<i64>,
    /// What it is worth.
    pub worth: i64,
    /// Which way each group is made, in their order.
    pub picks: Vec<usize>,
}

/// There are too many undominated choices.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("there are more than {MOST_STATES} choices worth having")]
pub struct TooMany;

/// A choice among the first groups: where it came from, so that the picks can be read back.
struct State {
    nets: Vec<i64>,
    worth: i64,
    from: usize,
    pick: usize,
}

/// The undominated choices, by what they cost under the first rate, then the second, and so on.
///
/// Choice A dominates B where it costs no more under any rate and is worth no less; of equal choices the first stays. A
/// group without ways leaves nothing to choose, so there is no choice at all.
///
/// ```
/// use trug::quotes::budget::frontier::{Cost, frontier};
/// let way = |net: i64, worth: i64| Cost { nets: vec![net], worth };
/// let choices = frontier(&[
///     vec![way(60, 6), way(100, 10)],
///     vec![way(30, 2), way(50, 5)],
/// ])?;
/// // 90, 110 and 150 are worth 8, 11 and 15; 130 for 12 is worth having too.
/// assert_eq!(choices.iter().map(|choice| (choice.nets[0], choice.worth)).collect::<Vec<_>>(),
///     [(90, 8), (110, 11), (130, 12), (150, 15)]);
/// # Ok::<(), trug::quotes::budget::frontier::TooMany>(())
/// ```
///
/// # Errors
/// More than [`MOST_STATES`] undominated choices on the way.
pub fn frontier(groups: &[Vec<Cost>]) -> Result<Vec<Choice>, TooMany> {
    let rates = groups.iter().flatten().map(|way| way.nets.len()).max().unwrap_or(0);
    let nothing = State { nets: vec![0; rates], worth: 0, from: 0, pick: 0 };
    let mut layers = vec![vec![nothing]];
    for ways in groups {
        let before = layers.last().map_or(&[][..], Vec::as_slice);
        let next = undominated(grown(before, ways));
        if next.len() > MOST_STATES {
            return Err(TooMany);
        }
        layers.push(next);
    }
    let last = layers.last().map_or(0, Vec::len);
    Ok((0..last).map(|at| read_back(&layers, at)).collect())
}

/// Every state with every way of the next group.
fn grown(before: &[State], ways: &[Cost]) -> Vec<State> {
    let with = |(from, state): (usize, &State), (pick, way): (usize, &Cost)| State {
        nets: sums(&state.nets, &way.nets),
        worth: state.worth + way.worth,
        from,
        pick,
    };
    before
        .iter()
        .enumerate()
        .flat_map(|state| ways.iter().enumerate().map(move |way| with(state, way)))
        .collect()
}

fn sums(one: &[i64], other: &[i64]) -> Vec<i64> {
    one.iter().enumerate().map(|(rate, net)| net + other.get(rate).copied().unwrap_or(0)).collect()
}

fn undominated(mut states: Vec<State>) -> Vec<State> {
    states.sort_by(|a, b| (&a.nets, -a.worth, a.from, a.pick).cmp(&(&b.nets, -b.worth, b.from, b.pick)));
    let mut kept = Kept::default();
    states.retain(|state| kept.takes(&state.nets, state.worth));
    states
}

/// What is kept so far, of states that come in the order of their first sum.
#[derive(Default)]
struct Kept {
    /// For up to two rates: the most worth by the second sum, rising in both.
    stairs: BTreeMap<i64, i64>,
    /// For more rates: all of them.
    all: Vec<(Vec<i64>, i64)>,
}

impl Kept {
    /// Whether nothing kept dominates the state; it is kept then.
    fn takes(&mut self, nets: &[i64], worth: i64) -> bool {
        if nets.len() > 2 {
            let dominated = self
                .all
                .iter()
                .any(|(kept, more)| *more >= worth && kept.iter().zip(nets).all(|(kept, net)| kept <= net));
            self.all.extend((!dominated).then(|| (nets.to_vec(), worth)));
            return !dominated;
        }
        let second = nets.get(1).copied().unwrap_or(0);
        if self.stairs.range(..=second).next_back().is_some_and(|(_, most)| *most >= worth) {
            return false;
        }
        let below: Vec<i64> = self
            .stairs
            .range(second..)
            .take_while(|(_, most)| **most <= worth)
            .map(|(net, _)| *net)
            .collect();
        for net in below {
            self.stairs.remove(&net);
        }
        self.stairs.insert(second, worth);
        true
    }
}

fn read_back(layers: &[Vec<State>], mut at: usize) -> Choice {
    let end = layers.last().and_then(|layer| layer.get(at));
    let (nets, worth) = end.map_or_else(|| (Vec::new(), 0), |state| (state.nets.clone(), state.worth));
    let mut picks = Vec::new();
    for layer in layers.iter().skip(1).rev() {
        let Some(state) = layer.get(at) else { continue };
        picks.push(state.pick);
        at = state.from;
    }
    picks.reverse();
    Choice { nets, worth, picks }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Every choice there is.
    fn all(groups: &[Vec<Cost>]) -> Vec<(Vec<i64>, i64)> {
        let rates = groups.iter().flatten().map(|way| way.nets.len()).max().unwrap_or(0);
        groups.iter().fold(vec![(vec![0; rates], 0)], |before, ways| {
            let with =
                |(nets, worth): &(Vec<i64>, i64), way: &Cost| (sums(nets, &way.nets), worth + way.worth);
            before
                .iter()
                .flat_map(|state| ways.iter().map(|way| with(state, way)).collect::<Vec<_>>())
                .collect()
        })
    }

    fn groups(rates: usize) -> impl Strategy<Value = Vec<Vec<Cost>>> {
        let way = (proptest::collection::vec(0_i64..40, rates), 0_i64..12)
            .prop_map(|(nets, worth)| Cost { nets, worth });
        proptest::collection::vec(proptest::collection::vec(way, 1..4), 1..6)
    }

    fn checked(groups: &[Vec<Cost>]) {
        let found = frontier(groups).unwrap();
        for choice in &found {
            let ways: Vec<&Cost> =
                groups.iter().zip(&choice.picks).map(|(ways, pick)| &ways[*pick]).collect();
            assert_eq!(choice.picks.len(), groups.len());
            assert_eq!(choice.worth, ways.iter().map(|way| way.worth).sum::<i64>());
            for (rate, net) in choice.nets.iter().enumerate() {
                assert_eq!(*net, ways.iter().map(|way| way.nets[rate]).sum::<i64>());
            }
        }
        let dominates = |a: (&[i64], i64), b: (&[i64], i64)| {
            a.1 >= b.1 && a.0.iter().zip(b.0).all(|(one, other)| one <= other)
        };
        for (nets, worth) in all(groups) {
            assert!(found.iter().any(|choice| dominates((&choice.nets, choice.worth), (&nets, worth))));
        }
        for (at, one) in found.iter().enumerate() {
            for other in found.iter().skip(at + 1) {
                assert!(!dominates((&one.nets, one.worth), (&other.nets, other.worth)));
                assert!(!dominates((&other.nets, other.worth), (&one.nets, one.worth)));
            }
        }
    }

    proptest! {
        /// Every choice there is is dominated by one that was found, and none of those by another.
        #[test]
        fn nothing_worth_having_is_missing(one in groups(1), two in groups(2), three in groups(3)) {
            checked(&one);
            checked(&two);
            checked(&three);
        }
    }

    #[test]
    fn nothing_to_choose_costs_nothing_and_a_group_without_ways_leaves_no_choice() {
        assert_eq!(frontier(&[]).unwrap(), [Choice { nets: vec![], worth: 0, picks: vec![] }]);
        assert_eq!(frontier(&[vec![]]).unwrap(), []);
    }

    #[test]
    fn too_many_choices_are_refused() {
        // Powers of two: every one of the 2^20 sums is another, and none dominates.
        let ways = |power: u32| {
            vec![Cost { nets: vec![0], worth: 0 }, Cost { nets: vec![1 << power], worth: 1 << power }]
        };
        let groups: Vec<Vec<Cost>> = (0..20).map(ways).collect();
        assert_eq!(frontier(&groups), Err(TooMany));
    }
}
