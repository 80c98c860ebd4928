//! What a recipe could learn of an event: more minutes or more stems a piece than it says.
//!
//! May import: `rust_decimal`, `ground`, this room's values.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::figures::Proposal;
use super::{Hours, Task};
use crate::ground::ids::RecipeId;

/// A difference below this share of what the recipe says teaches nothing. Our own choice, no published source.
const LEAST_SHARE: Decimal = Decimal::from_parts(5, 0, 0, false, 2);

/// A recipe as it was made: its name, how many pieces, and bench minutes a piece with all parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// Its name.
    pub name: String,
    /// How many pieces.
    pub count: i64,
    /// Minutes a piece.
    pub minutes: Decimal,
}

/// A fresh material of which it is known how much was used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Used {
    /// Its name.
    pub name: String,
    /// How many stems were used.
    pub stems: i64,
    /// What the recipes call for, without spare or loss.
    pub called: BTreeMap<RecipeId, Decimal>,
}

/// Proposals about minutes: hours typed for a recipe ÷ its pieces, beside what it says. Nothing below one minute or 5 %.
#[must_use]
pub fn minutes(made: &BTreeMap<RecipeId, Made>, typed: &[Hours]) -> Vec<Proposal> {
    let mut worked: BTreeMap<RecipeId, i64> = BTreeMap::new();
    for hours in typed.iter().filter(|hours| hours.task == Task::Make) {
        // Hours of no named recipe belong to the only one, if there is only one.
        let only = (made.len() == 1).then(|| made.keys().next().copied()).flatten();
        if let Some(recipe) = hours.recipe.or(only) {
            *worked.entry(recipe).or_default() += hours.minutes;
        }
    }
    let proposal = |(recipe, minutes): (RecipeId, i64)| {
        let made = made.get(&recipe).filter(|made| made.count > 0 && minutes > 0)?;
        let each = Decimal::from(minutes) / Decimal::from(made.count);
        let off = (each - made.minutes).abs();
        (off >= Decimal::ONE && off >= made.minutes * LEAST_SHARE).then(|| {
            let (each, said) = (each.round_dp(1).normalize(), made.minutes.round_dp(1).normalize());
            let words = format!(
                "{} pieces took {each} minutes each; with its parts the recipe says {said}.",
                made.count
            );
            Proposal { recipe, name: made.name.clone(), words }
        })
    };
    worked.into_iter().filter_map(proposal).collect()
}

/// Proposals about stems: what was used beside what the recipes call for, shared among them in proportion. Nothing below
/// one stem or 5 %.
#[must_use]
pub fn stems(made: &BTreeMap<RecipeId, Made>, used: &[Used]) -> Vec<Proposal> {
    used.iter().flat_map(|used| of_material(made, used)).collect()
}

fn of_material(made: &BTreeMap<RecipeId, Made>, used: &Used) -> Vec<Proposal> {
    let called: Decimal = used.called.values().sum();
    let extra = Decimal::from(used.stems) - called;
    if called <= Decimal::ZERO || extra.abs() < Decimal::ONE || extra.abs() < called * LEAST_SHARE {
        return Vec::new();
    }
    let among = if used.called.len() > 1 { ", shared in proportion" } else { "" };
    let proposal = |(recipe, own): (&RecipeId, &Decimal)| {
        let made = made.get(recipe).filter(|made| made.count > 0)?;
        let each = (extra * *own / called / Decimal::from(made.count)).round_dp(1).normalize();
        let more = if each > Decimal::ZERO { "more" } else { "fewer" };
        (!each.is_zero()).then(|| Proposal {
            recipe: *recipe,
            name: made.name.clone(),
            words: format!(
                "{}: {} stems were used where the recipes call for {}: about {} {more} a piece{among}.",
                used.name,
                used.stems,
                called.round_dp(1).normalize(),
                each.abs()
            ),
        })
    };
    used.called.iter().filter_map(proposal).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn made(count: i64, minutes: i64) -> BTreeMap<RecipeId, Made> {
        [(RecipeId(1), Made { name: "Posy".into(), count, minutes: minutes.into() })].into()
    }

    fn worked(minutes: i64) -> Vec<Hours> {
        vec![Hours { task: Task::Make, recipe: Some(RecipeId(1)), who: String::new(), minutes, rate: None }]
    }

    #[test]
    fn longer_hands_are_said_and_the_usual_is_not() {
        let found = minutes(&made(12, 10), &worked(150));
        assert_eq!(found[0].words, "12 pieces took 12.5 minutes each; with its parts the recipe says 10.");
        assert!(minutes(&made(12, 10), &worked(124)).is_empty());
        assert!(minutes(&made(0, 10), &worked(124)).is_empty());
    }

    #[test]
    fn more_stems_are_shared_among_the_recipes() {
        let used = |stems| Used { name: "Rose".into(), stems, called: [(RecipeId(1), 120.into())].into() };
        let found = stems(&made(12, 10), &[used(138)]);
        assert_eq!(
            found[0].words,
            "Rose: 138 stems were used where the recipes call for 120: about 1.5 more a piece."
        );
        assert!(stems(&made(12, 10), &[used(121)]).is_empty());
        assert!(stems(&made(12, 10), &[used(90)])[0].words.contains("2.5 fewer"));
    }
}
