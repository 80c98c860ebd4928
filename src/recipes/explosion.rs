//! C1: what a count of pieces needs, through nested recipes. Plain values in, plain values out; nothing is rounded
//! here but lengths (up to the next micrometre) and what is bought once an event.

use std::collections::{BTreeMap, BTreeSet};

use rust_decimal::{Decimal, RoundingStrategy};
use thiserror::Error;

use super::{Ingredient, Measure, Recipe, RecipeBook, RecipeLine};
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::quantity::{Length, Quantity};

/// What is wanted: a material, or one of its allowed substitutes. Lines that allow different substitutes
/// are kept apart, since they may be served by different stems.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Wanted {
    /// The material the recipe calls for.
    pub material: MaterialId,
    /// What may stand in, by identity.
    pub substitutes: Vec<MaterialId>,
}

/// How much of one material an event needs.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Need {
    /// Whole stems, pieces or rolls, possibly a fraction (6.5 heads × 13).
    pub count: Decimal,
    /// Cut pieces by length. They are laid out later, pooled over the whole order.
    pub cuts: BTreeMap<Length, Decimal>,
    /// What is bought by the started number of pieces or once an event: already whole.
    pub once: Decimal,
    /// Which recipes call for it, with the count of pieces that do: the working.
    pub called_by: BTreeMap<RecipeId, Decimal>,
}

/// Why a need cannot be computed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ExplosionError {
    /// A recipe is a part of itself.
    #[error("A recipe cannot be a part of itself: {0}.")]
    Loop(String),
    /// A recipe that is not in the book.
    #[error("A recipe is missing from the book.")]
    Missing(RecipeId),
    /// More of a recipe than can be reckoned with.
    #[error("So many of \u{201c}{0}\u{201d} cannot be reckoned with: look at the quantities.")]
    TooMuch(String),
}

impl ExplosionError {
    /// Too many of a recipe, by name.
    pub(super) fn too_much(book: &RecipeBook, recipe: RecipeId) -> ExplosionError {
        ExplosionError::TooMuch(name(book, recipe))
    }
}

/// More of one recipe than this is refused, so that no product of quantities leaves the range of a decimal.
pub const MOST_MADE: Decimal = Decimal::from_parts(3_567_587_328, 232, 0, false, 0); // 10^12

/// The need of one event: the sum over its pieces of count × quantity a piece, through nested recipes.
///
/// Units: stems, pieces, rolls; lengths of cut pieces. Law: linear in the counts, except for what is bought
/// by the started number of pieces or once an event, which is rounded up for the event as a whole.
pub fn need(book: &RecipeBook, pieces: &[(RecipeId, i64)]) -> Result<BTreeMap<Wanted, Need>, ExplosionError> {
    let mut tally = Tally { book, needs: BTreeMap::new(), once: BTreeMap::new() };
    for (recipe, count) in pieces {
        tally.add(*recipe, Decimal::from(*count), &mut Vec::new())?;
    }
    Ok(tally.whole())
}

/// The recipes of a loop, spelled out (`A → B → A`), if the recipe is a part of itself.
#[must_use]
pub fn find_loop(book: &RecipeBook, recipe: RecipeId) -> Option<String> {
    match need(book, &[(recipe, 1)]) {
        Err(ExplosionError::Loop(names)) => Some(names),
        _ => None,
    }
}

/// All recipes within pieces with how many of each are made, parts too.
pub fn made(
    book: &RecipeBook,
    pieces: &[(RecipeId, i64)],
) -> Result<BTreeMap<RecipeId, Decimal>, ExplosionError> {
    fn add(
        book: &RecipeBook,
        recipe: RecipeId,
        count: Decimal,
        path: &mut Vec<RecipeId>,
        made: &mut BTreeMap<RecipeId, Decimal>,
    ) -> Result<(), ExplosionError> {
        let found = entered(book, recipe, count, path)?;
        *made.entry(recipe).or_default() += count;
        path.push(recipe);
        for line in &found.lines {
            if let (Ingredient::Part(part), Measure::Count { quantity }) = (line.ingredient, line.measure) {
                add(book, part, count * quantity.decimal(), path, made)?;
            }
        }
        path.pop();
        Ok(())
    }
    let mut all = BTreeMap::new();
    for (recipe, count) in pieces {
        add(book, *recipe, Decimal::from(*count), &mut Vec::new(), &mut all)?;
    }
    Ok(all)
}

/// The length of one winding: turns × π × diameter + both ends, rounded up to the next micrometre.
///
/// ```
/// use trug::ground::quantity::{Length, Quantity};
/// use trug::recipes::explosion::wound_length;
/// // Two turns round 127 mm with 300 mm of ends: 2 × π × 127 + 300 = 1097.964… mm.
/// let length = wound_length(Quantity::whole(2), Length::from_um(127_000), Length::from_um(300_000));
/// assert_eq!(length, Length::from_um(1_097_965));
/// ```
#[must_use]
pub fn wound_length(turns: Quantity, diameter: Length, ends: Length) -> Length {
    let um = turns.decimal() * Decimal::PI * diameter.decimal() + ends.decimal();
    let um = um.round_dp_with_strategy(0, RoundingStrategy::AwayFromZero);
    Length::from_um(i64::try_from(um).unwrap_or(i64::MAX))
}

fn entered<'a>(
    book: &'a RecipeBook,
    recipe: RecipeId,
    count: Decimal,
    path: &[RecipeId],
) -> Result<&'a Recipe, ExplosionError> {
    if let Some(start) = path.iter().position(|passed| *passed == recipe) {
        let names = path[start..].iter().chain([&recipe]).map(|id| name(book, *id)).collect::<Vec<_>>();
        return Err(ExplosionError::Loop(names.join(" → ")));
    }
    if count > MOST_MADE {
        return Err(ExplosionError::too_much(book, recipe));
    }
    book.recipes.get(&recipe).ok_or(ExplosionError::Missing(recipe))
}

fn name(book: &RecipeBook, recipe: RecipeId) -> String {
    book.recipes.get(&recipe).map_or_else(|| format!("recipe {recipe}"), |recipe| recipe.name.clone())
}

struct Tally<'a> {
    book: &'a RecipeBook,
    needs: BTreeMap<Wanted, Need>,
    /// Shares of packs by started number of pieces, and the largest once-an-event number.
    once: BTreeMap<Wanted, (Decimal, Decimal)>,
}

impl Tally<'_> {
    fn add(
        &mut self,
        recipe: RecipeId,
        count: Decimal,
        path: &mut Vec<RecipeId>,
    ) -> Result<(), ExplosionError> {
        let found = entered(self.book, recipe, count, path)?;
        path.push(recipe);
        // A recipe that calls for a material on two lines is still one that calls for it.
        let mut called = BTreeSet::new();
        for line in &found.lines {
            match line.ingredient {
                Ingredient::Part(part) => {
                    if let Measure::Count { quantity } = line.measure {
                        self.add(part, count * quantity.decimal(), path)?;
                    }
                }
                Ingredient::Material(material) => {
                    let wanted = Wanted { material, substitutes: line.substitutes.clone() };
                    self.call(&wanted, line, count);
                    called.insert(wanted);
                }
            }
        }
        path.pop();
        for wanted in called {
            *self.needs.entry(wanted).or_default().called_by.entry(recipe).or_default() += count;
        }
        Ok(())
    }

    fn call(&mut self, wanted: &Wanted, line: &RecipeLine, count: Decimal) {
        let need = self.needs.entry(wanted.clone()).or_default();
        match line.measure {
            Measure::Count { quantity } => need.count += count * quantity.decimal(),
            Measure::Cut { quantity, length } => {
                *need.cuts.entry(length).or_default() += count * quantity.decimal();
            }
            Measure::Wound { quantity, turns, diameter, ends } => {
                let length = wound_length(turns, diameter, ends);
                *need.cuts.entry(length).or_default() += count * quantity.decimal();
            }
            Measure::OnePer { quantity, per } => {
                let (shares, most) = self.once.entry(wanted.clone()).or_default();
                match per {
                    Some(per) => *shares += count * quantity.decimal() / Decimal::from(per.max(1)),
                    None => *most = (*most).max(quantity.decimal()),
                }
            }
        }
    }

    fn whole(mut self) -> BTreeMap<Wanted, Need> {
        for (wanted, (shares, most)) in self.once {
            // Rounded away from what division of thirds leaves behind before it is rounded up.
            let whole = shares.round_dp(12).ceil() + most.ceil();
            if let Some(need) = self.needs.get_mut(&wanted) {
                need.once += whole;
            }
        }
        self.needs
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::Category;
    use super::*;
    use crate::ground::caution::Cautions;
    use crate::ground::ids::RecipeLineId;

    fn recipe(id: i64, name: &str, lines: &[(Ingredient, Measure)]) -> Recipe {
        let line = |(number, (ingredient, measure)): (usize, &(Ingredient, Measure))| RecipeLine {
            id: RecipeLineId(i64::try_from(number).unwrap()),
            ingredient: *ingredient,
            measure: *measure,
            note: String::new(),
            substitutes: Vec::new(),
        };
        Recipe {
            id: RecipeId(id),
            version: 1,
            name: name.into(),
            category: Category::Table,
            minutes: Quantity::whole(10),
            holding_hours: 24,
            steps: String::new(),
            client_words: String::new(),
            note: String::new(),
            second_binding: None,
            stem_clearance: None,
            cautions: Cautions::default(),
            picture_id: None,
            travel: crate::recipes::Travel::default(),
            lines: lines.iter().enumerate().map(line).collect(),
        }
    }

    fn book(recipes: Vec<Recipe>) -> RecipeBook {
        RecipeBook {
            recipes: recipes.into_iter().map(|recipe| (recipe.id, recipe)).collect(),
            ..RecipeBook::default()
        }
    }

    const HEADS: Ingredient = Ingredient::Material(MaterialId(1));
    const GREEN: Ingredient = Ingredient::Material(MaterialId(2));
    const TAPE: Ingredient = Ingredient::Material(MaterialId(3));

    fn count(thousandths: i64) -> Measure {
        Measure::Count { quantity: Quantity::from_raw(thousandths) }
    }

    fn of(needs: &BTreeMap<Wanted, Need>, material: i64) -> Need {
        needs[&Wanted { material: MaterialId(material), substitutes: Vec::new() }].clone()
    }

    #[test]
    fn fractions_are_kept_until_the_order() {
        let cut = Measure::Cut { quantity: Quantity::whole(12), length: Length::from_um(139_700) };
        let book = book(vec![recipe(1, "Low", &[(HEADS, count(6_500)), (GREEN, cut)])]);
        let needs = need(&book, &[(RecipeId(1), 13)]).unwrap();
        assert_eq!(of(&needs, 1).count, Decimal::new(845, 1));
        assert_eq!(of(&needs, 2).cuts[&Length::from_um(139_700)], Decimal::from(156));
    }

    #[test]
    fn parts_multiply_through() {
        let book = book(vec![
            recipe(1, "Cluster", &[(HEADS, count(3_000))]),
            recipe(2, "Arch", &[(Ingredient::Part(RecipeId(1)), count(2_500)), (HEADS, count(4_000))]),
        ]);
        let needs = need(&book, &[(RecipeId(2), 2), (RecipeId(1), 1)]).unwrap();
        assert_eq!(of(&needs, 1).count, Decimal::from(26));
        let made = made(&book, &[(RecipeId(2), 2)]).unwrap();
        assert_eq!(made[&RecipeId(1)], Decimal::from(5));
    }

    #[test]
    fn one_per_is_rounded_up_once_an_event() {
        let per_twenty = Measure::OnePer { quantity: Quantity::whole(1), per: Some(20) };
        let per_event = Measure::OnePer { quantity: Quantity::whole(1), per: None };
        let book = book(vec![
            recipe(1, "A", &[(TAPE, per_twenty), (GREEN, per_event)]),
            recipe(2, "B", &[(TAPE, per_twenty), (GREEN, per_event)]),
        ]);
        let needs = need(&book, &[(RecipeId(1), 14), (RecipeId(2), 10)]).unwrap();
        assert_eq!(of(&needs, 3).once, Decimal::from(2), "24 pieces want two rolls, not one and one");
        assert_eq!(of(&needs, 2).once, Decimal::ONE);
        let thirds = need(&book, &[(RecipeId(1), 20)]).unwrap();
        assert_eq!(of(&thirds, 3).once, Decimal::ONE);
    }

    #[test]
    fn pieces_that_call_twice_for_a_material_are_counted_once() {
        let book = book(vec![recipe(1, "Low", &[(HEADS, count(3_000)), (HEADS, count(2_000))])]);
        let needs = need(&book, &[(RecipeId(1), 4)]).unwrap();
        assert_eq!(of(&needs, 1).count, Decimal::from(20));
        assert_eq!(of(&needs, 1).called_by[&RecipeId(1)], Decimal::from(4));
    }

    #[test]
    fn a_loop_is_spelled_out() {
        let book = book(vec![
            recipe(1, "A", &[(Ingredient::Part(RecipeId(2)), count(1_000))]),
            recipe(2, "B", &[(Ingredient::Part(RecipeId(1)), count(1_000))]),
        ]);
        assert_eq!(find_loop(&book, RecipeId(1)).as_deref(), Some("A → B → A"));
        assert_eq!(find_loop(&book, RecipeId(2)).as_deref(), Some("B → A → B"));
    }

    #[test]
    fn giants_are_refused_by_name() {
        let giant = count(100_000_000);
        let part = |id: i64| (Ingredient::Part(RecipeId(id + 1)), giant);
        let mut recipes: Vec<Recipe> = (1..9).map(|id| recipe(id, "Giant", &[part(id)])).collect();
        recipes.push(recipe(9, "Last", &[(HEADS, giant)]));
        let book = book(recipes);
        assert_eq!(MOST_MADE, Decimal::from(1_000_000_000_000_i64));
        assert_eq!(need(&book, &[(RecipeId(1), i64::MAX)]), Err(ExplosionError::TooMuch("Giant".into())));
        assert_eq!(made(&book, &[(RecipeId(1), 1)]), Err(ExplosionError::TooMuch("Giant".into())));
        assert!(need(&book, &[(RecipeId(8), 1)]).is_ok());
    }

    proptest! {
        #[test]
        fn need_is_linear_in_counts(a in 0_i64..500, b in 0_i64..500, each in 1_i64..20_000) {
            let cut = Measure::Cut { quantity: Quantity::from_raw(each), length: Length::from_um(70_000) };
            let book = book(vec![
                recipe(1, "Part", &[(HEADS, count(each)), (GREEN, cut)]),
                recipe(2, "Whole", &[(Ingredient::Part(RecipeId(1)), count(1_500)), (HEADS, count(each))]),
            ]);
            let alone = |n| need(&book, &[(RecipeId(2), n)]).unwrap();
            let (one, two, both) = (alone(a), alone(b), alone(a + b));
            prop_assert_eq!(of(&one, 1).count + of(&two, 1).count, of(&both, 1).count);
            let length = Length::from_um(70_000);
            prop_assert_eq!(of(&one, 2).cuts[&length] + of(&two, 2).cuts[&length], of(&both, 2).cuts[&length]);
        }
    }
}
