//! Dressing and making as tasks of the bench plan: vessels, then parts, then pieces, personal flowers last.
//!
//! May import: this stage's plan and event work, types and calculations of the rooms before, `rust_decimal`, `jiff`.

use std::collections::BTreeMap;

use jiff::civil::{DateTime, Time};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::tasks::{MINUTE, Task, hours_before, thousandths};
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::prep::Step;
use crate::prep::event_work::EventTimes;
use crate::prep::plan::{Delivery, PrepInputs, ready, said};
use crate::price_list::MaterialKind;
use crate::recipes::explosion::{ExplosionError, made as all_made, need};
use crate::recipes::{Category, Ingredient, Recipe, RecipeBook};
use crate::stem_order::windows::MADE_THE_DAY_BEFORE;

/// Person-minutes of washing, checking and dressing a vessel where nobody says. Our own assumption, no published source.
pub const DRESS_MINUTES: i64 = 3;
/// So many days before its event a vessel may be dressed. Our own assumption, no published source.
const DRESSED_DAYS_BEFORE: i64 = 7;

/// The dressing and making of all events: what goes first where windows are alike stands first, and so does what comes
/// before other work.
pub(super) fn made(
    inputs: &PrepInputs,
    arrivals: &[Delivery],
    times: &[EventTimes],
) -> Result<Vec<Task>, ExplosionError> {
    let mut ranked: Vec<(i64, Task)> = Vec::new();
    for (at, times) in times.iter().enumerate() {
        let from = ranked.len();
        ranked.extend(Making { inputs, arrivals, at, times }.tasks(from)?);
    }
    let mut order: Vec<usize> = (0..ranked.len()).collect();
    order.sort_by_key(|place| ranked[*place].0);
    let mut new_place = vec![0; ranked.len()];
    for (new, old) in order.iter().enumerate() {
        new_place[*old] = new;
    }
    let moved = |old: &usize| {
        let mut task = ranked[*old].1.clone();
        task.after.iter_mut().for_each(|place| *place = new_place[*place]);
        task
    };
    Ok(order.iter().map(moved).collect())
}

/// The making of one event.
struct Making<'a> {
    inputs: &'a PrepInputs,
    arrivals: &'a [Delivery],
    at: usize,
    times: &'a EventTimes,
}

/// So many of one recipe, as a piece or as a part.
struct Lines<'a> {
    recipe: &'a Recipe,
    key: String,
    wanted_for: String,
    count: i64,
    is_part: bool,
}

impl<'a> Making<'a> {
    /// Its tasks with their ranks; places of what comes before count from `from`.
    fn tasks(&self, from: usize) -> Result<Vec<(i64, Task)>, ExplosionError> {
        let (vessels, lines) = (self.vessels()?, self.lines()?);
        let dress = vessels.iter().map(|(id, count)| (0, self.dress(*id, *count)));
        let mut tasks: Vec<(i64, Task)> = dress.collect();
        for of in &lines {
            let mut task = self.make(of);
            let stands_in = vessels.iter().enumerate().filter(|(_, (id, _))| calls_for(of.recipe, *id));
            task.after.extend(stands_in.map(|(place, _)| from + place));
            let parts =
                lines.iter().enumerate().filter(|(_, part)| part.is_part && holds(of.recipe, part.recipe.id));
            task.after.extend(parts.map(|(place, _)| from + vessels.len() + place));
            tasks.push((self.rank(of), task));
        }
        Ok(tasks)
    }

    fn book(&self) -> &'a RecipeBook {
        &self.inputs.weekend.book
    }

    fn event_day(&self) -> Day {
        self.inputs.weekend.events[self.at].event.day
    }

    fn event_name(&self) -> String {
        self.inputs.weekend.events[self.at].event.name.clone()
    }

    /// Vessels of the event with their counts.
    fn vessels(&self) -> Result<Vec<(MaterialId, i64)>, ExplosionError> {
        let mut counts: BTreeMap<MaterialId, Decimal> = BTreeMap::new();
        for (wanted, need) in need(self.book(), &self.inputs.weekend.events[self.at].counts)? {
            *counts.entry(wanted.material).or_default() += need.count;
        }
        let vessel = |id: &MaterialId| {
            self.inputs.weekend.material(*id).is_some_and(|material| material.kind == MaterialKind::Vessel)
        };
        let whole = counts.into_iter().filter(|(id, count)| vessel(id) && *count > Decimal::ZERO);
        Ok(whole.map(|(id, count)| (id, count.ceil().to_i64().unwrap_or(i64::MAX))).collect())
    }

    /// What is made: parts, then pieces.
    fn lines(&self) -> Result<Vec<Lines<'a>>, ExplosionError> {
        let event = &self.inputs.weekend.events[self.at];
        let mut parts = all_made(self.book(), &event.counts)?;
        let mut pieces = Vec::new();
        for piece in self.inputs.pieces.iter().filter(|piece| piece.event_id == event.event.id) {
            let Some(count) = event.event.count_of(piece) else { continue };
            *parts.entry(piece.recipe_id).or_default() -= Decimal::from(count);
            let Some(recipe) = self.book().recipes.get(&piece.recipe_id).filter(|_| count > 0) else {
                continue;
            };
            let (key, wanted_for) =
                (format!("make-{}", piece.id), format!("{}, {}", piece.place, event.event.name));
            pieces.push(Lines { recipe, key, wanted_for, count, is_part: false });
        }
        let part = |(id, count): (RecipeId, Decimal)| {
            let recipe = self.book().recipes.get(&id).filter(|_| count > Decimal::ZERO)?;
            let count = count.ceil().to_i64().unwrap_or(i64::MAX);
            let key = format!("part-{}-{id}", event.event.id);
            Some(Lines { recipe, key, wanted_for: self.event_name(), count, is_part: true })
        };
        Ok(parts.into_iter().filter_map(part).chain(pieces).collect())
    }

    /// Parts by how much goes into them, then pieces that hold long, then those that hold short, personal flowers last.
    fn rank(&self, of: &Lines<'_>) -> i64 {
        if of.is_part {
            return 1 + height(self.book(), of.recipe, 0);
        }
        let last = if of.recipe.category == Category::Personal { 100_000 } else { 0 };
        20_000 + last - of.recipe.holding_hours.clamp(0, 10_000)
    }

    fn dress(&self, id: MaterialId, count: i64) -> Task {
        let event = &self.inputs.weekend.events[self.at];
        let name = self.inputs.weekend.material(id).map(|vessel| vessel.name.clone()).unwrap_or_default();
        let earliest = midnight(event.event.day.plus(-DRESSED_DAYS_BEFORE));
        Task {
            key: format!("dress-{}-{id}", event.event.id),
            step: Step::Dress,
            events: vec![self.at],
            what: name,
            wanted_for: self.event_name(),
            count,
            unit: self.inputs.bench.dress_minutes.unwrap_or(DRESS_MINUTES).saturating_mul(MINUTE),
            earliest,
            latest: self.times.load_from,
            at_most: self.times.load_from,
            earliest_why: "a vessel may be dressed up to a week before".into(),
            latest_why: "before loading".into(),
            holds_from: earliest,
            ready: Vec::new(),
            usual: event.make_days.values().min().copied().unwrap_or(event.event.day).plus(-1),
            after: Vec::new(),
            short_by: None,
            makes: None,
        }
    }

    fn make(&self, of: &Lines<'_>) -> Task {
        let event = &self.inputs.weekend.events[self.at];
        let (holds_from, holds_why) = self.holds_from(of.recipe);
        let ready = self.ready(of.recipe);
        let (latest, latest_why, at_most) = self.latest(of.recipe);
        let mut task = Task {
            key: of.key.clone(),
            step: Step::Make,
            events: vec![self.at],
            what: of.recipe.name.clone(),
            wanted_for: of.wanted_for.clone(),
            count: of.count,
            unit: thousandths(of.recipe.minutes.decimal()),
            earliest: holds_from,
            latest,
            at_most,
            earliest_why: holds_why,
            latest_why,
            holds_from,
            usual: event.make_days.get(&of.recipe.id).copied().unwrap_or(event.event.day),
            ready,
            after: Vec::new(),
            short_by: None,
            makes: Some(of.recipe.id),
        };
        wait(&mut task, self.inputs);
        task
    }

    /// From when its holding life allows it.
    fn holds_from(&self, recipe: &Recipe) -> (DateTime, String) {
        let hours = recipe.holding_hours.clamp(0, 24 * 60);
        let before_guests = hours_before(self.times.set_by, hours);
        let day = midnight(self.event_day().plus(-(hours / 24)));
        let from = if hours < MADE_THE_DAY_BEFORE { before_guests } else { before_guests.min(day) };
        (from, format!("it holds {hours} h, so from {}", said(from)))
    }

    /// When each of its flowers is ready.
    fn ready(&self, recipe: &Recipe) -> Vec<(MaterialId, DateTime)> {
        let materials = recipe.lines.iter().filter_map(|line| match line.ingredient {
            Ingredient::Material(id) => Some(id),
            Ingredient::Part(_) => None,
        });
        let from = |id| Some((id, ready(&self.inputs.weekend, (id, self.at, recipe.id), self.arrivals)?));
        materials.filter_map(from).collect()
    }

    /// Not later to be safe, why, and not later at all.
    fn latest(&self, recipe: &Recipe) -> (DateTime, String, DateTime) {
        if recipe.category == Category::Installation {
            let by = self.times.set_by;
            return (by, format!("it is built at the venue, where all must stand by {}", said(by)), by);
        }
        let load = self.times.load_from;
        let evening = midnight(self.event_day());
        if recipe.holding_hours >= MADE_THE_DAY_BEFORE && evening < load {
            let hours = recipe.holding_hours;
            return (
                evening,
                format!("it holds {hours} h, so nothing of it is left for the event's morning"),
                load,
            );
        }
        (load, format!("loading begins {}", said(load)), load)
    }
}

/// Waits for the slowest of its flowers.
pub(super) fn wait(task: &mut Task, inputs: &PrepInputs) {
    let slowest = task.ready.iter().max_by_key(|(id, from)| (*from, *id));
    let Some((id, from)) = slowest.filter(|(_, from)| *from > task.earliest) else { return };
    let name = inputs.weekend.material(*id).map(|material| material.name.clone()).unwrap_or_default();
    (task.earliest, task.earliest_why) = (*from, format!("{name} is ready {}", said(*from)));
}

fn midnight(day: Day) -> DateTime {
    day.0.to_datetime(Time::midnight())
}

fn calls_for(recipe: &Recipe, material: MaterialId) -> bool {
    recipe.lines.iter().any(|line| line.ingredient == Ingredient::Material(material))
}

fn holds(recipe: &Recipe, part: RecipeId) -> bool {
    recipe.lines.iter().any(|line| line.ingredient == Ingredient::Part(part))
}

/// How many parts deep a recipe is; loops were refused before.
fn height(book: &RecipeBook, recipe: &Recipe, depth: i64) -> i64 {
    if depth > 100 {
        return 0;
    }
    let parts = recipe.lines.iter().filter_map(|line| match line.ingredient {
        Ingredient::Part(part) => book.recipes.get(&part),
        Ingredient::Material(_) => None,
    });
    parts.map(|part| 1 + height(book, part, depth + 1)).max().unwrap_or(0)
}
