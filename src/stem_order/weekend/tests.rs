use proptest::prelude::*;

use super::*;
use crate::ground::quantity::{Quantity, Share};
use crate::stem_order::samples::{book, cut, event, flower, foliage, lot, piece, recipe, stems, vessel};
use crate::studio::{AllowanceRule, Studio};

fn rules() -> SpareRules {
    SpareRules {
        rule: AllowanceRule::Assured,
        loss: Share::from_raw(50_000),
        assurance: Share::from_raw(950_000),
        learned: BTreeMap::new(),
        counted_good: BTreeMap::new(),
    }
}

fn reckoned(booked: Vec<(Event, Vec<Piece>)>, book: RecipeBook) -> Weekend {
    weekend(booked, book, &rules(), &BTreeMap::new()).unwrap()
}

#[test]
fn the_need_is_rounded_up_once_and_spares_are_pooled() {
    // 6.5 heads on each of 7 + 7 tables: 91 exactly, where events by themselves would round 45.5 up twice.
    let book = book(vec![recipe(1, "Low", &[stems(1, 6_500)])], vec![flower(1, "Rose")]);
    let friday = (event(1, "Friday", "2026-05-15"), vec![piece(1, 7)]);
    let saturday = (event(2, "Saturday", "2026-05-16"), vec![piece(1, 7)]);
    let weekend = reckoned(vec![friday, saturday], book);
    let need = &weekend.needs[0];
    assert_eq!((need.need, need.spare.count, need.total()), (91, 12, 103));
    assert_eq!(need.parts.iter().map(|part| part.stems).collect::<Vec<_>>(), [52, 51]);
    let formats = Studio::new_book().formats;
    assert_eq!(
        need.working(&formats),
        "103 = need 91 + 12 spare (95\u{a0}% sure that enough are good, 5\u{a0}% lost usually)"
    );
}

#[test]
fn cut_pieces_of_all_events_are_laid_out_together() {
    let low = recipe(1, "Low", &[cut(1, 10, 10)]);
    let tall = recipe(2, "Tall", &[cut(1, 10, 7)]);
    let book = book(vec![low, tall], vec![foliage(1, "Ruscus", 27)]);
    let friday = (event(1, "Friday", "2026-05-15"), vec![piece(1, 4)]);
    let saturday = (event(2, "Saturday", "2026-05-16"), vec![piece(2, 6)]);
    let weekend = reckoned(vec![friday, saturday], book);
    let need = weekend.need_of(MaterialId(1)).unwrap();
    assert_eq!(need.need, 34);
    assert_eq!(need.exact, Decimal::from(34));
    assert_eq!(need.parts.iter().map(|part| part.stems).sum::<i64>(), need.total());
}

#[test]
fn a_piece_that_cannot_be_cut_is_said_and_the_rest_is_reckoned() {
    let low = recipe(1, "Low", &[cut(1, 1, 30), stems(1, 2_000)]);
    let book = book(vec![low], vec![foliage(1, "Ruscus", 27)]);
    let weekend = reckoned(vec![(event(1, "Friday", "2026-05-15"), vec![piece(1, 4)])], book);
    let need = &weekend.needs[0];
    assert!(matches!(need.cutting, Some(Err(CutTrouble::PieceTooLong { .. }))));
    assert_eq!(need.need, 8);
}

#[test]
fn stock_on_hand_is_taken_off_unless_it_is_too_old() {
    let mut rose = flower(1, "Rose");
    rose.care.holding_days = Some(4);
    let book = book(vec![recipe(1, "Low", &[stems(1, 10_000)])], vec![rose]);
    let booked = || vec![(event(1, "Friday", "2026-05-15"), vec![piece(1, 1)])];
    let on = |day: &str| BTreeMap::from([(MaterialId(1), vec![lot(1, day, 4)])]);
    let fresh = weekend(booked(), book.clone(), &rules(), &on("2026-05-11")).unwrap();
    let material = fresh.material(MaterialId(1)).unwrap();
    assert_eq!(
        (fresh.needs[0].from_hand, fresh.needs[0].to_order(material)),
        (4, fresh.needs[0].total() - 4)
    );
    let old = weekend(booked(), book, &rules(), &on("2026-05-10")).unwrap();
    assert_eq!(old.needs[0].from_hand, 0);
}

#[test]
fn loaned_vessels_are_counted_against_the_shelf() {
    let mut urn = vessel(1, "Urn");
    urn.loaned = true;
    urn.owned = 6;
    let book = book(vec![recipe(1, "Low", &[stems(1, 1_000)])], vec![urn]);
    let weekend = reckoned(vec![(event(1, "Friday", "2026-05-15"), vec![piece(1, 8)])], book);
    let urn = weekend.material(MaterialId(1)).unwrap();
    assert_eq!((weekend.needs[0].to_order(urn), weekend.needs[0].shortfall(urn)), (0, 2));
}

#[test]
fn lines_with_different_substitutes_share_one_pool() {
    let plain = recipe(1, "Plain", &[stems(1, 45_500)]);
    let mut free = recipe(2, "Free", &[stems(1, 45_500)]);
    free.lines[0].substitutes = vec![MaterialId(2)];
    let book = book(vec![plain, free], vec![flower(1, "Rose"), flower(2, "Spray rose")]);
    let weekend = reckoned(vec![(event(1, "Friday", "2026-05-15"), vec![piece(1, 1), piece(2, 1)])], book);
    let need = &weekend.needs[0];
    assert_eq!((need.total(), need.parts.len()), (103, 2));
    assert_eq!(need.parts.iter().map(|part| part.stems).sum::<i64>(), 103);
}

#[test]
fn open_counts_are_named_and_left_out() {
    let book = book(vec![recipe(1, "Low", &[stems(1, 6_500)])], vec![flower(1, "Rose")]);
    let per_guest = Piece { rule: CountRule::PerGuest, ..piece(1, 1) };
    let weekend = reckoned(vec![(event(1, "Friday", "2026-05-15"), vec![per_guest])], book);
    assert_eq!((weekend.open_counts.len(), weekend.needs.len()), (1, 0));
}

#[test]
fn a_loop_is_refused_with_its_event() {
    let mut arch = recipe(1, "Arch", &[]);
    arch.lines.push(crate::recipes::RecipeLine {
        id: crate::ground::ids::RecipeLineId(1),
        ingredient: crate::recipes::Ingredient::Part(RecipeId(1)),
        measure: crate::recipes::Measure::Count { quantity: Quantity::whole(1) },
        note: String::new(),
        substitutes: Vec::new(),
    });
    let booked = vec![(event(1, "Friday", "2026-05-15"), vec![piece(1, 1)])];
    let error = weekend(booked, book(vec![arch], Vec::new()), &rules(), &BTreeMap::new()).unwrap_err();
    assert_eq!(error.to_string(), "Friday: A recipe cannot be a part of itself: Arch → Arch.");
}

proptest! {
    /// Pooling never needs more stems than the events by themselves, and what is shared out adds up.
    #[test]
    fn pooled_need_is_at_most_the_sum_of_the_parts(
        counts in prop::collection::vec(1_i64..12, 1..5),
        heads in 1_i64..9_000,
        pieces in 1_i64..6,
        inches in 3_i64..20,
    ) {
        let low = recipe(1, "Low", &[stems(1, heads), cut(2, pieces, inches), cut(2, 2, 6)]);
        let book = book(vec![low], vec![flower(1, "Rose"), foliage(2, "Ruscus", 27)]);
        let booked: Vec<_> =
            counts.iter().map(|count| (event(1, "Event", "2026-05-15"), vec![piece(1, *count)])).collect();
        let alone: Vec<Weekend> =
            booked.iter().map(|one| reckoned(vec![one.clone()], book.clone())).collect();
        let together = reckoned(booked, book);
        for need in &together.needs {
            let apart: i64 = alone.iter().map(|one| one.need_of(need.material).unwrap().need).sum();
            prop_assert!(need.need <= apart);
            prop_assert_eq!(need.parts.iter().map(|part| part.stems).sum::<i64>(), need.total());
        }
    }
}
