use std::collections::HashMap;

use proptest::prelude::*;

use super::*;
use crate::events::counts::Made;
use crate::ground::ids::{PieceId, RecipeId};
use crate::ground::quantity::Share;
use crate::quotes::budget::alternatives::{Making, Row};
use crate::quotes::draft::{self, DraftLine};
use crate::quotes::pricing::price;
use crate::quotes::tax::Tax;
use crate::quotes::totals::ChargeRule;
use crate::quotes::{ChargeKind, totals};
use crate::recipes::RecipeBook;
use crate::recipes::cost::Costing;
use crate::studio::Studio;

/// A line of so many at a typed price under the first or the second rate.
fn line(place: usize, count: i64, each: i64, rate: i64) -> DraftLine {
    DraftLine {
        row: draft::Row::Piece(place),
        piece: Some(PieceId(1)),
        recipe: None,
        place: String::new(),
        name: format!("Piece {place}"),
        made: Made { count: Some(count), words: String::new() },
        typed: Some(Money::from_minor(each)),
        discount: totals::Discount::None,
        tax: Tax { id: TaxRateId(rate), rate: Share::from_raw(rate * 100_000) },
    }
}

fn way(by: By, each: i64, worth: i64) -> Way {
    Way { rows: vec![Making { by, name: String::new(), worth, price: Money::from_minor(each) }] }
}

/// One row that may be made as it stands or by one of the other prices, each of its worth.
fn group(line: usize, count: i64, now: (i64, i64), others: &[(i64, i64)]) -> Group {
    let way = |by, (each, worth): (i64, i64)| way(by, each, worth);
    let others = others.iter().map(|other| way(By::Recipe(RecipeId(1)), *other));
    Group {
        rows: vec![Row { line, piece: PieceId(1), count, weight: 1 }],
        ways: std::iter::once(way(By::AsTheyStand, now)).chain(others).collect(),
    }
}

fn priced(draft: &Draft) -> Priced {
    let (book, costs, studio) = (RecipeBook::default(), HashMap::new(), Studio::new_book());
    price(draft, &Costing::of(&studio, &book, &costs))
}

/// Fourteen bowls at 86.00 (lush 110.00, light 64.00) and one arch at 400.00 (light 250.00), 5 % off, delivery 180.00,
/// 20 % tax. As it stands: (1204.00 + 400.00) × 0.95 = 1523.80, + 180.00, × 1.2 = 2044.56.
fn worked() -> (Draft, Vec<Group>) {
    let draft = Draft {
        lines: vec![line(0, 14, 8_600, 2), line(1, 1, 40_000, 2)],
        discount: totals::Discount::Share(Share::from_raw(50_000)),
        charges: vec![(
            ChargeKind::Delivery,
            ChargeRule::Amount(Money::from_minor(18_000)),
            Tax { id: TaxRateId(2), rate: Share::from_raw(200_000) },
        )],
        ..Draft::default()
    };
    let groups = vec![
        group(0, 14, (8_600, 1_200), &[(11_000, 1_560), (6_400, 720)]),
        group(1, 1, (40_000, 400), &[(25_000, 240)]),
    ];
    (draft, groups)
}

#[test]
fn the_worked_example_by_hand() {
    let (draft, groups) = worked();
    let priced = priced(&draft);
    let fit = |budget| fit(&draft, &priced, &groups, Money::from_minor(budget)).unwrap();
    let found = fit(200_000);
    assert_eq!(found.as_it_stands.total, Money::from_minor(204_456));
    // Light arch: (1204 + 250) × 0.95 = 1381.30; + 180; × 1.2 = 1873.56, worth 1440; light bowls with the whole arch:
    // (896 + 400) × 0.95 = 1231.20; + 180; × 1.2 = 1693.44, worth only 1120; all light 1522.44, worth 960.
    let steps: Vec<(i64, i64)> = found.steps.iter().map(|step| (step.total.minor(), step.worth)).collect();
    assert_eq!(
        steps,
        [
            (152_244, 960),
            (169_344, 1_120),
            (187_356, 1_440),
            (204_456, 1_600),
            (225_660, 1_800),
            (242_760, 1_960),
        ]
    );
    assert_eq!((found.best, found.sure), (Some(2), true));
    assert_eq!(fit(152_243).best, None);
    assert_eq!(fit(204_456).best, Some(3), "to the cent");
    assert_eq!(fit(204_455).best, Some(2));
}

#[test]
fn a_piece_that_may_be_left_out_is() {
    let (draft, mut groups) = worked();
    groups[1].ways.push(way(By::LeftOut, 0, 0));
    let found = fit(&draft, &priced(&draft), &groups, Money::from_minor(130_000)).unwrap();
    // 896.00 × 0.95 + 180.00, × 1.2.
    assert_eq!(found.steps[found.best.unwrap()].total, Money::from_minor(123_744));
}

proptest! {
    /// No choice within the budget is worth more; what a dearer step costs it is worth.
    #[test]
    fn no_choice_within_the_budget_is_worth_more(
        rows in proptest::collection::vec(
            (1_i64..20, 100_i64..5_000, 1_i64..3, proptest::collection::vec((0_i64..6_000, 1_i64..300), 1..3)),
            1..5,
        ),
        off in 0_i64..200_000, budget in 0_i64..400_000, one_rate in any::<bool>(), inclusive in any::<bool>(),
    ) {
        let rate = |rate: i64| if one_rate { 1 } else { rate };
        let lines = rows.iter().enumerate().map(|(place, row)| line(place, row.0, row.1, rate(row.2)));
        let draft = Draft {
            lines: lines.collect(),
            discount: totals::Discount::Share(Share::from_raw(off)),
            inclusive,
            ..Draft::default()
        };
        let priced = priced(&draft);
        let groups: Vec<Group> = rows.iter().enumerate()
            .map(|(place, row)| group(place, row.0, (row.1, 100), &row.3)).collect();
        let budget = Money::from_minor(budget);
        let found = fit(&draft, &priced, &groups, budget).unwrap();
        let best = found.best.map(|best| found.steps[best].worth);
        let all = groups.iter().fold(vec![vec![]], |before: Vec<Vec<usize>>, group| {
            before.iter().flat_map(|picks| (0..group.ways.len()).map(|pick| {
                let mut picks = picks.clone();
                picks.push(pick);
                picks
            }).collect::<Vec<_>>()).collect()
        });
        let worth = |picks: &[usize]| taken(&groups, picks).map(|(group, way)| group.worth(way)).sum::<i64>();
        let total = |picks: &[usize]| reckon(&terms(&draft, &priced, &groups, picks)).sums.total;
        let most = all.iter().filter(|picks| total(picks) <= budget).map(|picks| worth(picks)).max();
        if found.sure {
            prop_assert_eq!(best, most);
        }
        prop_assert!(best <= most);
        prop_assert!(!one_rate || found.sure);
        for two in found.steps.windows(2) {
            prop_assert!(two[0].total < two[1].total && two[0].worth < two[1].worth);
        }
    }
}
