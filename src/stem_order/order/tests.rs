use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;
use crate::events::{Event, Piece};
use crate::price_list::{Offer, Supplier};
use crate::recipes::RecipeBook;
use crate::stem_order::buying_plan::{Problem, plan};
use crate::stem_order::calendar::Deliveries;
use crate::stem_order::posed::{Market, pose};
use crate::stem_order::samples::{book, event, flower, foliage, offer, piece, recipe, stems, supplier};
use crate::stem_order::spares::SpareRules;
use crate::stem_order::weekend::weekend;
use crate::studio::Studio;

const THURSDAY: &str = "2026-05-14";

pub(crate) fn ordered(
    booked: Vec<(Event, Vec<Piece>)>,
    mut book: RecipeBook,
    suppliers: Vec<Supplier>,
    offers: Vec<Offer>,
) -> StemOrder {
    for material in book.materials.values_mut() {
        material.loss = Some(crate::ground::quantity::Share::from_raw(0));
    }
    let studio = Studio::new_book();
    let weekend = weekend(booked, book, &SpareRules::from(&studio), &BTreeMap::new()).unwrap();
    let sold: Vec<Sold> = offers
        .iter()
        .map(|offer| Sold { material: offer.material_id, supplier: offer.supplier_id, season: offer.season })
        .collect();
    let offers = BTreeMap::from([(THURSDAY.parse().unwrap(), offers)]);
    let market = Market { suppliers, offers, ..Market::default() };
    let now = LocalTime { day: "2026-05-04".parse().unwrap(), time: "09:00".parse().unwrap() };
    let asked = Deliveries::On(THURSDAY.parse().unwrap());
    let posed = pose(&weekend, &market, asked, now);
    let mut solve = |problem: &Problem| plan(problem, &mut || true);
    let found = solve(&posed.problem);
    let planned =
        Planned { weekend: &weekend, market: &market, sold: &sold, asked, now, formats: &studio.formats };
    order(&planned, &posed, &found, &mut solve)
}

fn tie(order: &StemOrder) {
    let lines: Money = order.deliveries.iter().flat_map(|d| &d.lines).map(|line| line.goods).sum();
    assert_eq!(lines, order.goods);
    assert_eq!(order.goods + order.fees, order.total);
    assert_eq!(order.shares.iter().map(|share| share.total).sum::<Money>(), order.total);
    for line in order.deliveries.iter().flat_map(|d| &d.lines) {
        assert_eq!(line.by_event.iter().map(|share| share.goods).sum::<Money>(), line.goods);
    }
}

/// The worked example of C3: two suppliers, two events, one delivery day.
pub(crate) fn example() -> StemOrder {
    let friday = recipe(1, "Friday's", &[stems(1, 61_000), stems(2, 33_000)]);
    let saturday = recipe(2, "Saturday's", &[stems(1, 92_000), stems(2, 44_000), stems(3, 57_000)]);
    let materials = vec![flower(1, "Rose"), flower(2, "Stock"), foliage(3, "Eucalyptus", 27)];
    let terms = |id, name, fee, least| Supplier {
        delivery_fee: Money::from_minor(fee),
        least_order: Money::from_minor(least),
        ..supplier(id, name)
    };
    ordered(
        vec![
            (event(1, "Friday", "2026-05-15"), vec![piece(1, 1)]),
            (event(2, "Saturday", "2026-05-16"), vec![piece(2, 1)]),
        ],
        book(vec![friday, saturday], materials),
        vec![terms(1, "A", 2_500, 0), terms(2, "B", 1_500, 10_000)],
        vec![
            offer(1, 1, 1, 25, 3_100),
            offer(2, 1, 1, 100, 11_500),
            offer(3, 2, 1, 12, 1_500),
            offer(4, 1, 2, 10, 1_250),
            offer(5, 2, 2, 10, 1_190),
            offer(6, 1, 3, 10, 900),
            offer(7, 2, 3, 25, 1_800),
        ],
    )
}

#[test]
fn the_worked_example_is_ordered_from_one_supplier_and_ties() {
    let order = example();
    tie(&order);
    assert_eq!((order.total, order.proven), (Money::from_minor(35_920), true));
    assert_eq!(order.suppliers(), [(SupplierId(2), "B")]);
    let packs: Vec<(&str, i64)> =
        order.deliveries[0].lines.iter().map(|line| (line.name.as_str(), line.packs)).collect();
    assert_eq!(packs, [("Eucalyptus", 3), ("Rose", 13), ("Stock", 8)]);
    let alone: Vec<i64> = order.pooling.alone.iter().map(|alone| alone.total.minor()).collect();
    assert_eq!((alone, order.saved()), (vec![15_260, 24_850], Money::from_minor(4_190)));
    let by_alone: Vec<i64> = order.pooling.alone.iter().map(|alone| alone.by_alone.minor()).collect();
    assert_eq!(by_alone, [13_666, 22_254]);
    assert_eq!(order.pooling.single.as_ref().map(|single| single.total), Some(order.total));
}

#[test]
fn each_line_is_paid_by_the_stems_taken_and_fees_by_spend() {
    let order = example();
    // Rose 19 500 over 61:92 = 7 774.5 : 11 725.5, the odd cent to the earlier; stock 9 520 over 33:44.
    let goods: Vec<i64> = order.shares.iter().map(|share| share.goods.minor()).collect();
    assert_eq!(goods, [7_775 + 4_080, 11_725 + 5_440 + 5_400]);
    let fees: Vec<i64> = order.shares.iter().map(|share| share.fees.minor()).collect();
    assert_eq!(fees, [517, 983]);
}

#[test]
fn what_nobody_sells_is_said_and_the_rest_is_ordered() {
    let low = recipe(1, "Low", &[stems(1, 10_000), stems(2, 5_000)]);
    let order = ordered(
        vec![(event(1, "Friday", "2026-05-15"), vec![piece(1, 1)])],
        book(vec![low], vec![flower(1, "Rose"), flower(2, "Stock")]),
        vec![supplier(1, "A")],
        vec![offer(1, 1, 1, 10, 500)],
    );
    tie(&order);
    assert_eq!(order.total, Money::from_minor(500));
    assert_eq!((order.unmet.len(), order.unmet[0].name.as_str(), order.unmet[0].stems), (1, "Stock", 5));
    assert_eq!(order.unmet[0].why, "Nobody on the price list sells Stock.");
    assert_eq!(order.needs.iter().find(|need| need.name == "Stock").map(|need| need.missing), Some(5));
}

#[test]
fn a_least_order_out_of_reach_is_named() {
    let low = recipe(1, "Low", &[stems(1, 10_000)]);
    let strict = Supplier { least_order: Money::from_minor(9_000), ..supplier(1, "A") };
    let capped = Offer { most_packs: Some(2), ..offer(1, 1, 1, 10, 500) };
    let order = ordered(
        vec![(event(1, "Friday", "2026-05-15"), vec![piece(1, 1)])],
        book(vec![low], vec![flower(1, "Rose")]),
        vec![strict],
        vec![capped],
    );
    assert!(order.unmet[0].why.contains("only for €90.00 or more"), "{}", order.unmet[0].why);
    assert!(order.deliveries.is_empty() && order.total.is_zero());
}

#[test]
fn it_can_be_written_as_json() {
    let json = serde_json::to_value(example()).unwrap();
    assert_eq!(json["total"], 35_920);
    assert_eq!(json["deliveries"][0]["lines"][1]["packs"], 13);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    /// Whatever is ordered, lines, fees and shares tie, and ordering together never costs more.
    #[test]
    fn every_order_ties(
        counts in prop::collection::vec(1_i64..6, 1..4),
        heads in 1_i64..9_000,
        fees in prop::collection::vec(0_i64..3_000, 2),
        sizes in prop::collection::vec(1_i64..30, 3),
        prices in prop::collection::vec(1_i64..4_000, 3),
    ) {
        let low = recipe(1, "Low", &[stems(1, heads), stems(2, 2_500)]);
        let booked: Vec<_> =
            counts.iter().zip(1..).map(|(count, id)| (event(id, "Event", "2026-05-15"), vec![piece(1, *count)])).collect();
        let terms = |id, name, fee| Supplier { delivery_fee: Money::from_minor(fee), ..supplier(id, name) };
        let order = ordered(
            booked,
            book(vec![low], vec![flower(1, "Rose"), flower(2, "Stock")]),
            vec![terms(1, "A", fees[0]), terms(2, "B", fees[1])],
            vec![
                offer(1, 1, 1, sizes[0], prices[0]),
                offer(2, 2, 1, sizes[1], prices[1]),
                offer(3, 2, 2, sizes[2], prices[2]),
            ],
        );
        tie(&order);
        prop_assert!(order.proven);
        if order.pooling.comparable() {
            prop_assert!(order.saved() >= Money::ZERO);
        }
    }
}
