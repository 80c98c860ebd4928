use std::collections::{BTreeMap, HashMap};

use super::super::shifts::{BEGINS, Exception, Otherwise, Shifts, WeekdayShift};
use super::super::{BenchInputs, plan};
use super::*;
use crate::events::{Event, Piece};
use crate::ground::ids::{BenchPinId, PieceId, RecipeId};
use crate::ground::quantity::Quantity;
use crate::prep::bench_plan::pins::Pin;
use crate::prep::freshness::lives::Climate;
use crate::prep::plan::{OrderedPlan, Serves};
use crate::recipes::{Ingredient, Measure, Recipe};
use crate::stem_order::samples::{book, event, flower, piece, recipe, stems};
use crate::stem_order::spares::SpareRules;
use crate::stem_order::weekend::weekend;
use crate::studio::Studio;

const COSMOS: i64 = 1;
const DILL: i64 = 2;

fn supper() -> Event {
    let time = |text: &str| text.parse().ok();
    Event {
        set_up_time: time("10:00"),
        start_time: time("14:00"),
        end_time: time("23:00"),
        ..event(1, "Supper", "2026-05-16")
    }
}

/// Ten bowls of cosmos, each with a base of dill in it; both come on Friday. One person works four hours a day.
fn inputs(hours_kept: i64, with_base: bool) -> PrepInputs {
    let part = (Ingredient::Part(RecipeId(2)), Measure::Count { quantity: Quantity::whole(1) });
    let lines = [stems(COSMOS, 3_000), part];
    let bowl = Recipe {
        minutes: Quantity::whole(40),
        holding_hours: hours_kept,
        ..recipe(1, "Bowl", if with_base { &lines } else { &lines[..1] })
    };
    let base =
        Recipe { minutes: Quantity::whole(1), holding_hours: 72, ..recipe(2, "Base", &[stems(DILL, 1_000)]) };
    let pieces = vec![Piece { id: PieceId(1), ..piece(1, 10) }];
    let rules = SpareRules::from(&Studio::new_book());
    let all = book(vec![bowl, base], vec![flower(COSMOS, "Cosmos"), flower(DILL, "Dill")]);
    let weekend = weekend(vec![(supper(), pieces.clone())], all, &rules, &BTreeMap::new()).unwrap();
    let on_friday = |need: &crate::stem_order::weekend::MaterialNeed| Delivery {
        material: need.material,
        day: "2026-05-15".parse().unwrap(),
        stems: 30,
        over: 0,
        packs: None,
        supplier: None,
        supplier_id: None,
        open: false,
        serves: need.parts.iter().map(|part| Serves::part(need.material, part)).collect(),
        note: String::new(),
    };
    let deliveries = weekend.needs.iter().map(on_friday).collect();
    let shift = WeekdayShift { begins: BEGINS, people: 1, minutes: 240, more_minutes: 0 };
    let shifts = Shifts { week: [Some(shift); 7], exceptions: Vec::new() };
    PrepInputs {
        weekend,
        pieces,
        packs: HashMap::new(),
        plan: Some(OrderedPlan { deliveries, ..OrderedPlan::default() }),
        undecided: false,
        climate: Climate::default(),
        bench: BenchInputs { shifts, ..BenchInputs::default() },
    }
}

fn mends(inputs: &PrepInputs) -> Vec<String> {
    let plan = plan(inputs, &Studio::new_book().formats).unwrap();
    plan.conflicts.into_iter().flat_map(|conflict| conflict.mends).map(|mend| mend.words).collect()
}

#[test]
fn a_day_earlier_is_said_only_of_what_nothing_else_holds_up() {
    // Cosmos on Thursday would let bowls be made then.
    let told = mends(&inputs(72, false));
    assert!(told.iter().any(|mend| mend.starts_with("Cosmos a day earlier saves")), "{told:?}");
    // But not where the base waits for its dill until Friday: dill on Thursday saves the bases' own ten minutes, no more.
    let told = mends(&inputs(72, true));
    assert!(!told.iter().any(|mend| mend.starts_with("Cosmos a day earlier")), "{told:?}");
    assert!(told.iter().any(|mend| mend == "Dill a day earlier saves 10 min."), "{told:?}");
}

#[test]
fn a_day_earlier_is_tried_with_the_pins_as_they_are() {
    let mut pinned = inputs(72, false);
    let day = "2026-05-15".parse().unwrap();
    pinned.bench.pins = vec![Pin { id: BenchPinId(1), task: "make-1".into(), day, count: 10 }];
    let told = mends(&pinned);
    // All bowls stay on Friday, which may then be begun at eight instead of ten.
    assert!(told.iter().any(|mend| mend == "Cosmos a day earlier saves 2 h."), "{told:?}");
    let free = mends(&inputs(72, false));
    assert!(!free.iter().any(|mend| mend == "Cosmos a day earlier saves 2 h."), "{free:?}");
}

#[test]
fn holding_life_is_not_mended_by_an_earlier_delivery() {
    // It holds two hours, guests come at 14:00, and loading is long before noon.
    let told = mends(&inputs(2, false));
    assert!(told.iter().any(|mend| mend.starts_with("Make it at the venue")), "{told:?}");
    assert!(!told.iter().any(|mend| mend.contains("delivered earlier")), "{told:?}");
}

#[test]
fn people_more_mend_it_as_they_are_typed() {
    let mut short = inputs(72, false);
    let told = mends(&short);
    let mend = told.iter().find(|mend| mend.contains(" more for ") && mend.ends_with("mends it.")).unwrap();
    // Typed into the shifts as it is said, no day is too full any more.
    let people = if mend.starts_with("One") { 1 } else { mend[..1].parse().unwrap() };
    let words = mend.split(" more for ").nth(1).unwrap().split(" on ").next().unwrap();
    let hours: i64 = words.split(" h").next().unwrap().parse().unwrap();
    let minutes = hours * 60 + if words.ends_with("30 min") { 30 } else { 0 };
    let day = "2026-05-15".parse().unwrap();
    let more = Exception { day, kind: Otherwise::More, people, minutes, note: String::new() };
    short.bench.shifts.exceptions.push(more);
    assert!(!mends(&short).iter().any(|mend| mend.contains("2026") && mend.ends_with("mends it.")), "{mend}");
}
