//! What is cut from fresh stems, on which day, by which patterns, and not before when.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::DateTime;
use rust_decimal::Decimal;

use super::bench::{Bench, Slot};
use super::clock::{hours_after, made_by, said};
use super::{CUT_KEEPS_HOURS, PrepTask};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::quantity::Length;
use crate::prep::Step;
use crate::price_list::Material;
use crate::recipes::explosion::{ExplosionError, made, wound_length};
use crate::recipes::{Ingredient, Measure};
use crate::stem_order::cuts::{CuttingList, cutting_list};

/// What is cut from one material for pieces that are made on one day.
pub(super) struct Cut {
    pub(super) lengths: BTreeMap<Length, Decimal>,
    pub(super) events: BTreeSet<usize>,
    /// When the last of it is placed.
    pub(super) placed: DateTime,
}

/// All cut pieces by make day and material, fresh or not.
pub(super) fn by_day(bench: &Bench<'_>) -> Result<BTreeMap<(Day, MaterialId), Cut>, ExplosionError> {
    let book = &bench.inputs.weekend.book;
    let mut cuts: BTreeMap<(Day, MaterialId), Cut> = BTreeMap::new();
    for (at, event) in bench.events().iter().enumerate() {
        for ((id, day), count) in made_by_day(bench, at)? {
            let Some(recipe) = book.recipes.get(&id) else { continue };
            for line in &recipe.lines {
                let Ingredient::Material(material) = line.ingredient else { continue };
                let Some((length, each)) = cut_of(line.measure) else { continue };
                let placed = made_by(&event.event, day);
                let cut = cuts.entry((day, material)).or_insert_with(|| Cut {
                    lengths: BTreeMap::new(),
                    events: BTreeSet::new(),
                    placed,
                });
                *cut.lengths.entry(length).or_default() += count * each;
                cut.events.insert(at);
                cut.placed = cut.placed.max(placed);
            }
        }
    }
    Ok(cuts)
}

/// How many of each recipe are made on each day: pieces and parts on the days of the bench plan. A part's own count is rounded
/// up to whole ones there; here each day has its share of the exact count.
fn made_by_day(bench: &Bench<'_>, at: usize) -> Result<BTreeMap<(RecipeId, Day), Decimal>, ExplosionError> {
    let event = &bench.events()[at];
    let mut parts = made(&bench.inputs.weekend.book, &event.counts)?;
    let mut days: BTreeMap<(RecipeId, Day), Decimal> = BTreeMap::new();
    let mut add = |recipe: RecipeId, key: &str, exact: Decimal| {
        let planned = bench.plan.days_of(key);
        let all: Decimal = planned.iter().map(|(_, count)| Decimal::from(*count)).sum();
        if all.is_zero() {
            let usual = event.make_days.get(&recipe).copied().unwrap_or(event.event.day);
            *days.entry((recipe, usual)).or_default() += exact;
        }
        for (day, count) in planned.into_iter().filter(|_| !all.is_zero()) {
            let share = if exact == all { Decimal::from(count) } else { exact * Decimal::from(count) / all };
            *days.entry((recipe, day)).or_default() += share;
        }
    };
    for piece in bench.inputs.pieces.iter().filter(|piece| piece.event_id == event.event.id) {
        let Some(count) = event.event.count_of(piece) else { continue };
        *parts.entry(piece.recipe_id).or_default() -= Decimal::from(count);
        add(piece.recipe_id, &format!("make-{}", piece.id), Decimal::from(count));
    }
    for (recipe, count) in parts.into_iter().filter(|(_, count)| *count > Decimal::ZERO) {
        add(recipe, &format!("part-{}-{recipe}", event.event.id), count);
    }
    Ok(days)
}

fn cut_of(measure: Measure) -> Option<(Length, Decimal)> {
    match measure {
        Measure::Cut { quantity, length } => Some((length, quantity.decimal())),
        Measure::Wound { quantity, turns, diameter, ends } => {
            Some((wound_length(turns, diameter, ends), quantity.decimal()))
        }
        Measure::Count { .. } | Measure::OnePer { .. } => None,
    }
}

/// Puts the cutting of fresh stems on the bench: on the day they are placed.
pub(super) fn cut(bench: &mut Bench<'_>) -> Result<(), ExplosionError> {
    let mut stems: BTreeMap<MaterialId, (Day, i64)> = BTreeMap::new();
    for ((day, id), cut) in by_day(bench)? {
        let Some(material) = bench.material(id).filter(|material| material.is_fresh()) else { continue };
        match cutting_list(material, &cut.lengths) {
            Ok(list) => {
                let count = i64::try_from(list.stems()).unwrap_or(i64::MAX);
                stems.entry(id).or_insert((day, 0)).1 += count;
                let events: Vec<usize> = cut.events.iter().copied().collect();
                let slot =
                    Slot { day, step: Step::Cut, order: 0, events: &events, cautions: material.cautions };
                let task = task(bench, material, day, &cut, &list);
                bench.put(&slot, task);
            }
            Err(trouble) => {
                let sentence = trouble.sentence(material, bench.formats);
                bench.conflict(day, sentence);
            }
        }
    }
    compare_with_order(bench, &stems);
    Ok(())
}

fn task(bench: &Bench<'_>, material: &Material, day: Day, cut: &Cut, list: &CuttingList) -> PrepTask {
    let keeps = material.care.cut_keeps_hours.unwrap_or(CUT_KEEPS_HOURS);
    let not_before = hours_after(cut.placed, -keeps);
    let mut how = patterns(list, *bench.formats);
    how.push(format!("Keeps {keeps} hours once cut, cool, in a bag: not before {}", said(not_before)));
    let events: Vec<usize> = cut.events.iter().copied().collect();
    let count = i64::try_from(list.stems()).unwrap_or(i64::MAX);
    PrepTask {
        key: format!("cut-{}-{day}", material.id),
        count,
        unit: if count == 1 { "stem".into() } else { "stems".into() },
        what: format!("{}: {}", material.name, lengths(&list.pieces, *bench.formats)),
        how,
        wanted_for: bench.names(&events),
        not_before: Some(not_before),
        minutes: 0,
        working: list.working(material, bench.formats),
        makes: None,
    }
}

/// `144 of 14 cm, 24 of 18 cm`.
pub(super) fn lengths(pieces: &BTreeMap<Length, u64>, formats: Formats) -> String {
    let lengths = pieces.iter().map(|(length, count)| format!("{count} of {}", formats.length(*length)));
    lengths.collect::<Vec<_>>().join(", ")
}

/// One line a pattern: `36 stems, each: 4 of 14 cm (13 cm left)`.
fn patterns(list: &CuttingList, formats: Formats) -> Vec<String> {
    let line = |pattern: &crate::stem_order::cutting::Pattern| {
        let cuts = pattern
            .cuts
            .iter()
            .map(|(um, count)| format!("{count} of {}", formats.length(Length::from_um(*um))));
        let stems =
            if pattern.times == 1 { "1 stem".into() } else { format!("{} stems, each", pattern.times) };
        let left = formats.length(Length::from_um(pattern.waste));
        format!("{stems}: {} ({left} left)", cuts.collect::<Vec<_>>().join(" + "))
    };
    list.layout.patterns.iter().map(line).collect()
}

/// Cut day by day it may take more stems than laid out together, as the order has it: said if there are too few.
fn compare_with_order(bench: &mut Bench<'_>, stems: &BTreeMap<MaterialId, (Day, i64)>) {
    for need in &bench.inputs.weekend.needs {
        let (Some((day, stems)), Some(material)) = (stems.get(&need.material), bench.material(need.material))
        else {
            continue;
        };
        let by_number = need.parts.iter().map(|part| part.need.count + part.need.once).sum::<Decimal>();
        let whole = i64::try_from(by_number.ceil()).unwrap_or(i64::MAX).saturating_add(*stems);
        if whole > need.total() {
            let (name, ordered) = (&material.name, need.total());
            bench.conflict(
                *day,
                format!(
                    "{name}: cut day by day it takes {whole} stems, the order has {ordered} with spares."
                ),
            );
        }
    }
}
