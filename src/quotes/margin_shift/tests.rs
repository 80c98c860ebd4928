use std::collections::HashMap;

use proptest::prelude::*;

use super::*;
use crate::events::counts::Made;
use crate::ground::ids::{RecipeId, TaxRateId};
use crate::price_list::UnitCost;
use crate::quotes::draft::Row;
use crate::quotes::tax::Tax;
use crate::quotes::totals::Discount;
use crate::recipes::RecipeBook;
use crate::recipes::cost::tests::{BOWL, CENTRE, ROSE, book, centre, costing, costs};

/// So many centres at a typed price, or at the computed one.
fn line(row: usize, count: i64, typed: Option<i64>) -> DraftLine {
    DraftLine {
        row: Row::Piece(row),
        piece: None,
        recipe: Some(CENTRE),
        place: "Long room".into(),
        name: "Centre".into(),
        made: Made { count: Some(count), words: String::new() },
        typed: typed.map(Money::from_minor),
        discount: Discount::None,
        tax: Tax { id: TaxRateId(1), rate: Share::from_raw(200_000) },
    }
}

type Costs = HashMap<MaterialId, UnitCost>;

/// A rose at these minor units in bunches of 20; ruscus, bowl and ribbon as in the worked piece.
fn at(rose: i64, bowl: i64) -> Costs {
    let (ruscus, ribbon) = (MaterialId(2), MaterialId(4));
    costs(&[(ROSE, rose * 20, 20), (ruscus, 900, 10), (BOWL, bowl * 12, 12), (ribbon, 450, 1)])
}

fn shift(lines: Vec<DraftLine>, book: &RecipeBook, days: (&Costs, &Costs)) -> MarginShift {
    let draft = Draft { lines, ..Draft::default() };
    margin_shift(&draft, &costing(book, days.0), &costing(book, days.1))
}

#[test]
fn a_worked_example() {
    // A centre takes 9.5 roses, 5 % lost: 10 roses. Ten centres: at 0.95, then at 1.15 a rose, 20.00 more.
    let book = book(vec![centre()]);
    let shift = shift(vec![line(0, 10, Some(8_000))], &book, (&at(95, 200), &at(115, 200)));
    assert_eq!(shift.then.asked, Money::from_minor(80_000));
    assert_eq!((shift.lost(), shift.now.asked), (Money::from_minor(2_000), shift.then.asked));
    // Cost of one: 9.50 + 2.00 + 2.00 + 2.50 + 10.00 + 0.225 = 26.225; of ten 262.25, then 282.25.
    assert_eq!((shift.then.cost, shift.now.cost), (Decimal::new(26_225, 0), Decimal::new(28_225, 0)));
    // (800 − 282.25) ÷ 800 less (800 − 262.25) ÷ 800.
    assert_eq!(shift.points(), Some(Decimal::new(-25, 1)));
    let [rose] = &shift.materials[..] else { panic!("{:?}", shift.materials) };
    assert_eq!((rose.name.as_str(), rose.quantity, rose.difference), ("Rose", 95.into(), 2_000.into()));
    assert_eq!((rose.each_then, rose.each_now), (95.into(), 115.into()));
}

#[test]
fn what_has_no_price_on_one_of_the_days_is_left_out_of_both() {
    let book = book(vec![centre()]);
    let mut without = at(95, 200);
    without.remove(&ROSE);
    let shift = shift(vec![line(0, 10, Some(8_000))], &book, (&at(95, 200), &without));
    assert_eq!(shift.left_out, ["Centre"]);
    assert_eq!((shift.lost(), shift.then.asked, shift.points()), (Money::ZERO, Money::ZERO, None));
}

#[test]
fn a_recipe_that_is_gone_is_left_out() {
    let book = book(vec![centre()]);
    let gone = DraftLine { recipe: Some(RecipeId(9)), ..line(0, 1, Some(100)) };
    assert_eq!(shift(vec![gone], &book, (&at(1, 1), &at(2, 2))).left_out, ["Centre"]);
}

proptest! {
    /// What materials add makes up the whole difference, prices are held, and dearer stems never leave more.
    #[test]
    fn materials_make_up_the_difference(
        (rose, bowl) in ((1_i64..500, 1_i64..500), (1_i64..500, 1_i64..500)),
        counts in prop::collection::vec((1_i64..50, prop::option::of(0_i64..20_000)), 1..4),
    ) {
        let book = book(vec![centre()]);
        let lines: Vec<DraftLine> =
            counts.iter().enumerate().map(|(row, (count, typed))| line(row, *count, *typed)).collect();
        let shift = shift(lines, &book, (&at(rose.0, bowl.0), &at(rose.1, bowl.1)));
        let parts: Decimal = shift.materials.iter().map(|one| one.difference).sum();
        let risen = shift.now.cost - shift.then.cost;
        prop_assert!((parts - risen).abs() < Decimal::new(1, 9), "{} and {}", parts, risen);
        prop_assert!((shift.lost().decimal() - risen).abs() <= Decimal::ONE, "a minor unit by rounding both");
        prop_assert_eq!(shift.then.asked, shift.now.asked);
        if rose.1 >= rose.0 && bowl.1 >= bowl.0 {
            prop_assert!(shift.lost() >= Money::ZERO);
        }
    }
}
