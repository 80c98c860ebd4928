use std::collections::BTreeMap;

use proptest::prelude::*;

use super::clock::{at, hours_after};
use super::*;
use crate::events::Event;
use crate::ground::ids::{EventId, PieceId, PlaceId, SupplierId};
use crate::price_list::Material;
use crate::recipes::{Category, Recipe};
use crate::stem_order::samples::{book, cut, event, flower, foliage, piece, recipe, stems, vessel};
use crate::stem_order::spares::SpareRules;
use crate::stem_order::weekend::weekend;
use crate::studio::Studio;

const COSMOS: i64 = 1;
const IVY: i64 = 2;
const BOWL: i64 = 3;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn cosmos() -> Material {
    let mut cosmos = flower(COSMOS, "Cosmos");
    cosmos.care.conditioning_minutes = 6;
    cosmos.care.hydrate_hours = 12;
    cosmos
}

fn recipes() -> Vec<Recipe> {
    let low = recipe(1, "Low bowl", &[stems(COSMOS, 6_500), cut(IVY, 12, 6), stems(BOWL, 1_000)]);
    let mut buttonhole = recipe(2, "Buttonhole", &[stems(COSMOS, 1_000), cut(IVY, 1, 3)]);
    buttonhole.holding_hours = 6;
    buttonhole.category = Category::Personal;
    vec![low, buttonhole]
}

fn saturday() -> Event {
    let mut event = event(1, "Supper", "2026-05-16");
    event.set_up_time = Some("14:00".parse().unwrap());
    event
}

/// Pieces as recipe and count, numbered in order, all of one event.
fn inputs(materials: Vec<Material>, pieces: &[(i64, i64)]) -> PrepInputs {
    let numbered = (1_i64..).zip(pieces).map(|(id, (recipe, count))| Piece {
        id: PieceId(id),
        event_id: EventId(1),
        place_id: PlaceId(id),
        ..piece(*recipe, *count)
    });
    let pieces: Vec<Piece> = numbered.collect();
    let rules = SpareRules::from(&Studio::new_book());
    let booked = vec![(saturday(), pieces.clone())];
    let weekend = weekend(booked, book(recipes(), materials), &rules, &BTreeMap::new()).unwrap();
    let pack = Pack { name: "bunch".into(), size: 10 };
    let packs = [(MaterialId(COSMOS), pack)].into();
    let (climate, bench) = (Climate::default(), BenchInputs::default());
    PrepInputs { weekend, pieces, packs, plan: None, undecided: false, climate, bench }
}

fn usual(pieces: &[(i64, i64)]) -> PrepInputs {
    inputs(vec![cosmos(), foliage(IVY, "Ivy", 27), vessel(BOWL, "Bowl")], pieces)
}

fn of(inputs: &PrepInputs) -> PrepSheets {
    sheets(inputs, &Studio::new_book().formats).unwrap()
}

fn tasks(sheets: &PrepSheets, step: Step) -> impl Iterator<Item = (Day, &PrepTask)> {
    let days = sheets.days.iter().flat_map(|day| day.steps.iter().map(move |step| (day.day, step)));
    days.filter(move |(_, of)| of.step == step)
        .flat_map(|(day, step)| step.tasks.iter().map(move |task| (day, task)))
}

#[test]
fn a_supper_is_prepared_backwards() {
    let inputs = usual(&[(1, 12), (2, 5)]);
    let sheets = of(&inputs);
    let days: Vec<String> = sheets.days.iter().map(|day| day.day.to_string()).collect();
    assert_eq!(days, ["2026-05-14", "2026-05-15", "2026-05-16"]);

    // 12 × 6.5 + 5 = 83 cosmos and their spares stand overnight: they arrive two days before.
    let total = inputs.weekend.need_of(MaterialId(COSMOS)).unwrap().total();
    let (arrives, condition) =
        tasks(&sheets, Step::Condition).find(|(_, task)| task.what == "Cosmos").unwrap();
    assert_eq!(arrives, day("2026-05-14"));
    assert_eq!(condition.count, (total + 9) / 10);
    assert_eq!(condition.minutes, condition.count * 6);
    assert!(
        condition.how[1].ends_with("12 hours in water: not used before Thu 22:00"),
        "{:?}",
        condition.how
    );

    let (dressed, bowls) = tasks(&sheets, Step::Dress).next().unwrap();
    assert_eq!((dressed, bowls.count), (day("2026-05-14"), 12));

    // Four pieces of 6 in from 27: 144 are 36 stems, on Friday, and not before Thursday evening.
    let cuts: Vec<_> = tasks(&sheets, Step::Cut).collect();
    assert_eq!((cuts[0].0, cuts[0].1.count), (day("2026-05-15"), 36));
    assert_eq!(cuts[0].1.how[0], "36 stems, each: 4 of 15.24\u{a0}cm (7.62\u{a0}cm left)");
    assert_eq!(said(cuts[0].1.not_before.unwrap()), "Thu 18:00");
    // For the buttonholes on Saturday, set up from two: not before Friday at two.
    assert_eq!((cuts[1].0, said(cuts[1].1.not_before.unwrap())), (day("2026-05-16"), "Fri 14:00".to_owned()));

    let made: Vec<_> =
        tasks(&sheets, Step::Make).map(|(day, task)| (day, task.what.as_str(), task.count)).collect();
    assert_eq!(made, [(day("2026-05-15"), "Low bowl", 12), (day("2026-05-16"), "Buttonhole", 5)]);
    // Twelve bowls of ten minutes, and five bunches of ivy of ten minutes that arrive on the same day.
    assert_eq!(sheets.day(day("2026-05-15")).unwrap().hours(), "2 h 50 min");
    assert!(sheets.conflicts.is_empty(), "{:?}", sheets.conflicts);
}

#[test]
fn personal_flowers_are_made_last() {
    let mut inputs = usual(&[(2, 5), (1, 3)]);
    inputs.weekend.book.recipes.get_mut(&crate::ground::ids::RecipeId(2)).unwrap().holding_hours = 48;
    let rules = SpareRules::from(&Studio::new_book());
    let booked = vec![(saturday(), inputs.pieces.clone())];
    inputs.weekend = weekend(booked, inputs.weekend.book, &rules, &BTreeMap::new()).unwrap();
    let sheets = of(&inputs);
    let made: Vec<_> = tasks(&sheets, Step::Make).map(|(day, task)| (day, task.what.as_str())).collect();
    assert_eq!(made, [(day("2026-05-15"), "Low bowl"), (day("2026-05-15"), "Buttonhole")]);
}

#[test]
fn an_empty_window_is_a_named_conflict() {
    let mut slow = cosmos();
    slow.care.hydrate_hours = 96;
    slow.care.holding_days = Some(2);
    let sheets = of(&inputs(vec![slow, foliage(IVY, "Ivy", 27), vessel(BOWL, "Bowl")], &[(1, 1)]));
    assert_eq!(sheets.conflicts.len(), 1);
    assert!(sheets.conflicts[0].sentence.starts_with("Cosmos keeps 2 days"), "{:?}", sheets.conflicts);
}

#[test]
fn a_delivery_too_late_to_drink_is_a_named_conflict() {
    let mut inputs = usual(&[(1, 1)]);
    let serves: Vec<Serves> =
        inputs.weekend.needs[0].parts.iter().map(|part| Serves::part(MaterialId(COSMOS), part)).collect();
    let late = |day| Delivery {
        material: MaterialId(COSMOS),
        day,
        stems: 9,
        over: 0,
        packs: None,
        supplier: Some("Meadow & Mill".into()),
        supplier_id: Some(SupplierId(1)),
        open: false,
        serves: serves.clone(),
        note: String::new(),
    };
    let on = |day| Some(OrderedPlan { deliveries: vec![late(day)], ..OrderedPlan::default() });
    inputs.plan = on(day("2026-05-15"));
    let sheets = of(&inputs);
    assert!(
        sheets.conflicts[0].sentence.contains("finished by Fri 18:00"),
        "ready on Friday at ten in the evening: {:?}",
        sheets.conflicts
    );
    inputs.plan = on(day("2026-05-14"));
    assert!(of(&inputs).conflicts.is_empty());
}

#[test]
fn what_comes_alike_is_one_row_and_what_comes_of_another_supplier_its_own() {
    let mut inputs = usual(&[(1, 4)]);
    let serves: Vec<Serves> =
        inputs.weekend.needs[0].parts.iter().map(|part| Serves::part(MaterialId(COSMOS), part)).collect();
    let pack = Pack { name: "bunch".into(), size: 10 };
    let coming = |stems: i64, supplier: i64, note: &str| Delivery {
        material: MaterialId(COSMOS),
        day: day("2026-05-14"),
        stems,
        over: 1,
        packs: Some((stems / 10, pack.clone())),
        supplier: Some(format!("Supplier {supplier}")),
        supplier_id: Some(SupplierId(supplier)),
        open: false,
        serves: serves.clone(),
        note: note.into(),
    };
    let to_order = Delivery { open: true, ..coming(10, 1, "Not ordered yet") };
    let deliveries =
        vec![coming(20, 1, "Ordered, N° 1"), coming(10, 2, ""), to_order, coming(10, 1, "Ordered, N° 2")];
    inputs.plan = Some(OrderedPlan { deliveries, ..OrderedPlan::default() });
    let sheets = of(&inputs);
    let rows: Vec<&PrepTask> = tasks(&sheets, Step::Condition)
        .map(|(_, task)| task)
        .filter(|task| task.key.starts_with("condition-1-"))
        .collect();
    let keys: Vec<&str> = rows.iter().map(|row| row.key.as_str()).collect();
    assert_eq!(
        keys,
        ["condition-1-2026-05-14-10-1", "condition-1-2026-05-14-10-2", "condition-1-2026-05-14-10-1-open"]
    );
    assert_eq!((rows[0].count, rows[1].count, rows[0].minutes), (3, 1, 18));
    assert_eq!(rows[0].how[1], "20 stems: Ordered, N° 1; 10 stems: Ordered, N° 2");
    assert_eq!(arrivals(&inputs)[0].over, 2);
}

#[test]
fn what_cannot_be_had_is_named_and_awaited_all_the_same() {
    let mut inputs = usual(&[(1, 2)]);
    let sentence = "13 of Cosmos: nobody offers it.".to_owned();
    let unmet = Unmet { material: MaterialId(COSMOS), event: 0, stems: 13, sentence: sentence.clone() };
    inputs.plan = Some(OrderedPlan { unmet: vec![unmet], ..OrderedPlan::default() });
    let sheets = of(&inputs);
    assert_eq!(sheets.conflicts, [Conflict { day: day("2026-05-14"), sentence, buying: true }]);
    let (_, awaited) = tasks(&sheets, Step::Condition).next().unwrap();
    assert_eq!(
        (awaited.count, awaited.how[0].as_str()),
        (2, "13 stems, 10 to a bunch, not in the stem order")
    );
}

#[test]
fn a_substitute_says_what_it_stands_in_for() {
    let mut inputs = usual(&[(1, 1)]);
    let serves: Vec<Serves> =
        inputs.weekend.needs[0].parts.iter().map(|part| Serves::part(MaterialId(COSMOS), part)).collect();
    let mut ranunculus = flower(9, "Ranunculus");
    ranunculus.care.hydrate_hours = 30;
    inputs.weekend.book.materials.insert(MaterialId(9), ranunculus);
    let delivery = Delivery {
        material: MaterialId(9),
        day: day("2026-05-14"),
        stems: 10,
        over: 0,
        packs: None,
        supplier: None,
        supplier_id: None,
        open: false,
        serves,
        note: String::new(),
    };
    inputs.plan = Some(OrderedPlan { deliveries: vec![delivery], ..OrderedPlan::default() });
    let sheets = of(&inputs);
    let (_, substitute) = tasks(&sheets, Step::Condition).next().unwrap();
    assert_eq!(substitute.how[0], "Stands in for Cosmos");
    let (_, bowl) = tasks(&sheets, Step::Make).next().unwrap();
    assert_eq!(bowl.not_before.map(said).as_deref(), Some("Fri 16:00"), "the bowl waits for what stands in");
}

#[test]
fn foliage_longer_than_its_stem_is_named() {
    let sheets = of(&inputs(vec![cosmos(), foliage(IVY, "Ivy", 5), vessel(BOWL, "Bowl")], &[(1, 1)]));
    assert!(sheets.conflicts[0].sentence.starts_with("A piece of Ivy is 15.24"), "{:?}", sheets.conflicts);
}

proptest! {
    #[test]
    fn every_piece_is_made_once_and_nothing_cut_before_its_window(
        pieces in prop::collection::vec((1_i64..3, 1_i64..200), 1..8),
        hydrate in 0_i64..100, keeps in prop::option::of(1_i64..72),
    ) {
        let (mut flower, mut green) = (cosmos(), foliage(IVY, "Ivy", 27));
        flower.care.hydrate_hours = hydrate;
        green.care.cut_keeps_hours = keeps;
        let inputs = inputs(vec![flower, green, vessel(BOWL, "Bowl")], &pieces);
        let sheets = of(&inputs);
        let mut made: Vec<(String, i64)> =
            tasks(&sheets, Step::Make).map(|(_, task)| (task.key.clone(), task.count)).collect();
        made.sort();
        let mut wanted: Vec<(String, i64)> =
            (1..).zip(&pieces).map(|(id, (_, count))| (format!("make-{id}"), *count)).collect();
        wanted.sort();
        prop_assert_eq!(made, wanted);
        for (day, task) in tasks(&sheets, Step::Cut) {
            let not_before = task.not_before.unwrap();
            let placed = super::clock::made_by(&saturday(), day);
            prop_assert_eq!(hours_after(not_before, keeps.unwrap_or(CUT_KEEPS_HOURS)), placed);
            prop_assert!(not_before < placed && not_before < at(day.plus(1), BENCH_OPENS));
        }
    }

    #[test]
    fn what_arrives_is_what_is_ordered_and_drinks_before_it_is_used(
        pieces in prop::collection::vec((1_i64..3, 1_i64..200), 1..8),
        hydrate in 0_i64..96,
    ) {
        let mut flower = cosmos();
        flower.care.hydrate_hours = hydrate;
        let inputs = inputs(vec![flower, foliage(IVY, "Ivy", 27), vessel(BOWL, "Bowl")], &pieces);
        let arrivals = arrivals(&inputs);
        for need in &inputs.weekend.needs {
            let material = inputs.weekend.material(need.material).unwrap();
            let arriving: i64 = arrivals.iter().filter(|d| d.material == need.material).map(|d| d.stems).sum();
            prop_assert_eq!(arriving, if material.is_fresh() { need.to_order(material) } else { 0 });
        }
        let sheets = of(&inputs);
        prop_assert!(sheets.conflicts.is_empty(), "{:?}", sheets.conflicts);
        for (day, task) in tasks(&sheets, Step::Make) {
            prop_assert!(task.not_before.is_none_or(|moment| moment <= at(day, BENCH_CLOSES)));
        }
    }
}
