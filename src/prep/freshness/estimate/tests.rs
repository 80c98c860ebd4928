use proptest::prelude::*;

use super::*;
use crate::stem_order::samples::flower;

fn at(text: &str) -> DateTime {
    text.parse().unwrap()
}

fn stock(vase: i64) -> Material {
    let mut stock = flower(1, "Stock, white");
    stock.care.vase_days = Some(vase);
    stock.care.storage_celsius = Some(2);
    stock
}

fn journey() -> Journey {
    Journey {
        arrives: at("2026-05-14T10:00"),
        made_from: at("2026-05-15T08:00"),
        made_by: at("2026-05-15T18:00"),
        leaves: at("2026-05-16T09:00"),
        on_site: at("2026-05-16T10:00"),
        seen: at("2026-05-16T14:00"),
        ends: at("2026-05-16T23:00"),
    }
}

fn of(material: &Material) -> Estimate {
    estimate(material, journey(), &Temperatures::USUAL)
}

#[test]
fn what_ends_early_says_when() {
    let found = of(&stock(1));
    assert_eq!(found.verdict, Verdict::EndsEarly);
    let over = found.over_at.unwrap();
    assert!(over > at("2026-05-16T04:00") && over < at("2026-05-16T05:00"), "{over}");
    assert!(found.trouble("Stock").unwrap().starts_with("Stock is estimated to be over about Sat 04:00"));
    assert_eq!(found.line().as_deref(), Some("May be past its best before the event ends (an estimate)"));
    assert_eq!((found.whole_days_left(), found.hundredths()), (Some(0), Some(100)));
}

#[test]
fn less_than_a_day_is_little_and_a_day_is_fine() {
    let found = of(&stock(2));
    assert_eq!((found.verdict, found.whole_days_left()), (Verdict::LittleLeft, Some(0)));
    assert_eq!(found.trouble("Stock"), None);
    assert_eq!(of(&stock(5)).verdict, Verdict::Fine);
}

#[test]
fn without_a_vase_life_there_is_no_estimate_but_a_bud_is_shut_all_the_same() {
    let mut bud = flower(1, "Bud");
    assert_eq!((of(&bud).verdict, of(&bud).line()), (Verdict::NotSaid, None));
    bud.care.opening_days = 3;
    let found = of(&bud);
    assert_eq!(found.verdict, Verdict::Shut);
    assert!(found.shut_to_the_end());
    assert_eq!(found.line().as_deref(), Some("still shut when guests come (an estimate)"));
    // Two days: shut when it is made up, open when guests come.
    bud.care.opening_days = 2;
    assert_eq!((of(&bud).verdict, of(&bud).opens_in_the_piece()), (Verdict::NotSaid, true));
}

#[test]
fn what_cold_harms_is_compared_by_days() {
    let mut anthurium = flower(1, "Anthurium");
    anthurium.care.storage_celsius = Some(13);
    let mut kept = |holding, vase| {
        anthurium.care.holding_days = Some(holding);
        anthurium.care.vase_days = Some(vase);
        of(&anthurium).verdict
    };
    // Two days and thirteen hours from the door to the last guest.
    assert_eq!(kept(3, 10), Verdict::Fine);
    assert_eq!(kept(2, 10), Verdict::LittleLeft);
    assert_eq!(kept(1, 2), Verdict::EndsEarly);
    assert!(of(&anthurium).used.is_none());
}

#[test]
fn longer_in_the_cooler_than_it_may_be_stored_is_said() {
    let mut peony = stock(8);
    peony.care.holding_days = Some(3);
    let old = Journey { arrives: at("2026-05-10T10:00"), ..journey() };
    let found = estimate(&peony, old, &Temperatures::USUAL);
    assert!(found.stored_too_long);
    assert_eq!(found.verdict, Verdict::LittleLeft);
}

fn temperatures() -> impl Strategy<Value = Temperatures> {
    (
        prop::option::of(-2_i64..12),
        5_i64..30,
        prop::option::of(0_i64..25),
        0_i64..35,
        0_i64..40,
        1_000_i64..4_000,
    )
        .prop_map(|(cooler, bench, finished, van, venue, q10)| Temperatures {
            version: 1,
            cooler,
            bench,
            finished,
            van,
            venue,
            q10: crate::ground::quantity::Factor::from_raw(q10),
        })
}

fn care() -> impl Strategy<Value = Material> {
    (0_i64..6, prop::option::of(1_i64..20), prop::option::of(-1_i64..6), 1_i64..20, prop::bool::ANY).prop_map(
        |(opening, holding, celsius, vase, rose)| {
            let mut material = flower(1, if rose { "Rose" } else { "Stock" });
            material.care.opening_days = opening;
            material.care.holding_days = holding;
            material.care.storage_celsius = celsius;
            material.care.vase_days = Some(vase);
            material
        },
    )
}

/// Moments by so many hours after each other, in order.
fn journeys() -> impl Strategy<Value = Journey> {
    prop::array::uniform6(0_i64..90).prop_map(|steps| {
        let mut moment = at("2026-05-10T10:00");
        let mut next = |hours: i64| {
            moment = moment.checked_add(SignedDuration::from_hours(hours)).unwrap();
            moment
        };
        let arrives = next(0);
        Journey {
            arrives,
            made_from: next(steps[0]),
            made_by: next(steps[1]),
            leaves: next(steps[2]),
            on_site: next(steps[3]),
            seen: next(steps[4]),
            ends: next(steps[5]),
        }
    })
}

proptest! {
    /// The stretches follow each other from the arrival to the end, and their shares add up to what is used.
    #[test]
    fn the_way_is_whole_and_its_shares_add_up(
        material in care(), journey in journeys(), temperatures in temperatures(),
    ) {
        let found = estimate(&material, journey, &temperatures);
        let mut from = found.journey.arrives;
        for used in &found.way {
            prop_assert_eq!(used.leg.from, from);
            prop_assert!(used.leg.to > from);
            from = used.leg.to;
        }
        prop_assert_eq!(from, found.journey.ends);
        let sum: f64 = found.way.iter().filter_map(|used| used.share).sum();
        prop_assert!((sum - found.used.unwrap()).abs() < 1e-9);
        prop_assert_eq!(found.over_at.is_some(), found.used.unwrap() > 1.0);
    }

    /// A later end or a warmer van, venue or bench never leaves more.
    #[test]
    fn longer_and_warmer_ways_leave_less(
        material in care(), journey in journeys(), cool in temperatures(), hours in 0_i64..40, degrees in 0_i64..15, which in 0_usize..3,
    ) {
        let left = |journey, temperatures: &Temperatures| estimate(&material, journey, temperatures).days_left.unwrap();
        let later = Journey { ends: journey.ends.checked_add(SignedDuration::from_hours(hours)).unwrap(), ..journey };
        prop_assert!(left(later, &cool) <= left(journey, &cool) + 1e-9);
        let warm = match which {
            0 => Temperatures { bench: cool.bench + degrees, ..cool },
            1 => Temperatures { van: cool.van + degrees, ..cool },
            _ => Temperatures { venue: cool.venue + degrees, ..cool },
        };
        prop_assert!(left(journey, &warm) <= left(journey, &cool) + 1e-9);
    }

    /// Where in a stretch the stops lie changes nothing while both sides are as warm.
    #[test]
    fn a_way_at_one_temperature_is_one_stretch(
        material in care(), journey in journeys(), celsius in 0_i64..30, q10 in 1_000_i64..4_000,
    ) {
        let q10 = crate::ground::quantity::Factor::from_raw(q10);
        let even = Temperatures {
            version: 1, cooler: Some(celsius), bench: celsius, finished: None, van: celsius, venue: celsius, q10,
        };
        let found = estimate(&material, journey, &even);
        let Ageing::Curve(curve, _) = found.ageing else { return Err(TestCaseError::reject("no curve")) };
        let hours = found.days() * HOURS_A_DAY;
        let once = curve.share_used(&[Stretch { hours, celsius: celsius.to_f64().unwrap() }]);
        prop_assert!((once - found.used.unwrap()).abs() < 1e-9 * once.max(1.0));
    }
}
