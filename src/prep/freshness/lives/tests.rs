use std::collections::BTreeMap;

use super::*;
use crate::events::{Event, Piece};
use crate::prep::bench_plan;
use crate::prep::plan::{OrderedPlan, StockTaken};
use crate::stem_order::samples::{book, event, flower, piece, recipe, stems};
use crate::stem_order::spares::SpareRules;
use crate::stem_order::weekend::weekend;
use crate::studio::Studio;

const COSMOS: i64 = 1;
const LILY: i64 = 2;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

/// Cosmos last three days in a vase; lilies nine, and take four to open.
fn materials() -> Vec<Material> {
    let mut cosmos = flower(COSMOS, "Cosmos");
    cosmos.care.vase_days = Some(3);
    let mut lily = flower(LILY, "Lily");
    lily.care.vase_days = Some(9);
    lily.care.opening_days = 4;
    lily.care.holding_days = Some(6);
    vec![cosmos, lily]
}

fn saturday() -> Event {
    let time = |text: &str| text.parse().ok();
    Event {
        set_up_time: time("10:00"),
        start_time: time("14:00"),
        end_time: time("23:00"),
        ..event(1, "Supper", "2026-05-16")
    }
}

fn inputs() -> PrepInputs {
    let bowl = recipe(1, "Bowl", &[stems(COSMOS, 5_000), stems(LILY, 2_000)]);
    let pieces: Vec<Piece> = vec![piece(1, 3)];
    let rules = SpareRules::from(&Studio::new_book());
    let weekend =
        weekend(vec![(saturday(), pieces.clone())], book(vec![bowl], materials()), &rules, &BTreeMap::new());
    PrepInputs {
        weekend: weekend.unwrap(),
        pieces,
        packs: std::collections::HashMap::new(),
        plan: None,
        undecided: false,
        climate: Climate::default(),
        bench: crate::prep::bench_plan::BenchInputs::default(),
    }
}

fn serves(inputs: &PrepInputs, material: i64) -> Vec<Serves> {
    let need = inputs.weekend.need_of(MaterialId(material)).unwrap();
    need.parts.iter().map(|part| Serves::part(need.material, part)).collect()
}

fn delivery(inputs: &PrepInputs, material: i64, on: &str) -> Delivery {
    Delivery {
        material: MaterialId(material),
        day: day(on),
        stems: 10,
        over: 0,
        packs: None,
        supplier: Some("Meadow & Mill".into()),
        supplier_id: None,
        open: false,
        serves: serves(inputs, material),
        note: "Ordered, N°\u{a0}1".into(),
    }
}

fn all(inputs: &PrepInputs) -> Vec<EventLives> {
    lives(inputs, &bench_plan::plan(inputs, &Studio::new_book().formats).unwrap())
}

fn told(lives: &[EventLives]) -> Vec<(&str, String, Verdict)> {
    lives[0]
        .rows
        .iter()
        .map(|row| (row.name.as_str(), row.arrives.to_string(), row.estimate.verdict))
        .collect()
}

#[test]
fn on_their_latest_safe_day_all_are_open_and_last() {
    let lives = all(&inputs());
    assert!(lives[0].troubles().is_empty(), "{:?}", lives[0].troubles());
    assert_eq!(lives[0].words(), "2 fine");
}

#[test]
fn a_lily_that_comes_late_is_shut_and_what_ends_early_comes_first() {
    let mut inputs = inputs();
    let deliveries = vec![delivery(&inputs, LILY, "2026-05-14"), delivery(&inputs, COSMOS, "2026-05-14")];
    inputs.plan = Some(OrderedPlan { deliveries, ..OrderedPlan::default() });
    assert_eq!(
        told(&all(&inputs)),
        [
            ("Lily", "2026-05-14".to_owned(), Verdict::Shut),
            ("Cosmos", "2026-05-14".to_owned(), Verdict::Fine)
        ]
    );
    assert_eq!(
        all(&inputs)[0].troubles(),
        ["Lily opens only after the event Mon 10:00; guests come Sat 14:00."]
    );
    // A hot marquee: the cosmos are over before the guests go.
    inputs.climate.venues.insert(EventId(1), 40);
    let hot = all(&inputs);
    assert_eq!(hot[0].rows[0].name, "Cosmos");
    assert!(
        hot[0].troubles()[0].starts_with("Cosmos is estimated to be over about Sat"),
        "{:?}",
        hot[0].troubles()
    );
    assert_eq!(hot[0].words(), "1 ends early, 1 still shut");
}

#[test]
fn two_arrivals_and_what_lies_on_hand_have_rows_of_their_own() {
    let mut inputs = inputs();
    let deliveries = vec![delivery(&inputs, COSMOS, "2026-05-13"), delivery(&inputs, COSMOS, "2026-05-14")];
    let lot = StockTaken {
        lot: crate::ground::ids::StockLotId(1),
        material: MaterialId(COSMOS),
        arrived: day("2026-05-10"),
        stems: 3,
        serves: serves(&inputs, COSMOS),
    };
    inputs.plan = Some(OrderedPlan { deliveries, from_stock: vec![lot], ..OrderedPlan::default() });
    let lives = all(&inputs);
    let rows: Vec<_> =
        lives[0].rows.iter().map(|row| (row.arrives.to_string(), row.on_hand, row.from.as_str())).collect();
    // The oldest has the least left, so it comes first.
    let order = "Meadow & Mill, ordered, N°\u{a0}1";
    assert_eq!(
        rows,
        [
            ("2026-05-10".to_owned(), true, "on hand"),
            ("2026-05-13".to_owned(), false, order),
            ("2026-05-14".to_owned(), false, order)
        ]
    );
    let left: Vec<f64> = lives[0].rows.iter().filter_map(|row| row.estimate.days_left).collect();
    assert!(left.windows(2).all(|two| two[0] < two[1]), "{left:?}");
}

#[test]
fn a_substitute_says_for_what_it_stands_in() {
    let mut inputs = inputs();
    let stand_in = Delivery { material: MaterialId(LILY), ..delivery(&inputs, COSMOS, "2026-05-11") };
    inputs.plan = Some(OrderedPlan { deliveries: vec![stand_in], ..OrderedPlan::default() });
    assert_eq!(all(&inputs)[0].rows[0].stands_in_for, [MaterialId(COSMOS)]);
}
