use proptest::prelude::*;

use super::*;
use crate::events::counts::Made;
use crate::ground::ids::{MaterialId, TaxRateId};
use crate::ground::quantity::{Quantity, Share};
use crate::quotes::draft::{self, DraftLine};
use crate::quotes::pricing::price;
use crate::quotes::tax::Tax;
use crate::quotes::totals::Discount;
use crate::recipes::cost::tests::{ROSE, book, costing, costs, count, recipe};
use crate::recipes::{Ingredient, Measure, RecipeBook};

/// Recipes 1 and 2 are a set, 3 is in none; all take something that is bought once an event.
fn recipes() -> RecipeBook {
    let once =
        (Ingredient::Material(MaterialId(3)), Measure::OnePer { quantity: Quantity::whole(3), per: None });
    let made = |id, roses| recipe(RecipeId(id), 5, &[count(ROSE, roses), once]);
    book(vec![made(1, 10_000), made(2, 6_000), made(3, 4_000)])
}

fn sets() -> Vec<Alternative> {
    let one = |recipe, worth| Alternative {
        recipe: RecipeId(recipe),
        name: format!("Recipe {recipe}"),
        set: "Bowl".into(),
        worth,
    };
    vec![one(1, 100), one(2, 65)]
}

fn line(place: usize, made_by: i64, count: i64, typed: Option<i64>) -> DraftLine {
    DraftLine {
        row: draft::Row::Piece(place),
        piece: Some(PieceId(i64::try_from(place).unwrap())),
        recipe: Some(RecipeId(made_by)),
        place: String::new(),
        name: format!("Recipe {made_by}"),
        made: Made { count: Some(count), words: String::new() },
        typed: typed.map(Money::from_minor),
        discount: Discount::None,
        tax: Tax { id: TaxRateId(1), rate: Share::default() },
    }
}

/// A draft with a group's way taken, as the quote's grid takes it.
fn taken(draft: &Draft, group: &Group, way: &Way) -> Draft {
    let mut draft = draft.clone();
    let mut gone = Vec::new();
    for (row, made) in group.rows.iter().zip(&way.rows) {
        match made.by {
            By::AsTheyStand => {}
            By::Recipe(recipe) => {
                draft.lines[row.line].recipe = Some(recipe);
                draft.lines[row.line].typed = None;
            }
            By::LeftOut => gone.push(row.line),
        }
    }
    let mut at = 0..;
    draft.lines.retain(|_| at.next().is_some_and(|at| !gone.contains(&at)));
    draft
}

#[test]
fn as_they_stand_is_worth_what_its_rows_weigh() {
    let (book, costs) = (recipes(), costs(&[(ROSE, 1_900, 20), (MaterialId(3), 2_400, 12)]));
    let costing = costing(&book, &costs);
    // Nineteen bowls as designed and one light one: far nearer to 100 % than the plain average of 82.
    let draft = Draft { lines: vec![line(0, 1, 19, None), line(1, 2, 1, None)], ..Draft::default() };
    let offered = offered(&draft, &price(&draft, &costing), &costing, &sets(), &[]);
    let [group] = &offered.groups[..] else { panic!("{:?}", offered.groups) };
    let weights: Vec<i64> = group.rows.iter().map(|row| row.weight).collect();
    assert_eq!(group.worth(&group.ways[0]), weights[0] * 100 + weights[1] * 65);
    assert!(weights[0] > 15 * weights[1]);
}

proptest! {
    /// What a way promises is what its rows come to once it is taken, also where something is bought once an event.
    #[test]
    fn what_is_promised_is_what_is_taken(
        rows in prop::collection::vec((1_i64..4, 1_i64..12, prop::option::of(100_i64..9_000), any::<bool>()), 1..5),
    ) {
        let (book, costs) = (recipes(), costs(&[(ROSE, 1_900, 20), (MaterialId(3), 2_400, 12)]));
        let costing = costing(&book, &costs);
        let lines = rows.iter().enumerate().map(|(place, row)| line(place, row.0, row.1, row.2));
        let draft = Draft { lines: lines.collect(), ..Draft::default() };
        let wish = |(place, row): (usize, &(i64, i64, Option<i64>, bool))| Wish {
            may_leave_out: row.3,
            ..Wish::usual(PieceId(i64::try_from(place).unwrap()))
        };
        let wishes: Vec<Wish> = rows.iter().enumerate().map(wish).collect();
        let offered = offered(&draft, &price(&draft, &costing), &costing, &sets(), &wishes);
        for group in &offered.groups {
            for way in &group.ways {
                let after = price(&taken(&draft, group, way), &costing);
                for (row, made) in group.rows.iter().zip(&way.rows).filter(|(_, made)| made.by != By::LeftOut) {
                    let line = after.lines.iter().find(|line| line.line.piece == Some(row.piece)).unwrap();
                    prop_assert_eq!(line.price, Some(made.price), "{:?}", made);
                }
            }
        }
    }
}
