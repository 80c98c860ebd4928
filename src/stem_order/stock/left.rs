//! What is left of deliveries once the events they were bought for have what they need.
//!
//! left = good − used, where used = need + spares kept back (none once the events are over) + lost at the bench −
//! what the events have from stock. What came first is used first, so what is left is of the latest deliveries.
//! Whole stems, nothing is rounded. May import `ground`.

use std::collections::BTreeSet;

use crate::ground::dates::Day;
use crate::ground::ids::{EventId, PlacedOrderId};

/// Orders that were placed for the same events, directly or over others' events, with all these events.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Together {
    /// The orders.
    pub orders: BTreeSet<PlacedOrderId>,
    /// The events.
    pub events: BTreeSet<EventId>,
}

/// Sorts orders by what they were placed for: orders that share an event belong together.
#[must_use]
pub fn together(pairs: &[(PlacedOrderId, EventId)]) -> Vec<Together> {
    let mut groups: Vec<Together> = Vec::new();
    for (order, event) in pairs {
        let touches = |group: &Together| group.orders.contains(order) || group.events.contains(event);
        let (mut mine, rest): (Vec<Together>, Vec<Together>) = groups.into_iter().partition(touches);
        let mut one = mine.pop().unwrap_or_default();
        for other in mine {
            one.orders.extend(other.orders);
            one.events.extend(other.events);
        }
        one.orders.insert(*order);
        one.events.insert(*event);
        groups = rest;
        groups.push(one);
    }
    groups
}

/// What of a material is used up or still wanted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Used {
    /// What the events need, whole.
    pub need: i64,
    /// Kept back against losses while the events are still to come.
    pub spare: i64,
    /// Lost at the bench.
    pub lost: i64,
    /// What the events have from stock.
    pub from_stock: i64,
}

impl Used {
    /// Stems of the deliveries that are used or still wanted.
    #[must_use]
    pub fn total(&self) -> i64 {
        (self.need + self.spare + self.lost - self.from_stock).max(0)
    }

    /// `need 91 + 12 spare + 3 lost at the bench − 6 from stock`
    #[must_use]
    pub fn working(&self) -> String {
        let mut words = vec![format!("need {}", self.need)];
        words.extend((self.spare > 0).then(|| format!("+ {} spare", self.spare)));
        words.extend((self.lost > 0).then(|| format!("+ {} lost at the bench", self.lost)));
        words.extend((self.from_stock > 0).then(|| format!("− {} from stock", self.from_stock)));
        words.join(" ")
    }
}

/// What is left of each delivery of a material, given its day and how many came good; deliveries of one day are used in
/// the order given.
///
/// ```
/// use trug::stem_order::stock::left::left;
/// let came = [("2026-05-14".parse()?, 60), ("2026-05-12".parse()?, 60)];
/// // 107 of 120 are used: all of Tuesday's, 47 of Thursday's.
/// assert_eq!(left(&came, 107), [13, 0]);
/// # Ok::<(), jiff::Error>(())
/// ```
#[must_use]
pub fn left(came: &[(Day, i64)], used: i64) -> Vec<i64> {
    let mut first: Vec<usize> = (0..came.len()).collect();
    first.sort_by_key(|at| came[*at].0);
    let mut left = vec![0; came.len()];
    let mut open = used.max(0);
    for at in first {
        let taken = open.min(came[at].1);
        left[at] = came[at].1 - taken;
        open -= taken;
    }
    left
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn orders_that_share_an_event_belong_together() {
        let pair = |order, event| (PlacedOrderId(order), EventId(event));
        let groups = together(&[pair(1, 1), pair(2, 2), pair(3, 3), pair(3, 1), pair(2, 4)]);
        let sorted: BTreeSet<Vec<i64>> =
            groups.iter().map(|group| group.orders.iter().map(|order| order.0).collect()).collect();
        assert_eq!(sorted, BTreeSet::from([vec![1, 3], vec![2]]));
        let of_two = groups.iter().find(|group| group.orders.contains(&PlacedOrderId(2))).unwrap();
        assert_eq!(of_two.events, BTreeSet::from([EventId(2), EventId(4)]));
    }

    #[test]
    fn the_working_names_what_counts() {
        let used = Used { need: 91, spare: 0, lost: 3, from_stock: 6 };
        assert_eq!(
            (used.total(), used.working().as_str()),
            (88, "need 91 + 3 lost at the bench − 6 from stock")
        );
        assert_eq!(Used { from_stock: 100, ..used }.total(), 0);
    }

    proptest! {
        /// What is left and what is used make up what came, as far as it reaches; nothing is left of an earlier delivery
        /// while a later one is used.
        #[test]
        fn what_is_left_ties_out(
            rows in prop::collection::vec((0_i64..5, 0_i64..40), 0..6), used in -5_i64..150,
        ) {
            let start: Day = "2026-05-11".parse().unwrap();
            let came: Vec<(Day, i64)> = rows.iter().map(|(at, good)| (start.plus(*at), *good)).collect();
            let rest = left(&came, used);
            let all: i64 = rows.iter().map(|row| row.1).sum();
            prop_assert_eq!(rest.iter().sum::<i64>(), (all - used.max(0)).max(0));
            for (one, has) in came.iter().zip(&rest) {
                prop_assert!((0..=one.1).contains(has));
                let later_used = came.iter().zip(&rest).any(|(other, left)| other.0 > one.0 && *left < other.1);
                prop_assert!(*has == 0 || !later_used);
            }
        }
    }
}
