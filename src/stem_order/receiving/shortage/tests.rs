//! Worked examples and laws of what short stems touch.

use proptest::prelude::*;

use super::*;
use crate::ground::ids::{PieceId, PlaceId};
use crate::ground::quantity::Share;
use crate::stem_order::calendar::LocalTime;
use crate::stem_order::samples::{book, cut, event, flower, foliage, lot, piece, recipe, stems};
use crate::stem_order::spares::SpareRules;
use crate::stem_order::weekend::weekend;
use crate::studio::{AllowanceRule, Studio};

/// Flat rule with a tenth lost: 90 needed are 100 ordered.
fn rules() -> SpareRules {
    let loss = Share::from_raw(100_000);
    SpareRules { rule: AllowanceRule::Flat, loss, ..SpareRules::from(&Studio::new_book()) }
}

fn placed(id: i64, event: i64, recipe: i64, name: &str, place: &str, count: i64) -> Piece {
    Piece {
        id: PieceId(id),
        event_id: EventId(event),
        place_id: PlaceId(id),
        place: place.into(),
        recipe: name.into(),
        ..piece(recipe, count)
    }
}

/// A dinner with 14 low arrangements of 6 roses and 1 bouquet of 6; a wedding the day after with 15 low arrangements.
/// Roses may be stood in for by ranunculus in low arrangements only.
struct World {
    weekend: Weekend,
    pieces: BTreeMap<EventId, Vec<Piece>>,
    chances: BTreeMap<MaterialId, Vec<Chance>>,
}

const ROSE: MaterialId = MaterialId(1);
const RANUNCULUS: MaterialId = MaterialId(2);
const DINNER: EventId = EventId(1);
const WEDDING: EventId = EventId(2);

fn world() -> World {
    let mut low = recipe(1, "Low arrangement", &[stems(1, 6_000)]);
    low.lines[0].substitutes = vec![RANUNCULUS];
    let bouquet = recipe(2, "Bouquet", &[stems(1, 6_000)]);
    let pieces = BTreeMap::from([
        (
            DINNER,
            vec![
                placed(1, 1, 1, "Low arrangement", "Long room", 14),
                placed(2, 1, 2, "Bouquet", "Bridal room", 1),
            ],
        ),
        (WEDDING, vec![placed(3, 2, 1, "Low arrangement", "Barn", 15)]),
    ]);
    let booked = vec![
        (event(1, "Dinner", "2026-05-15"), pieces[&DINNER].clone()),
        (event(2, "Wedding", "2026-05-16"), pieces[&WEDDING].clone()),
    ];
    let book = book(vec![low, bouquet], vec![flower(1, "Rose"), flower(2, "Ranunculus")]);
    let on_hand = BTreeMap::from([(RANUNCULUS, vec![lot(1, "2026-05-14", 4)])]);
    let weekend = weekend(booked, book, &rules(), &on_hand).unwrap();
    World { weekend, pieces, chances: BTreeMap::new() }
}

fn line(material: MaterialId, received: bool, stems: i64, promised: &[(EventId, i64)]) -> Line {
    let day = "2026-05-14".parse().unwrap();
    Line { material, day, supplier: "Alder".into(), received, stems, promised: promised.to_vec() }
}

fn found(world: &World, lines: &[Line], bench: &[BenchLost]) -> Vec<Trouble> {
    let World { weekend, pieces, chances } = world;
    troubles(&Came { weekend, pieces, lines, reserved: &[], bench, chances })
}

/// 180 needed, 200 ordered, 100 for each event.
fn roses(good: i64) -> Line {
    line(ROSE, true, good, &[(DINNER, 100), (WEDDING, 100)])
}

#[test]
fn spares_go_first() {
    let world = world();
    assert_eq!(world.weekend.needs[0].need, 180);
    assert!(found(&world, &[roses(200)], &[]).is_empty());
    assert!(found(&world, &[roses(180)], &[]).is_empty());
}

#[test]
fn what_is_missing_is_carried_to_events_and_pieces_worst_first() {
    let troubles = found(&world(), &[roses(160)], &[]);
    let said: Vec<_> = troubles.iter().map(|trouble| (trouble.event, trouble.missing)).collect();
    assert_eq!(said, [(DINNER, 10), (WEDDING, 10)], "the earlier event first on ties");
    let dinner: Vec<String> = troubles[0].pieces.iter().map(Touched::words).collect();
    assert_eq!(
        dinner,
        [
            "Bouquet × 1, Bridal room: 1 of 6 short, about 1 piece",
            "Low arrangement × 14, Long room: 9 of 84 short, about 2 pieces"
        ]
    );
    assert_eq!(troubles[0].working(), "10 missing = need 90 − 80 good; its 10 spare went first");
}

#[test]
fn what_is_still_to_come_counts_as_expected() {
    let lines = [line(ROSE, true, 50, &[(DINNER, 100)]), line(ROSE, false, 100, &[(WEDDING, 100)])];
    let troubles = found(&world(), &lines, &[]);
    assert_eq!(troubles.len(), 1);
    assert_eq!((troubles[0].here, troubles[0].coming, troubles[0].missing), (50, 0, 40));
    let spare = StandIn::Free {
        material: ROSE,
        name: "Rose".into(),
        substitute: false,
        spots: vec![(Spot::SparesToCome("Wedding".into()), 10)],
    };
    assert_eq!(troubles[0].stand_ins[0], spare);
    assert_eq!(spare.where_words(), "10 spare of Wedding, still to come");
}

#[test]
fn substitutes_stand_in_where_the_designer_allowed_them() {
    let lines = [roses(160), line(RANUNCULUS, true, 10, &[])];
    let troubles = found(&world(), &lines, &[]);
    let ranunculus = troubles[0].stand_ins.iter().find(|stand_in| stand_in.count() > 0).unwrap();
    assert_eq!(ranunculus.where_words(), "10 over in whole packs; 4 on hand, as last counted");
    // Bought in its place by the plan: it is no stand-in any more but counts.
    let lines = [roses(160), line(RANUNCULUS, true, 20, &[(DINNER, 10), (WEDDING, 10)])];
    assert!(found(&world(), &lines, &[]).is_empty(), "the low arrangements leave the bouquet its roses");
    let lines = [roses(160), line(RANUNCULUS, true, 15, &[(DINNER, 5), (WEDDING, 10)])];
    let troubles = found(&world(), &lines, &[]);
    let said: Vec<_> = troubles.iter().map(|t| (t.event, t.substituted, t.missing)).collect();
    assert_eq!(said, [(DINNER, 5, 5)]);
    assert_eq!(troubles[0].pieces[0].name, "Low arrangement", "the bouquet keeps its roses");
}

#[test]
fn the_bench_takes_spares_first_too() {
    let unknown = BenchLost { event: None, material: ROSE, count: 20 };
    assert!(found(&world(), &[roses(200)], &[unknown]).is_empty());
    let troubles = found(&world(), &[roses(200)], &[BenchLost { event: Some(WEDDING), ..unknown }]);
    assert_eq!((troubles[0].event, troubles[0].missing), (WEDDING, 10));
}

#[test]
fn what_was_never_ordered_is_the_orders_business() {
    assert!(found(&world(), &[], &[]).is_empty());
    assert!(found(&world(), &[line(ROSE, true, 0, &[])], &[]).is_empty());
    assert_eq!(found(&world(), &[line(ROSE, true, 0, &[(DINNER, 100)])], &[]).len(), 1);
}

#[test]
fn stock_that_lies_reserved_counts() {
    let World { weekend, pieces, chances } = world();
    let reserved = [Reserved { event: DINNER, material: ROSE, count: 85 }];
    let came = Came {
        weekend: &weekend,
        pieces: &pieces,
        lines: &[],
        reserved: &reserved,
        bench: &[],
        chances: &chances,
    };
    let troubles = troubles(&came);
    assert_eq!((troubles.len(), troubles[0].reserved, troubles[0].missing), (1, 85, 5));
}

#[test]
fn more_can_be_ordered_while_it_can_come_in_time() {
    let mut world = world();
    let chance = |day: &str| Chance {
        supplier: "Brook".into(),
        day: day.parse().unwrap(),
        order_by: LocalTime { day: "2026-05-12".parse().unwrap(), time: "11:00".parse().unwrap() },
    };
    world.chances.insert(ROSE, vec![chance("2026-05-30")]);
    let top_up = |troubles: &[Trouble]| {
        troubles[0].stand_ins.iter().any(|stand_in| matches!(stand_in, StandIn::TopUp { .. }))
    };
    assert!(!top_up(&found(&world, &[roses(160)], &[])), "too late");
    world.chances.insert(ROSE, vec![chance("2026-05-13"), chance("2026-05-30")]);
    assert!(top_up(&found(&world, &[roses(160)], &[])));
}

#[test]
fn cut_pieces_are_carried_by_their_length() {
    let long = recipe(1, "Arch", &[cut(1, 10, 10)]);
    let short = recipe(2, "Bowl", &[cut(1, 10, 5)]);
    let pieces = BTreeMap::from([(
        DINNER,
        vec![placed(1, 1, 1, "Arch", "Door", 3), placed(2, 1, 2, "Bowl", "Table", 3)],
    )]);
    let booked = vec![(event(1, "Dinner", "2026-05-15"), pieces[&DINNER].clone())];
    let book = book(vec![long, short], vec![foliage(1, "Ivy", 30)]);
    let weekend = weekend(booked, book, &rules(), &BTreeMap::new()).unwrap();
    // 30 pieces of 10 in and 30 of 5 in from stems of 30 in: 15 stems, ten for the arches.
    assert_eq!(weekend.needs[0].need, 15);
    let lines = [line(ROSE, true, 9, &[(DINNER, 17)])];
    let came = Came {
        weekend: &weekend,
        pieces: &pieces,
        lines: &lines,
        reserved: &[],
        bench: &[],
        chances: &BTreeMap::new(),
    };
    let troubles = troubles(&came);
    let said: Vec<_> =
        troubles[0].pieces.iter().map(|piece| (piece.name.as_str(), piece.need, piece.missing)).collect();
    assert_eq!(said, [("Arch", 10, 4), ("Bowl", 5, 2)]);
}

#[test]
fn an_event_without_pieces_still_says_what_is_missing() {
    let mut world = world();
    world.pieces.clear();
    let troubles = found(&world, &[roses(160)], &[]);
    assert!(troubles.iter().all(|trouble| trouble.pieces.is_empty() && trouble.missing == 10));
}

proptest! {
    #[test]
    fn what_pieces_lack_is_what_is_missing(
        good in 0_i64..220, ranunculus in 0_i64..60, bench in 0_i64..40, dinner in 0_i64..120, wedding in 0_i64..120,
    ) {
        let lines = [
            line(ROSE, true, good, &[(DINNER, dinner), (WEDDING, wedding)]),
            line(RANUNCULUS, false, ranunculus, &[(DINNER, 20), (WEDDING, 30)]),
        ];
        let bench = [BenchLost { event: None, material: ROSE, count: bench }];
        for trouble in found(&world(), &lines, &bench) {
            prop_assert_eq!(trouble.pieces.iter().map(|piece| piece.missing).sum::<i64>(), trouble.missing);
            let have = trouble.here + trouble.coming + trouble.reserved + trouble.substituted;
            prop_assert_eq!(trouble.missing, trouble.need - have);
            for piece in &trouble.pieces {
                prop_assert!(0 < piece.missing && piece.missing <= piece.need && 1 <= piece.about() && piece.about() <= piece.count);
            }
            for pair in trouble.pieces.windows(2) {
                prop_assert!(pair[0].missing * pair[1].need * 1_000 + pair[0].need * pair[1].need >= pair[1].missing * pair[0].need * 1_000);
            }
        }
    }

    #[test]
    fn nothing_is_missing_before_every_spare_is_gone(good in 0_i64..260) {
        let missing: i64 = found(&world(), &[roses(good)], &[]).iter().map(|trouble| trouble.missing).sum();
        prop_assert_eq!(missing, (180 - good).max(0));
    }

    #[test]
    fn a_line_gives_no_more_than_came_or_was_promised(
        stems in 0_i64..500, rows in prop::collection::vec((0_u64..200, 0_u64..200), 1..6),
    ) {
        let promised: Vec<u64> = rows.iter().map(|(promised, _)| *promised).collect();
        let called_for: Vec<u64> = rows.iter().map(|(promised, called)| *promised.min(called)).collect();
        let given = supply::shared(stems, &called_for, &promised);
        let all: i64 = promised.iter().map(|promised| i64::try_from(*promised).unwrap()).sum();
        prop_assert_eq!(given.iter().sum::<i64>(), stems.min(all));
        for (given, promised) in given.iter().zip(&promised) {
            prop_assert!(0 <= *given && u64::try_from(*given).unwrap() <= *promised);
        }
    }
}
