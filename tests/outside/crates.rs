//! Pieces in a crate against what is known of packing equal circles.
//!
//! - The least square for n circles of radius 1, n = 1 to 20: the table of the article "Circle packing in a square" of the
//!   English Wikipedia (read in a mirror of it), which names E. Specht's collection; sides to three decimals, published.
//!   In a smaller square no way of packing holds n.
//! - The densest of all packings covers π ÷ √12 of the floor (Thue 1910, L. Fejes Tóth 1942); a box never more.

use trug::pull_list::loading::packing::best;

/// n and the side of the least square in thousandths of the radius.
const LEAST_SQUARES: [(i64, i64); 20] = [
    (1, 2_000),
    (2, 3_414),
    (3, 3_931),
    (4, 4_000),
    (5, 4_828),
    (6, 5_328),
    (7, 5_732),
    (8, 5_863),
    (9, 6_000),
    (10, 6_747),
    (11, 7_022),
    (12, 7_144),
    (13, 7_463),
    (14, 7_732),
    (15, 7_863),
    (16, 8_000),
    (17, 8_532),
    (18, 8_656),
    (19, 8_907),
    (20, 8_978),
];

/// How many circles of radius 10 cm stand in a square of so many thousandths of that.
fn in_square(side: i64) -> i64 {
    best(side * 100, side * 100, 200_000).map_or(0, |packing| packing.count())
}

#[test]
fn no_square_holds_more_than_the_best_known() {
    for (n, side) in LEAST_SQUARES {
        assert!(in_square(side - 1) < n, "{n} circles in a square of {side} less one");
    }
    // Where rows are the best there is, they are found.
    for n in [1, 4, 9, 16] {
        let (_, side) = LEAST_SQUARES[usize::try_from(n - 1).unwrap()];
        assert_eq!(in_square(side), n);
    }
}

#[test]
fn rows_are_a_product_and_staggered_rows_come_near_the_densest_of_all() {
    // Rows of 10 by 1: nothing to stagger.
    assert_eq!(best(1_000_000, 100_000, 100_000).map(|packing| packing.count()), Some(10));
    let densest = std::f64::consts::PI / 12_f64.sqrt();
    let mut last = 0.0;
    for side in [1, 10, 100, 1_000] {
        let count = best(side * 1_000_000, side * 1_000_000, 100_000).unwrap().count();
        let side = f64::from(i32::try_from(side).unwrap());
        let covered =
            f64::from(u32::try_from(count).unwrap()) * std::f64::consts::PI * 0.05 * 0.05 / (side * side);
        assert!(covered > last && covered < densest, "{covered}");
        last = covered;
    }
    assert!(densest - last < 0.001, "{last} of {densest}");
}
