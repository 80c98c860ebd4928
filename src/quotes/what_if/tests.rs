use proptest::prelude::*;
use rust_decimal::Decimal;

use super::*;
use crate::events::counts::Made;
use crate::ground::ids::{PieceId, TaxRateId};
use crate::ground::quantity::Share;
use crate::quotes::draft::{DraftLine, Row};
use crate::quotes::tax::Tax;
use crate::quotes::totals::Discount;
use crate::recipes::cost::tests::{BOWL, CENTRE, ROSE, book, centre, costing, costs};

fn draft(count: i64) -> Draft {
    let line = DraftLine {
        row: Row::Piece(0),
        piece: Some(PieceId(1)),
        recipe: Some(CENTRE),
        place: String::new(),
        name: "Centre".into(),
        made: Made { count: Some(count), words: String::new() },
        typed: None,
        discount: Discount::None,
        tax: Tax { id: TaxRateId(1), rate: Share::default() },
    };
    Draft { lines: vec![line], ..Draft::default() }
}

fn compared(roses: i64, counts: (i64, i64)) -> Comparison {
    let costs =
        costs(&[(ROSE, 1_900, 20), (MaterialId(2), 900, 10), (BOWL, 2_400, 12), (MaterialId(4), 450, 1)]);
    let stands = book(vec![centre()]);
    let change = StemChange { recipe: CENTRE, material: ROSE, quantity: Quantity::from_raw(roses) };
    let changed = with_changes(&stands, &[change]);
    let (now, then) = (costing(&stands, &costs), costing(&changed, &costs));
    Comparison::of((&draft(counts.0), &now), (&draft(counts.1), &then))
}

#[test]
fn a_worked_example() {
    // 9.5 roses, 5 % lost, are ten at 0.95; 7.6 are eight: 1.90 less of cost, 5.70 less before the step of 0.50.
    let less = compared(7_600, (10, 10));
    let each = |priced: &Priced| priced.lines[0].price.unwrap();
    let computed = |priced: &Priced| priced.lines[0].computed.clone().unwrap().computed;
    assert_eq!(computed(&less.stands) - computed(&less.would), Decimal::from(570));
    assert_eq!(less.stands.margin.cost - less.would.margin.cost, Decimal::from(1_900));
    assert_eq!(
        less.total_difference(),
        Money::from_minor(-10 * (each(&less.stands) - each(&less.would)).minor())
    );
    assert_eq!(less.differing().len(), 1);
}

#[test]
fn the_same_differs_in_nothing_and_what_is_left_out_is_told() {
    let same = compared(9_500, (4, 4));
    assert_eq!(
        (same.differing().len(), same.total_difference(), same.left_difference()),
        (0, Money::ZERO, Money::ZERO)
    );
    let gone = Comparison { would: Priced { lines: Vec::new(), ..same.would.clone() }, ..same };
    assert_eq!(gone.differing()[0].would, None);
}

proptest! {
    /// More stems or more pieces never make the quote cheaper, fewer never dearer.
    #[test]
    fn more_is_never_cheaper(roses in 1_i64..40_000, count in 1_i64..40) {
        let other = compared(roses, (10, count));
        if roses >= 9_500 && count >= 10 {
            prop_assert!(other.total_difference() >= Money::ZERO);
        }
        if roses <= 9_500 && count <= 10 {
            prop_assert!(other.total_difference() <= Money::ZERO);
        }
    }
}
