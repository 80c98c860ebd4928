use std::collections::BTreeMap;

use super::*;
use crate::events::Event;
use crate::ground::ids::{EventId, RecipeId};
use crate::prep::bench_plan;
use crate::prep::freshness::lives::{Climate, lives};
use crate::prep::plan::{Delivery, OrderedPlan, Serves};
use crate::stem_order::samples::{book, event, flower, piece, recipe, stems};
use crate::stem_order::spares::SpareRules;
use crate::stem_order::weekend::weekend;
use crate::studio::Studio;

const DELICATE: i64 = 1;
const STURDY: i64 = 2;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

/// A bowl of a delicate head, or of one that takes days to open and lasts longer, in whose place a sturdy one may stand; it arrives on a day, and the venue is so warm.
fn inputs(arrives: &str, venue: i64, opening_days: i64) -> PrepInputs {
    let mut delicate = flower(DELICATE, "Delicate");
    delicate.care.vase_days = Some(if opening_days == 0 { 3 } else { 9 });
    delicate.care.opening_days = opening_days;
    delicate.care.holding_days = Some(5);
    let mut sturdy = flower(STURDY, "Sturdy");
    sturdy.care.vase_days = Some(14);
    let mut bowl = recipe(1, "Bowl", &[stems(DELICATE, 5_000)]);
    bowl.lines[0].substitutes = vec![MaterialId(STURDY)];
    let time = |text: &str| text.parse().ok();
    let saturday = Event {
        set_up_time: time("10:00"),
        start_time: time("14:00"),
        end_time: time("23:00"),
        ..event(1, "Supper", "2026-05-16")
    };
    let pieces = vec![piece(1, 3)];
    let rules = SpareRules::from(&Studio::new_book());
    let all = book(vec![bowl], vec![delicate, sturdy]);
    let weekend = weekend(vec![(saturday, pieces.clone())], all, &rules, &BTreeMap::new()).unwrap();
    let serves = Serves {
        material: MaterialId(DELICATE),
        event: 0,
        recipes: vec![RecipeId(1)],
        make_day: day("2026-05-15"),
    };
    let delivery = Delivery {
        material: MaterialId(DELICATE),
        day: day(arrives),
        stems: 15,
        over: 0,
        packs: None,
        supplier: Some("Meadow & Mill".into()),
        supplier_id: None,
        open: false,
        serves: vec![serves],
        note: String::new(),
    };
    let plan = Some(OrderedPlan { deliveries: vec![delivery], ..OrderedPlan::default() });
    let climate = Climate { venues: BTreeMap::from([(EventId(1), venue)]), ..Climate::default() };
    let packs = std::collections::HashMap::new();
    let bench = crate::prep::bench_plan::BenchInputs::default();
    PrepInputs { weekend, pieces, packs, plan, undecided: false, climate, bench }
}

fn days(days: &[&str]) -> SupplierDays {
    let known = days.iter().map(|on| SupplierDay {
        day: day(on),
        supplier: "Fenn Hall".into(),
        order_by: (day(on).plus(-1), "11:00".parse().unwrap()),
    });
    BTreeMap::from([(MaterialId(DELICATE), known.collect())])
}

fn all(inputs: &PrepInputs) -> Vec<EventLives> {
    lives(inputs, &bench_plan::plan(inputs, &Studio::new_book().formats).unwrap())
}

fn told(inputs: &PrepInputs, days: &SupplierDays) -> Vec<String> {
    let lives = all(inputs);
    let row = lives[0].rows.first().unwrap();
    assert!(row.estimate.wants_a_look(), "{:?}", row.estimate);
    mends(inputs, &lives[0], row, days, &Studio::new_book().formats)
}

#[test]
fn a_later_delivery_the_cooler_a_cooler_venue_and_a_substitute_are_tried() {
    let words = told(&inputs("2026-05-11", 30, 0), &days(&["2026-05-13", "2026-05-15"]));
    assert!(
        words[0].starts_with("Delivered Fri 15 May 2026, by Fenn Hall (order by Thu 14 May 2026 11:00):"),
        "{words:?}"
    );
    assert!(words.iter().any(|word| word.starts_with("Finished pieces in the cooler")), "{words:?}");
    assert!(words.iter().any(|word| word.starts_with("At 20 °C at the venue")), "{words:?}");
    assert!(words.last().unwrap().starts_with("Sturdy may stand in: about"), "{words:?}");
}

#[test]
fn what_is_shut_has_to_come_earlier() {
    let shut = inputs("2026-05-14", 18, 3);
    let words = told(&shut, &days(&["2026-05-12", "2026-05-15"]));
    assert!(words[0].starts_with("Delivered Tue 12 May 2026"), "{words:?}");
    // No day that helps: only the substitute is named.
    let words = told(&shut, &days(&["2026-05-15"]));
    assert_eq!(words.len(), 1, "{words:?}");
    assert!(words[0].starts_with("Sturdy may stand in"));
}

#[test]
fn what_cold_harms_keeps_or_does_not_and_says_nothing_of_opening() {
    // Stored at 13 °C it keeps three days, in a vase four: six days are too long.
    let mut inputs = inputs("2026-05-11", 20, 0);
    let tender = inputs.weekend.book.materials.get_mut(&MaterialId(DELICATE)).unwrap();
    tender.care.storage_celsius = Some(13);
    tender.care.vase_days = Some(4);
    tender.care.holding_days = Some(3);
    let words = told(&inputs, &days(&["2026-05-13", "2026-05-15"]));
    assert!(words[0].starts_with("Delivered Fri 15 May 2026"), "{words:?}");
    assert!(words[0].ends_with(": it keeps to the end of the event."), "{words:?}");
}

#[test]
fn only_what_someone_has_to_look_at_is_searched_for() {
    let fine = inputs("2026-05-15", 15, 0);
    assert!(asked_for(&all(&fine)).is_empty(), "{:?}", all(&fine)[0].words());
    assert_eq!(asked_for(&all(&inputs("2026-05-11", 30, 0))), [MaterialId(DELICATE)]);
}
