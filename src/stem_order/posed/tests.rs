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
