//! What is known to differ from what was placed: packs and stems fewer or more, money, and the events it touches.
//!
//! May import `ground` and the room's own types.

use super::PlacedLine;
use crate::ground::ids::{EventId, PlacedLineId};
use crate::ground::money::Money;

/// A line of which other packs or another price are expected than were placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Short {
    /// Which line.
    pub line_id: PlacedLineId,
    /// Of what.
    pub name: String,
    /// Packs as placed.
    pub placed: i64,
    /// Packs as expected.
    pub expected: i64,
    /// Stems fewer than placed; below zero more.
    pub stems: i64,
    /// What the line costs more; below zero less.
    pub dearer: Money,
    /// Stems fewer than each event was promised, where any are.
    pub by_event: Vec<(EventId, i64)>,
}

impl Short {
    /// Missing stems that no event was promised: they would have been left over.
    #[must_use]
    pub fn over(&self) -> i64 {
        self.stems.max(0) - self.by_event.iter().map(|(_, stems)| stems).sum::<i64>()
    }
}

/// Every line that differs from what was placed.
#[must_use]
pub fn shorts<'a>(lines: impl Iterator<Item = &'a PlacedLine>) -> Vec<Short> {
    let differing =
        lines.filter(|line| line.expected_packs() != line.packs || line.expected_price() != line.price);
    differing.map(short).collect()
}

fn short(line: &PlacedLine) -> Short {
    let pairs = line.shares.iter().zip(line.expected_shares());
    let fewer = pairs.map(|(promised, comes)| (promised.event_id, promised.stems - comes.stems));
    Short {
        line_id: line.id,
        name: line.name.clone(),
        placed: line.packs,
        expected: line.expected_packs(),
        stems: line.stems() - line.expected_stems(),
        dearer: line.expected_goods() - line.goods(),
        by_event: fewer.filter(|(_, stems)| *stems > 0).collect(),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::stem_order::placing::AnswerKind;
    use crate::stem_order::samples::{answered, placed_line};

    #[test]
    fn a_short_says_whom_it_touches() {
        // 10 packs of 10 were placed for 60 and 36; 7 come: 26 of the 30 missing stems were promised.
        let line = answered(placed_line(10, &[(1, 60), (2, 36)]), AnswerKind::Confirmed, 7, 520);
        let [short] = shorts([&line, &placed_line(3, &[(1, 30)])].into_iter()).try_into().unwrap();
        assert_eq!((short.placed, short.expected, short.stems, short.over()), (10, 7, 30, 4));
        assert_eq!(short.by_event, [(EventId(1), 16), (EventId(2), 10)]);
        assert_eq!(short.dearer, Money::from_minor(7 * 520 - 10 * 500));
    }

    #[test]
    fn another_price_is_told_without_a_short() {
        let line = answered(placed_line(10, &[(1, 60)]), AnswerKind::Confirmed, 10, 450);
        let [short] = shorts([&line].into_iter()).try_into().unwrap();
        assert_eq!((short.stems, short.dearer, short.by_event.len()), (0, Money::from_minor(-500), 0));
        let more = answered(placed_line(10, &[(1, 60)]), AnswerKind::Confirmed, 12, 500);
        let [short] = shorts([&more].into_iter()).try_into().unwrap();
        assert_eq!((short.stems, short.over()), (-20, 0));
    }

    proptest! {
        /// Stems missing = stems missing at events + those nobody was promised.
        #[test]
        fn what_is_missing_is_missing_somewhere(
            packs in 1_i64..40, comes in 0_i64..60, price in 0_i64..900, shares in prop::collection::vec(0_i64..90, 1..4),
        ) {
            let promised: Vec<(i64, i64)> = (1..).zip(shares).collect();
            prop_assume!(promised.iter().map(|(_, stems)| stems).sum::<i64>() <= packs * 10);
            let line = answered(placed_line(packs, &promised), AnswerKind::Confirmed, comes, price);
            for short in shorts([&line].into_iter()) {
                prop_assert!(short.over() >= 0);
                prop_assert_eq!(line.goods() + short.dearer, line.expected_goods());
                prop_assert!(short.by_event.iter().all(|(_, stems)| *stems > 0));
            }
        }
    }
}
