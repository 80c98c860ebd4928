use proptest::prelude::*;

use super::*;
use crate::stem_order::samples::{book, event, flower, lot, offer, piece, recipe, stems, supplier};
use crate::stem_order::spares::SpareRules;
use crate::stem_order::weekend::weekend;
use crate::studio::Studio;

fn now() -> LocalTime {
    LocalTime { day: "2026-05-04".parse().unwrap(), time: "09:00".parse().unwrap() }
}

fn rules() -> SpareRules {
    SpareRules::from(&Studio::new_book())
}

fn market(offers: &[Offer], days: &[&str]) -> Market {
    let offers = days.iter().map(|day| (day.parse().unwrap(), offers.to_vec())).collect();
    Market { suppliers: vec![supplier(1, "Grower")], offers, closed: ClosedDays::default() }
}

#[test]
fn materials_that_keep_differently_are_told_apart_by_day() {
    let (mut rose, mut peony) = (flower(1, "Rose"), flower(2, "Peony"));
    rose.care.holding_days = Some(6);
    peony.care.holding_days = Some(3);
    let mut low = recipe(1, "Low", &[stems(1, 10_000)]);
    low.lines[0].substitutes = vec![MaterialId(2)];
    let booked = vec![(event(1, "Saturday", "2026-05-16"), vec![piece(1, 1)])];
    let weekend = weekend(booked, book(vec![low], vec![rose, peony]), &rules(), &BTreeMap::new()).unwrap();
    let market = market(&[offer(1, 1, 1, 10, 500), offer(2, 1, 2, 10, 100)], &["2026-05-11", "2026-05-14"]);
    let posed = pose(&weekend, &market, Deliveries::ByCalendar, now());
    // Peonies are far cheaper, but those of Monday do not keep until Saturday.
    assert_eq!(
        posed.problem.requirements[0].accepts,
        ["1", "2 on 2026-05-14"],
        "{:?}",
        posed.problem.requirements
    );
    let plan = buying_plan::plan(&posed.problem, &mut || true);
    assert_eq!((plan.packs.len(), plan.packs[0].date), (1, number("2026-05-14".parse().unwrap())));
}

#[test]
fn stock_serves_only_what_it_still_keeps_for() {
    let mut rose = flower(1, "Rose");
    rose.care.holding_days = Some(4);
    let booked = || {
        vec![
            (event(1, "Friday", "2026-05-08"), vec![piece(1, 1)]),
            (event(2, "Sunday", "2026-05-10"), vec![piece(1, 1)]),
        ]
    };
    let book = book(vec![recipe(1, "Low", &[stems(1, 10_000)])], vec![rose]);
    let on_hand = BTreeMap::from([(MaterialId(1), vec![lot(1, "2026-05-04", 50)])]);
    let weekend = weekend(booked(), book, &rules(), &on_hand).unwrap();
    let market = market(&[offer(1, 1, 1, 10, 500)], &["2026-05-07"]);
    let posed = pose(&weekend, &market, Deliveries::ByCalendar, now());
    let accepts: Vec<usize> = posed.problem.requirements.iter().map(|wanted| wanted.accepts.len()).collect();
    assert_eq!(accepts, [2, 1]);
    let plan = buying_plan::plan(&posed.problem, &mut || true);
    assert!(plan.unmet.is_empty());
    assert_eq!(plan.packs.iter().map(|line| line.packs).sum::<i64>(), 2);
}

#[test]
fn most_packs_hold_for_each_delivery() {
    let mut rose = flower(1, "Rose");
    rose.care.holding_days = Some(6);
    let booked = vec![(event(1, "Saturday", "2026-05-16"), vec![piece(1, 4)])];
    let book = book(vec![recipe(1, "Low", &[stems(1, 10_000)])], vec![rose]);
    let weekend = weekend(booked, book, &rules(), &BTreeMap::new()).unwrap();
    let limited = Offer { most_packs: Some(3), ..offer(1, 1, 1, 10, 500) };
    let market = market(&[limited], &["2026-05-13", "2026-05-14"]);
    let posed = pose(&weekend, &market, Deliveries::ByCalendar, now());
    let plan = buying_plan::plan(&posed.problem, &mut || true);
    assert!(plan.unmet.is_empty(), "{:?}", plan.unmet);
    assert_eq!(plan.packs.iter().map(|line| line.packs).collect::<Vec<_>>().len(), 2);
}

/// Friday's and Sunday's roses, with lots of two ages on hand.
fn with_stock(old: i64, new: i64) -> (Weekend, Posed) {
    let mut rose = flower(1, "Rose");
    rose.care.holding_days = Some(4);
    rose.loss = Some(crate::ground::quantity::Share::from_raw(0));
    let booked = vec![
        (event(1, "Friday", "2026-05-08"), vec![piece(1, 1)]),
        (event(2, "Sunday", "2026-05-10"), vec![piece(1, 1)]),
    ];
    let book = book(vec![recipe(1, "Low", &[stems(1, 10_000)])], vec![rose]);
    let lots = vec![lot(7, "2026-05-04", old), lot(8, "2026-05-06", new)];
    let weekend = weekend(booked, book, &rules(), &BTreeMap::from([(MaterialId(1), lots)])).unwrap();
    let posed =
        pose(&weekend, &market(&[offer(1, 1, 1, 3, 500)], &["2026-05-07"]), Deliveries::ByCalendar, now());
    (weekend, posed)
}

#[test]
fn the_oldest_lot_that_keeps_is_taken_first() {
    let (weekend, posed) = with_stock(8, 5);
    let plan = buying_plan::plan(&posed.problem, &mut || true);
    let uses: Vec<(i64, i64, i64)> = stock_uses(&weekend, &posed, &plan)
        .iter()
        .map(|(_, one)| (one.lot.0, one.event.0, one.count))
        .collect();
    // Monday's eight keep for Friday only; Wednesday's five keep for both.
    let of = |lot: i64, event: i64| -> i64 {
        uses.iter().filter(|one| (one.0, one.1) == (lot, event)).map(|one| one.2).sum()
    };
    assert_eq!((of(7, 1), of(7, 2)), (8, 0));
    assert_eq!(of(8, 1) + of(8, 2), 5);
    assert!(plan.unmet.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    /// More in stock never makes the order dearer; what is taken is free and keeps, and every event has its stems.
    #[test]
    fn stock_never_raises_the_cost(old in 0_i64..14, new in 0_i64..14, more_old in 0_i64..6, more_new in 0_i64..6) {
        let (weekend, posed) = with_stock(old, new);
        let plan = buying_plan::plan(&posed.problem, &mut || true);
        let (_, richer) = with_stock(old + more_old, new + more_new);
        let cheaper = buying_plan::plan(&richer.problem, &mut || true);
        prop_assert!(plan.proven && cheaper.proven);
        prop_assert!(cheaper.cost <= plan.cost);
        let uses = stock_uses(&weekend, &posed, &plan);
        for (lot, free, keeps_for_sunday) in [(7, old, false), (8, new, true)] {
            let taken: i64 = uses.iter().filter(|one| one.1.lot.0 == lot).map(|one| one.1.count).sum();
            prop_assert!(taken <= free);
            prop_assert!(keeps_for_sunday || uses.iter().all(|one| one.1.lot.0 != lot || one.1.event.0 == 1));
        }
        let allotted: i64 = plan.allocation.iter().filter(|share| matches!(share.source, buying_plan::Source::Stock(_)))
            .map(|share| share.stems).sum();
        prop_assert_eq!(uses.iter().map(|one| one.1.count).sum::<i64>(), allotted);
    }
}
