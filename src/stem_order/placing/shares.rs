//! For whom the stems of a line are (C5): as placed, and where fewer come than were promised.

use super::PlacedShare;
use crate::ground::largest_remainder::split_by;
use crate::ground::money::Money;

/// What each event may expect of so many stems at so much in all, by what it was promised.
///
/// Stems: as promised while at least all promised stems come (what is over is nobody's), else split in proportion to the
/// promises by largest remainder. Goods: split in proportion to what each was to pay. Both tie: the stems to the smaller of
/// promised and expected, the goods to the goods.
pub(super) fn expected(promised: &[PlacedShare], stems: i64, goods: Money) -> Vec<PlacedShare> {
    let all: i64 = promised.iter().map(|share| share.stems).sum();
    let by_stems = if stems >= all {
        promised.iter().map(|share| share.stems).collect()
    } else {
        split_by(stems, &weights(promised.iter().map(|share| share.stems)))
    };
    let by_goods = if goods == promised.iter().map(|share| share.goods).sum() {
        promised.iter().map(|share| share.goods.minor()).collect()
    } else {
        split_by(goods.minor(), &weights(promised.iter().map(|share| share.goods.minor())))
    };
    let split = promised.iter().zip(by_stems.into_iter().zip(by_goods));
    split
        .map(|(share, (stems, goods))| PlacedShare { stems, goods: Money::from_minor(goods), ..*share })
        .collect()
}

/// Stems that events take of a material on a delivery, told apart by its lines: a row a line, a column an event.
///
/// The used stems are first split over the lines in proportion to what is on them, then each line's over the events in
/// proportion to what they still want. Rows sum to at most the line's stems, columns to what the event takes.
pub(super) fn by_line(on_lines: &[i64], taken: &[i64]) -> Vec<Vec<i64>> {
    let used = taken.iter().sum();
    let mut wanted = taken.to_vec();
    let used_of_each = split_by(used, &weights(on_lines.iter().copied()));
    let rows = used_of_each.into_iter().map(|used| {
        let row = split_by(used, &weights(wanted.iter().copied()));
        for (wanted, given) in wanted.iter_mut().zip(&row) {
            *wanted -= given;
        }
        row
    });
    rows.collect()
}

fn weights(numbers: impl Iterator<Item = i64>) -> Vec<u64> {
    numbers.map(|number| u64::try_from(number).unwrap_or(0)).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::ground::ids::EventId;

    fn promised(shares: &[(i64, i64)]) -> Vec<PlacedShare> {
        let share = |(id, (stems, goods)): (i64, &(i64, i64))| PlacedShare {
            event_id: EventId(id),
            stems: *stems,
            goods: Money::from_minor(*goods),
        };
        (1..).zip(shares).map(share).collect()
    }

    #[test]
    fn a_short_is_shared_in_proportion() {
        // 8 of 10 packs of 10 come: 80 stems over 60 : 36.
        let shares = expected(&promised(&[(60, 6_250), (36, 3_750)]), 80, Money::from_minor(8_000));
        let told: Vec<_> = shares.iter().map(|share| (share.stems, share.goods.minor())).collect();
        assert_eq!(told, [(50, 5_000), (30, 3_000)]);
    }

    #[test]
    fn what_is_over_is_nobodys() {
        let as_placed = promised(&[(60, 6_250), (36, 3_750)]);
        assert_eq!(expected(&as_placed, 100, Money::from_minor(10_000)), as_placed);
        assert_eq!(expected(&as_placed, 96, Money::from_minor(10_000)), as_placed);
    }

    #[test]
    fn nothing_comes_for_anybody_when_all_is_cancelled() {
        let shares = expected(&promised(&[(60, 6_250), (0, 0)]), 0, Money::ZERO);
        assert!(shares.iter().all(|share| share.stems == 0 && share.goods.is_zero()));
    }

    proptest! {
        /// Stems tie to what comes of the promise, goods to the goods, and nobody gets more than was promised.
        #[test]
        fn expected_shares_tie(
            shares in prop::collection::vec((0_i64..500, 0_i64..9_000), 1..6), stems in 0_i64..2_000, goods in 0_i64..50_000,
        ) {
            let promised = promised(&shares);
            let told = expected(&promised, stems, Money::from_minor(goods));
            let all: i64 = shares.iter().map(|share| share.0).sum();
            prop_assert_eq!(told.iter().map(|share| share.stems).sum::<i64>(), all.min(stems));
            prop_assert_eq!(told.iter().map(|share| share.goods).sum::<Money>(), Money::from_minor(goods));
            prop_assert!(told.iter().zip(&promised).all(|(told, promised)| (0..=promised.stems).contains(&told.stems)));
        }

        /// Every event gets what it takes, and no line gives more than is on it.
        #[test]
        fn lines_give_what_events_take(
            on_lines in prop::collection::vec(1_i64..300, 1..5), wants in prop::collection::vec(0_u64..100, 1..5), used in 0_i64..=100,
        ) {
            let all: i64 = on_lines.iter().sum();
            let taken = split_by(all * used / 100, &wants);
            let rows = by_line(&on_lines, &taken);
            for (row, on_line) in rows.iter().zip(&on_lines) {
                prop_assert!(row.iter().sum::<i64>() <= *on_line && row.iter().all(|stems| *stems >= 0));
            }
            for (event, taken) in taken.iter().enumerate() {
                prop_assert_eq!(rows.iter().map(|row| row[event]).sum::<i64>(), *taken);
            }
        }
    }
}
