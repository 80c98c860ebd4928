use proptest::prelude::*;

use super::*;
use crate::recipes::cost::tests::{BOWL, CENTRE, ROSE, book, centre, costing, costs, count, recipe};
use crate::studio::Studio;

fn formats() -> Formats {
    Studio::new_book().formats
}

fn counted(lines: &[(crate::recipes::Ingredient, crate::recipes::Measure)]) -> Vec<StemCount> {
    let book = book(vec![recipe(CENTRE, 10, lines)]);
    let costs = costs(&[(ROSE, 1_200, 10), (BOWL, 400, 1)]);
    stem_counts(&costing(&book, &costs).piece(CENTRE, 1).unwrap(), &book)
}

#[test]
fn flowers_are_counted_and_vessels_are_not() {
    let stems = counted(&[count(ROSE, 7_000), count(BOWL, 1_000), count(ROSE, 1_500)]);
    assert_eq!(stems, [StemCount { name: "Rose".into(), count: Quantity::from_raw(8_500), cut: false }]);
    assert_eq!(in_each(&stems, formats()).as_deref(), Some("In each: 8.5 Rose"));
    assert_eq!(in_each(&counted(&[count(BOWL, 1_000)]), formats()), None);
}

#[test]
fn cut_pieces_are_called_so() {
    let book = book(vec![centre()]);
    let costs = costs(&[]);
    let stems = stem_counts(&costing(&book, &costs).piece(CENTRE, 14).unwrap(), &book);
    let said = in_each(&stems, formats()).unwrap();
    assert!(said.contains("cut pieces of Ruscus"), "{said}");
    let one = StemCount { name: "Ivy".into(), count: Quantity::whole(1), cut: true };
    assert_eq!(in_each(&[one], formats()).as_deref(), Some("In each: 1 cut piece of Ivy"));
}

proptest! {
    /// However a recipe lists a flower, its stems are counted once and all.
    #[test]
    fn no_stem_is_lost(lines in proptest::collection::vec(1_i64..40_000, 1..6)) {
        let listed: Vec<_> = lines.iter().map(|thousandths| count(ROSE, *thousandths)).collect();
        let stems = counted(&listed);
        prop_assert_eq!(stems.len(), 1);
        prop_assert_eq!(stems[0].count.raw(), lines.iter().sum::<i64>());
    }
}
