//! Worked examples, refusals and laws of the cutting list.

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::{CuttingError, Layout, lay_out, lay_out_within};

const INCH: i64 = 25_400;

fn stock_of(stock_length: i64, pieces: &[(i64, u64)]) -> (u64, bool) {
    let layout = lay_out(stock_length, pieces).unwrap();
    assert_layout(&layout, stock_length, pieces);
    (layout.stock_pieces, layout.proven)
}

/// Every piece cut exactly as often as demanded, every pattern within the stock, all sums as said.
fn assert_layout(layout: &Layout, stock_length: i64, pieces: &[(i64, u64)]) {
    let mut cut = BTreeMap::new();
    for pattern in &layout.patterns {
        let used: i64 = pattern.cuts.iter().map(|&(l, n)| l * i64::try_from(n).unwrap()).sum();
        assert!(pattern.waste >= 0 && pattern.times > 0 && used > 0);
        assert_eq!(used + pattern.waste, stock_length);
        for &(length, count) in &pattern.cuts {
            *cut.entry(length).or_insert(0) += count * pattern.times;
        }
    }
    let mut demanded = BTreeMap::new();
    for &(length, count) in pieces.iter().filter(|piece| piece.1 > 0) {
        *demanded.entry(length).or_insert(0) += count;
    }
    assert_eq!(cut, demanded);
    let times: Vec<u64> = layout.patterns.iter().map(|p| p.times).collect();
    assert!(times.is_sorted_by(|a, b| a >= b));
    assert_eq!(times.iter().sum::<u64>(), layout.stock_pieces);
    assert!(layout.lower_bound <= layout.stock_pieces);
    assert_eq!(layout.proven, layout.lower_bound == layout.stock_pieces);
}

#[test]
fn pooled_lengths_share_stems() {
    let both = [(10 * INCH, 40), (7 * INCH, 60)];
    assert_eq!(stock_of(27 * INCH, &both), (34, true));
    assert_eq!(stock_of(27 * INCH, &both[..1]), (20, true));
    assert_eq!(stock_of(27 * INCH, &both[1..]), (20, true));
}

#[test]
fn one_length_divides_evenly() {
    assert_eq!(stock_of(27 * INCH, &[(139_700, 168)]), (42, true));
    assert_eq!(stock_of(7, &[(7, 3)]), (3, true));
}

#[test]
fn nothing_to_cut_needs_no_stock() {
    assert_eq!(stock_of(10, &[]), (0, true));
    assert_eq!(stock_of(10, &[(5, 0), (-3, 0)]), (0, true));
}

/// 5 × 44, 7 × 33 and 17 × 12 on 132: the relaxation is 4.96, and yet five stock pieces do not do. They would have 5 to
/// waste; only 3 × 44, 4 × 33, 11 × 12 (0), 33 + 8 × 12 (3) and 44 + 7 × 12 (4) waste so little, and no two of the last
/// are affordable, so that the 44s would have to come as 3 + 1 or 3 + 3.
const GAP: [(i64, u64); 3] = [(44, 5), (33, 7), (12, 17)];

#[test]
fn a_gap_above_the_relaxation_is_proven_by_search() {
    assert_eq!(stock_of(132, &GAP), (6, true));
}

#[test]
fn refusals_name_the_length() {
    let refused = |stock, pieces: &[(i64, u64)]| lay_out(stock, pieces).unwrap_err();
    assert_eq!(refused(0, &[(1, 1)]), CuttingError::StockNotPositive(0));
    assert_eq!(refused(9, &[(0, 1)]), CuttingError::PieceNotPositive(0));
    assert_eq!(refused(9, &[(-4, 1)]), CuttingError::PieceNotPositive(-4));
    assert_eq!(refused(9, &[(3, 1), (10, 2)]), CuttingError::PieceTooLong { length: 10, stock_length: 9 });
    let every_length: Vec<(i64, u64)> = (1..=1_001).map(|length| (length, 1)).collect();
    assert_eq!(refused(2_000, &every_length), CuttingError::TooManyLengths(1_001));
    assert!(matches!(refused(9, &[(3, u64::MAX), (2, 5)]), CuttingError::TooManyPieces(_)));
}

#[test]
fn without_nodes_the_answer_is_bounded_and_says_so() {
    let layout = lay_out_within(132, &GAP, 0).unwrap();
    assert_layout(&layout, 132, &GAP);
    assert_eq!((layout.stock_pieces, layout.lower_bound), (6, 5));
    assert!(!layout.proven);
}

#[test]
fn long_rolls_and_many_odd_lengths_stay_bounded() {
    let pieces: Vec<(i64, u64)> =
        (0..40).map(|i| (311_017 + 40_993 * i, 7 + 3 * u64::try_from(i).unwrap())).collect();
    let layout = lay_out(22_860_000, &pieces).unwrap();
    assert_layout(&layout, 22_860_000, &pieces);
    assert!(layout.stock_pieces - layout.lower_bound <= 1);
}

#[test]
fn the_most_lengths_and_pieces_are_laid_out() {
    let pieces: Vec<(i64, u64)> = (1..=1_000).map(|i| (700_000 - 613 * i, 1_000_000)).collect();
    let layout = lay_out_within(700_001, &pieces, 1_000).unwrap();
    assert_layout(&layout, 700_001, &pieces);
    let dust = [(1, 400_000_000), (3, 600_000_000)];
    assert_eq!(stock_of(7, &dust), (314_285_715, true)); // 2.2 × 10⁹ ÷ 7
}

#[test]
fn a_million_pieces_are_no_trouble() {
    let (stock, proven) = stock_of(27 * INCH, &[(10 * INCH, 400_000), (7 * INCH, 600_000)]);
    assert_eq!((stock, proven), (333_334, true)); // 200 000 hold a 7 each; the other 400 000 by threes
}

/// The fewest stock pieces by trying everything, for a handful of pieces.
fn by_trying_everything(capacity: i64, pieces: &[i64], room: &mut Vec<i64>, best: usize) -> usize {
    let Some((&piece, rest)) = pieces.split_first() else {
        return room.len().min(best);
    };
    if room.len() >= best {
        return best;
    }
    let mut best = best;
    for i in 0..room.len() {
        if room[i] >= piece && !room[..i].contains(&room[i]) {
            room[i] -= piece;
            best = by_trying_everything(capacity, rest, room, best);
            room[i] += piece;
        }
    }
    room.push(capacity - piece);
    best = by_trying_everything(capacity, rest, room, best);
    room.pop();
    best
}

fn few_pieces() -> impl Strategy<Value = (i64, Vec<(i64, u64)>)> {
    (12_i64..60).prop_flat_map(|stock| (Just(stock), prop::collection::vec((2..=stock, 1_u64..4), 1..5)))
}

fn studio_pieces() -> impl Strategy<Value = Vec<(i64, u64)>> {
    prop::collection::vec((4_i64..27, 1_u64..120), 1..6)
        .prop_map(|p| p.into_iter().map(|(inches, n)| (inches * INCH, n)).collect())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn agrees_with_trying_everything((stock, pieces) in few_pieces()) {
        let mut singly: Vec<i64> = pieces.iter().flat_map(|&(l, n)| (0..n).map(move |_| l)).collect();
        singly.sort_unstable_by(|a, b| b.cmp(a));
        let least = by_trying_everything(stock, &singly, &mut Vec::new(), singly.len());
        prop_assert_eq!(stock_of(stock, &pieces), (u64::try_from(least).unwrap(), true));
    }

    #[test]
    fn pooling_never_needs_more(a in studio_pieces(), b in studio_pieces()) {
        let pooled = [a.clone(), b.clone()].concat();
        let (apart_a, apart_b) = (stock_of(27 * INCH, &a).0, stock_of(27 * INCH, &b).0);
        prop_assert!(stock_of(27 * INCH, &pooled).0 <= apart_a + apart_b);
    }

    #[test]
    fn order_of_the_list_and_unit_do_not_matter(pieces in studio_pieces()) {
        let layout = lay_out(27 * INCH, &pieces).unwrap();
        let reversed: Vec<_> = pieces.iter().rev().copied().collect();
        prop_assert_eq!(&layout, &lay_out(27 * INCH, &reversed).unwrap());
        let inches: Vec<_> = pieces.iter().map(|&(l, n)| (l / INCH, n)).collect();
        prop_assert_eq!(layout.stock_pieces, lay_out(27, &inches).unwrap().stock_pieces);
    }
}
