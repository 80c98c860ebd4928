use std::collections::HashMap;

use super::*;
use crate::events::counts::Made;
use crate::ground::ids::{RecipeId, TaxRateId};
use crate::ground::quantity::Share;
use crate::quotes::draft::Row;
use crate::quotes::tax::Tax;
use crate::recipes::RecipeBook;
use crate::studio::Studio;

fn line(row: usize, count: Option<i64>, typed: Option<i64>) -> DraftLine {
    DraftLine {
        row: Row::Own(row),
        piece: None,
        recipe: None,
        place: String::new(),
        name: format!("Line {row}"),
        made: Made { count, words: String::new() },
        typed: typed.map(Money::from_minor),
        discount: super::super::totals::Discount::None,
        tax: Tax { id: TaxRateId(1), rate: Share::from_raw(200_000) },
    }
}

fn priced(lines: Vec<DraftLine>) -> Priced {
    let (book, costs, studio) = (RecipeBook::default(), HashMap::new(), Studio::new_book());
    let costing = Costing {
        book: &book,
        costs: &costs,
        usual_loss: studio.loss,
        markups: studio.markups,
        labour: studio.labour,
        rounding: studio.rounding,
    };
    price(&Draft { lines, ..Draft::default() }, &costing)
}

#[test]
fn lines_without_count_or_price_are_in_no_total() {
    let priced = priced(vec![line(0, Some(2), Some(500)), line(1, None, Some(900)), line(2, Some(3), None)]);
    assert_eq!(priced.totals.sums.total, Money::from_minor(1_200));
    let shown: Vec<Option<Money>> = priced.lines.iter().map(|line| Some(line.total?.net())).collect();
    assert_eq!(shown, [Some(Money::from_minor(1_000)), None, None]);
    assert_eq!((priced.open().len(), priced.unpriced().len()), (1, 1));
}

#[test]
fn a_recipe_that_cannot_be_priced_says_why_and_keeps_a_typed_price() {
    let gone = DraftLine { recipe: Some(RecipeId(3)), ..line(0, Some(1), Some(700)) };
    let priced = priced(vec![gone]);
    assert_eq!(priced.lines[0].missing, ["A recipe is missing from the book."]);
    assert_eq!(priced.lines[0].price, Some(Money::from_minor(700)));
    assert_eq!(priced.lines[0].margin, None, "a cost that is not known has no margin");
}
