//! What is made, how many, by which recipe, for which event and place; personal flowers last.

use std::collections::BTreeMap;

use jiff::civil::DateTime;
use rust_decimal::Decimal;

use super::Delivery;
use super::bench::{Bench, Slot};
use super::flowers::ready;
use super::{Makes, PrepTask};
use crate::events::Piece;
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::RecipeId;
use crate::prep::Step;
use crate::recipes::explosion::{ExplosionError, made};
use crate::recipes::{Category, Ingredient, Measure, Recipe, RecipeLine};

/// Puts every piece on the bench once, and what is made as a part of others before them.
pub(super) fn make(bench: &mut Bench<'_>, arrivals: &[Delivery]) -> Result<(), ExplosionError> {
    for at in 0..bench.events().len() {
        let event = &bench.events()[at];
        let mut parts: BTreeMap<RecipeId, Decimal> = made(&bench.inputs.weekend.book, &event.counts)?;
        let pieces = bench.inputs.pieces.iter().filter(|piece| piece.event_id == event.event.id);
        for piece in pieces {
            let Some(count) = event.event.count_of(piece) else { continue };
            *parts.entry(piece.recipe_id).or_default() -= Decimal::from(count);
            put_piece(bench, at, piece, count, arrivals);
        }
        for (recipe, count) in parts.into_iter().filter(|(_, count)| *count > Decimal::ZERO) {
            put_part(bench, at, recipe, count, arrivals);
        }
    }
    Ok(())
}

fn put_piece(bench: &mut Bench<'_>, at: usize, piece: &Piece, count: i64, arrivals: &[Delivery]) {
    let book = &bench.inputs.weekend.book;
    let Some(recipe) = book.recipes.get(&piece.recipe_id) else { return };
    let wanted_for = format!("{}, {}", piece.place, bench.names(&[at]));
    let by = format!("{count}: {} {}", piece.count.decimal().normalize(), piece.rule.label());
    let last = i64::from(recipe.category == Category::Personal);
    let key = format!("make-{}", piece.id);
    for (day, some, split) in days(bench, (at, recipe), &key, count) {
        let mut task = task(bench, (at, recipe, day), some, arrivals);
        task.key.clone_from(&key);
        task.wanted_for.clone_from(&wanted_for);
        task.working = format!("{by}; {}", task.working);
        task.how.extend((!piece.note.is_empty()).then(|| piece.note.clone()));
        task.how.splice(0..0, split);
        put(bench, (at, day), recipe, 1 + last, task);
    }
}

fn put_part(bench: &mut Bench<'_>, at: usize, recipe: RecipeId, count: Decimal, arrivals: &[Delivery]) {
    let Some(recipe) = bench.inputs.weekend.book.recipes.get(&recipe) else { return };
    let count = i64::try_from(count.ceil()).unwrap_or(i64::MAX);
    let key = format!("part-{}-{}", bench.events()[at].event.id, recipe.id);
    for (day, some, split) in days(bench, (at, recipe), &key, count) {
        let mut task = task(bench, (at, recipe, day), some, arrivals);
        task.how.splice(0..0, split);
        put(bench, (at, day), recipe, 0, task);
    }
}

/// On which days how many are made, by the bench plan; where that is more than one day, what is made on the others.
fn days(
    bench: &Bench<'_>,
    (at, recipe): (usize, &Recipe),
    key: &str,
    count: i64,
) -> Vec<(Day, i64, Option<String>)> {
    let days = bench.plan.days_of(key);
    if days.is_empty() {
        return vec![(make_day(bench, at, recipe), count, None)];
    }
    let split = |day: Day, some: i64| bench.split(&days, day, some);
    days.iter().map(|(day, some)| (*day, *some, split(*day, *some))).collect()
}

fn put(bench: &mut Bench<'_>, (at, day): (usize, Day), recipe: &Recipe, order: i64, task: PrepTask) {
    let events = [at];
    let slot = Slot { day, step: Step::Make, order, events: &events, cautions: recipe.cautions };
    bench.put(&slot, task);
}

fn task(
    bench: &Bench<'_>,
    (at, recipe, day): (usize, &Recipe, Day),
    count: i64,
    arrivals: &[Delivery],
) -> PrepTask {
    let minutes = recipe.minutes.decimal() * Decimal::from(count);
    let minutes = i64::try_from(minutes.ceil()).unwrap_or(i64::MAX);
    let mut how: Vec<String> = ingredients(bench, recipe).into_iter().chain(steps(recipe)).collect();
    let not_before = wait(bench, (at, recipe, day), arrivals);
    how.extend(
        not_before
            .map(|moment| format!("Not before {}: its flowers are in water until then", super::said(moment))),
    );
    PrepTask {
        key: format!("part-{}-{}", bench.events()[at].event.id, recipe.id),
        count,
        unit: String::new(),
        what: recipe.name.clone(),
        how,
        wanted_for: format!("a part of others, {}", bench.names(&[at])),
        not_before,
        minutes,
        working: format!("{} minutes each: {minutes} minutes", recipe.minutes.decimal().normalize()),
        makes: Some(Makes { recipe: recipe.id, category: recipe.category }),
    }
}

fn make_day(bench: &Bench<'_>, at: usize, recipe: &Recipe) -> Day {
    let event = &bench.events()[at];
    event.make_days.get(&recipe.id).copied().unwrap_or(event.event.day)
}

/// Until when its slowest flower stands in water, if that is on its make day.
fn wait(
    bench: &Bench<'_>,
    (at, recipe, day): (usize, &Recipe, Day),
    arrivals: &[Delivery],
) -> Option<DateTime> {
    let materials = recipe.lines.iter().filter_map(|line| match line.ingredient {
        Ingredient::Material(id) => Some(id),
        Ingredient::Part(_) => None,
    });
    let slowest =
        materials.filter_map(|id| ready(&bench.inputs.weekend, (id, at, recipe.id), arrivals)).max()?;
    let opens = super::clock::at(day, super::BENCH_OPENS);
    (slowest > opens).then_some(slowest)
}

/// `Each: 6.5 Cosmos; 12 Ivy of 14 cm; 1 Stone bowl`.
fn ingredients(bench: &Bench<'_>, recipe: &Recipe) -> Option<String> {
    let lines: Vec<String> = recipe.lines.iter().filter_map(|line| ingredient(bench, line)).collect();
    (!lines.is_empty()).then(|| format!("Each: {}", lines.join("; ")))
}

fn ingredient(bench: &Bench<'_>, line: &RecipeLine) -> Option<String> {
    let book = &bench.inputs.weekend.book;
    let name = match line.ingredient {
        Ingredient::Material(id) => &book.materials.get(&id)?.name,
        Ingredient::Part(id) => &book.recipes.get(&id)?.name,
    };
    let formats = bench.formats;
    match line.measure {
        Measure::Count { quantity } => Some(format!("{} {name}", formats.quantity(quantity))),
        Measure::Cut { quantity, length } => {
            Some(format!("{} {name} of {}", formats.quantity(quantity), formats.length(length)))
        }
        Measure::Wound { quantity, turns, .. } => {
            Some(format!("{} {name}, {} times round", formats.quantity(quantity), formats.quantity(turns)))
        }
        Measure::OnePer { .. } => None,
    }
}

/// The steps in one line, whole: nobody opens the recipe at the bench.
fn steps(recipe: &Recipe) -> Option<String> {
    let steps: Vec<&str> = recipe.steps.lines().map(str::trim).filter(|step| !step.is_empty()).collect();
    (!steps.is_empty()).then(|| steps.join(" → "))
}
