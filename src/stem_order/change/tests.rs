//! Worked by hand: twelve tables of ten roses, in bunches of ten at 5.00, one grower, 10.00 a delivery, nothing lost.

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::beside::top_up_cost;
use super::coming::{Coming, coming};
use super::shown::{Changed, changed};
use super::*;
use crate::events::{Event, Piece};
use crate::ground::dates::TimeOfDay;
use crate::ground::ids::{OfferId, PlacedDeliveryId, PlacedOrderId, SupplierId};
use crate::ground::money::Money;
use crate::price_list::{Offer, Supplier};
use crate::stem_order::buying_plan::check::check;
use crate::stem_order::buying_plan::{Plan, Problem, plan};
use crate::stem_order::calendar::{Deliveries, LocalTime};
use crate::stem_order::choices::space::Space;
use crate::stem_order::order::{Planned, Sold, StemOrder, order};
use crate::stem_order::placing::{AnswerKind, Answered, PlacedLine, PlacedShare};
use crate::stem_order::posed::{Market, Posed};
use crate::stem_order::samples::{book, event, flower, offer, piece, recipe, stems, supplier};
use crate::stem_order::spares::SpareRules;
use crate::stem_order::weekend::{Weekend, weekend};
use crate::studio::Studio;

const THURSDAY: &str = "2026-05-14";

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

/// Well before the cut-off of Wednesday at eleven, and after it.
fn early() -> LocalTime {
    LocalTime { day: day("2026-05-11"), time: "09:00".parse::<TimeOfDay>().unwrap() }
}

fn late() -> LocalTime {
    LocalTime { day: day("2026-05-13"), time: "12:00".parse::<TimeOfDay>().unwrap() }
}

/// So many tables an event, all on one Saturday.
struct Studied {
    tables: Vec<(i64, i64)>,
    heads: i64,
    suppliers: Vec<Supplier>,
    offers: Vec<Offer>,
    now: LocalTime,
}

fn studied(tables: &[(i64, i64)]) -> Studied {
    let terms = Supplier { delivery_fee: Money::from_minor(1_000), ..supplier(1, "Grower") };
    Studied {
        tables: tables.to_vec(),
        heads: 10_000,
        suppliers: vec![terms],
        offers: vec![offer(1, 1, 1, 10, 500)],
        now: early(),
    }
}

/// A plan with all that it was made of.
struct Result {
    order: StemOrder,
    posed: Posed,
    plan: Plan,
    changed: Changed,
}

impl Studied {
    fn weekend(&self) -> Weekend {
        let mut rose = flower(1, "Rose");
        rose.loss = Some(crate::ground::quantity::Share::from_raw(0));
        // Nothing but Thursday will do.
        rose.care.holding_days = Some(2);
        rose.care.hydrate_hours = 12;
        let low = recipe(1, "Low", &[stems(1, self.heads)]);
        let booked: Vec<(Event, Vec<Piece>)> = self
            .tables
            .iter()
            .map(|(id, tables)| (event(*id, &format!("Event {id}"), "2026-05-16"), vec![piece(1, *tables)]))
            .collect();
        let rules = SpareRules::from(&Studio::new_book());
        weekend(booked, book(vec![low], vec![rose]), &rules, &BTreeMap::new()).unwrap()
    }

    fn beside(&self, before: &OrderedBefore) -> Result {
        let studio = Studio::new_book();
        let weekend = self.weekend();
        let market = Market {
            suppliers: self.suppliers.clone(),
            offers: BTreeMap::from([(day(THURSDAY), self.offers.clone())]),
            ..Market::default()
        };
        let sold: Vec<Sold> = self
            .offers
            .iter()
            .map(|o| Sold { material: o.material_id, supplier: o.supplier_id, season: o.season })
            .collect();
        let lines: Vec<Coming> = coming(before, self.now);
        let space = Space {
            weekend: &weekend,
            market: &market,
            asked: Deliveries::ByCalendar,
            now: self.now,
            formats: &studio.formats,
            lines: &lines,
            deliveries: &before.deliveries,
        };
        let posed = space.posed(&[]);
        let mut solve = |problem: &Problem| plan(problem, &mut || true);
        let found = solve(&posed.problem);
        check(&posed.problem, &found).unwrap();
        let planned = Planned {
            weekend: &weekend,
            market: &market,
            sold: &sold,
            asked: Deliveries::ByCalendar,
            now: self.now,
            formats: &studio.formats,
        };
        let order = order(&planned, &posed, &found, &mut solve);
        let asked: Vec<EventId> = self.tables.iter().map(|(id, _)| EventId(*id)).collect();
        let changed = changed(&space, before, &asked, &[], (&posed, &found, &order), &mut solve);
        Result { order, posed, plan: found, changed }
    }

    fn anew(&self) -> Result {
        self.beside(&OrderedBefore::default())
    }

    /// What is ordered is placed, as one order, beside what was placed before.
    fn place(&self, before: &OrderedBefore) -> OrderedBefore {
        let order = self.beside(before).order;
        let mut after = before.clone();
        for (id, _) in &self.tables {
            let named = Named { name: format!("Event {id}"), day: None, standing: Standing::Planned };
            after.events.insert(EventId(*id), named);
        }
        if order.deliveries.is_empty() {
            return after;
        }
        let number = i64::try_from(before.orders.len()).unwrap() + 1;
        let deliveries: Vec<PlacedDelivery> =
            order.deliveries.iter().map(|d| placed(&order, d, number)).collect();
        after.deliveries.extend(deliveries.clone());
        after.orders.push(PlacedOrder {
            id: PlacedOrderId(number),
            number,
            supplier_id: SupplierId(1),
            supplier: "Grower".into(),
            account: String::new(),
            contact: String::new(),
            email: String::new(),
            phone: String::new(),
            placed_on: day("2026-05-08"),
            recorded_at: "2026-05-08T09:00:00Z".parse().unwrap(),
            note: String::new(),
            events: order.events.iter().map(|event| event.id).collect(),
            deliveries,
        });
        after
    }
}

fn placed(order: &StemOrder, d: &crate::stem_order::order::OrderDelivery, number: i64) -> PlacedDelivery {
    let lines = d.lines.iter().zip(1..).map(|(line, at)| PlacedLine {
        id: PlacedLineId(number * 100 + d.supplier.0 * 10 + at),
        offer_id: line.offer,
        material_id: line.material,
        name: line.name.clone(),
        looks: String::new(),
        unit: line.unit,
        pack_name: line.pack_name.clone(),
        pack_size: line.pack_size,
        packs: line.packs,
        price: line.price,
        working: order.needs[0].working.clone(),
        answer: None,
        shares: line
            .by_event
            .iter()
            .map(|share| PlacedShare {
                event_id: order.events[share.event].id,
                // Pack sizes of one material share what is taken; the first line speaks for all of them.
                stems: if at == 1 { share.stems } else { 0 },
                goods: share.goods,
            })
            .collect(),
    });
    PlacedDelivery {
        id: PlacedDeliveryId(number),
        order_id: PlacedOrderId(number),
        supplier_id: d.supplier,
        supplier: d.name.clone(),
        day: d.day,
        order_by_day: d.order_by_day,
        order_by_time: d.order_by_time,
        fee: d.fee,
        lines: lines.collect(),
    }
}

fn called_off(mut before: OrderedBefore, id: i64) -> OrderedBefore {
    before.events.get_mut(&EventId(id)).unwrap().standing = Standing::Off;
    before
}

fn packs(order: &StemOrder) -> Vec<(OfferId, i64)> {
    order.deliveries.iter().flat_map(|d| &d.lines).map(|line| (line.offer, line.packs)).collect()
}

/// Everything that is paid: what was placed, by what is known of it, and the top-up; by the terms of now.
fn outlay(before: &OrderedBefore, result: &Result) -> Money {
    let goods: Money = before.deliveries.iter().map(PlacedDelivery::expected_goods).sum();
    goods + Money::from_minor(result.plan.cost)
}

#[test]
fn twelve_tables_are_ordered_and_nothing_is_added_while_nothing_changes() {
    let twelve = studied(&[(1, 12)]);
    let first = twelve.anew();
    assert_eq!((packs(&first.order), first.order.total), (vec![(OfferId(1), 12)], Money::from_minor(7_000)));
    let again = twelve.beside(&twelve.place(&OrderedBefore::default()));
    assert!(again.changed.covered && again.changed.back.is_none() && again.changed.asides.is_empty());
    assert_eq!((again.order.total, again.changed.waived), (Money::ZERO, Money::ZERO));
    assert!(again.changed.rows.iter().all(|row| !row.differs()));
}

#[test]
fn twelve_tables_become_fourteen() {
    let before = studied(&[(1, 12)]).place(&OrderedBefore::default());
    let now = studied(&[(1, 14)]).beside(&before);
    // 140 less 120 is 20: two bunches, and the fee is paid.
    assert_eq!((packs(&now.order), now.order.total), (vec![(OfferId(1), 2)], Money::from_minor(1_000)));
    let row = &now.changed.rows[0];
    assert_eq!((row.ordered, row.need, row.from_placed, row.short, row.over), (120, 140, 120, 20, 0));
    assert_eq!(row.cells[0].words(), "Event 1: needs 140 now, 120 ordered");
    assert!(row.then[0].contains("120 = need 120"), "{}", row.then[0]);
    // Once that is placed too, nothing is short any more.
    let both = studied(&[(1, 14)]).place(&before);
    assert!(studied(&[(1, 14)]).beside(&both).changed.covered);
}

#[test]
fn a_recipe_takes_more() {
    let before = studied(&[(1, 12)]).place(&OrderedBefore::default());
    let now = Studied { heads: 12_000, ..studied(&[(1, 12)]) }.beside(&before);
    // 144 less 120 is 24: three bunches.
    assert_eq!((packs(&now.order), now.order.total), (vec![(OfferId(1), 3)], Money::from_minor(1_500)));
}

#[test]
fn an_event_is_added() {
    let before = studied(&[(1, 12)]).place(&OrderedBefore::default());
    let mut with = before.clone();
    with.events.insert(EventId(2), Named { name: "Event 2".into(), day: None, standing: Standing::Planned });
    let now = studied(&[(1, 12), (2, 5)]).beside(&with);
    assert_eq!((packs(&now.order), now.order.total), (vec![(OfferId(1), 5)], Money::from_minor(2_500)));
    assert_eq!(now.changed.rows[0].cells[1].words(), "Event 2: needs 50 now, 0 ordered");
}

#[test]
fn what_was_ordered_for_an_event_that_is_called_off_serves_the_others_first() {
    let before = called_off(studied(&[(1, 12), (2, 5)]).place(&OrderedBefore::default()), 2);
    let now = studied(&[(1, 14)]).beside(&before);
    assert!(now.changed.covered);
    let row = &now.changed.rows[0];
    assert_eq!((row.ordered, row.need, row.from_placed, row.over), (170, 140, 140, 30));
    assert!(row.cells[1].words().contains("called off: 50 ordered, offered to the others"));
    // 30 over: three bunches may be taken back.
    let back = now.changed.back.unwrap();
    assert_eq!((back.lines[0].packs, back.saves, back.exact), (3, Money::from_minor(1_500), true));
    assert!(back.instead.is_empty());
    // After the cut-off nothing can.
    let now = Studied { now: late(), ..studied(&[(1, 14)]) }.beside(&before);
    assert!(now.changed.covered && now.changed.back.is_none());
}

#[test]
fn a_waived_fee_is_not_lost_by_taking_back_too_much() {
    let waived = |tables: &[(i64, i64)]| {
        let mut studied = studied(tables);
        studied.suppliers[0].fee_waived_over = Some(Money::from_minor(7_500));
        studied
    };
    let before = called_off(waived(&[(1, 12), (2, 5)]).place(&OrderedBefore::default()), 2);
    // Three bunches too many: with two taken back goods are 75.00 and free of the fee; with three the fee of 10.00 is back.
    let back = waived(&[(1, 14)]).beside(&before).changed.back.unwrap();
    assert_eq!((back.lines[0].packs, back.saves), (2, Money::from_minor(1_000)));
}

#[test]
fn a_top_up_that_brings_the_waiver_says_so() {
    let mut fourteen = studied(&[(1, 14)]);
    fourteen.suppliers[0].fee_waived_over = Some(Money::from_minor(7_000));
    let mut twelve = studied(&[(1, 12)]);
    twelve.suppliers = fourteen.suppliers.clone();
    let before = twelve.place(&OrderedBefore::default());
    let now = fourteen.beside(&before);
    assert_eq!((now.order.total, now.changed.waived), (Money::from_minor(1_000), Money::from_minor(1_000)));
    assert_eq!(top_up_cost(&now.posed.problem, &now.plan), Money::ZERO);
}

#[test]
fn least_and_most_packs_count_what_was_ordered() {
    let strict = |tables: &[(i64, i64)]| {
        let mut studied = studied(tables);
        studied.offers[0].least_packs = 4;
        studied.offers[0].most_packs = Some(13);
        studied.offers.push(offer(2, 1, 1, 10, 900));
        studied
    };
    let before = strict(&[(1, 12)]).place(&OrderedBefore::default());
    // One more of the first, though four are the least of a delivery: there are twelve on it. Thirteen are the most.
    let now = strict(&[(1, 14)]).beside(&before);
    assert_eq!(packs(&now.order), [(OfferId(1), 1), (OfferId(2), 1)]);
}

#[test]
fn events_that_have_passed_keep_what_was_theirs() {
    let mut before = studied(&[(1, 12), (2, 5)]).place(&OrderedBefore::default());
    before.events.get_mut(&EventId(2)).unwrap().standing = Standing::Over;
    let now = studied(&[(1, 14)]).beside(&before);
    assert_eq!(packs(&now.order), [(OfferId(1), 2)]);
    assert!(now.changed.back.is_none());
}

#[test]
fn what_came_good_counts_once_it_was_counted_in() {
    let mut before = studied(&[(1, 12)]).place(&OrderedBefore::default());
    let line = before.orders[0].deliveries[0].lines[0].id;
    before.received.insert(line, Received { good: 95, gone: 0 });
    let now = studied(&[(1, 12)]).beside(&before);
    assert_eq!(packs(&now.order), [(OfferId(1), 3)]);
    assert!(now.changed.rows[0].cells[0].words().ends_with("120 ordered, 95 come"));
}

#[test]
fn what_comes_too_early_by_its_figures_is_not_counted_on() {
    let mut before = studied(&[(1, 12)]).place(&OrderedBefore::default());
    for delivery in before.orders.iter_mut().flat_map(|order| &mut order.deliveries) {
        delivery.day = day("2026-05-11");
    }
    before.deliveries = before.orders[0].deliveries.clone();
    let now = studied(&[(1, 12)]).beside(&before);
    assert_eq!(packs(&now.order), [(OfferId(1), 12)]);
    assert!(now.changed.asides[0].contains("come on Mon 11 May 2026"), "{:?}", now.changed.asides);
}

/// The orders once a take-back was written down.
fn taken_back(mut before: OrderedBefore, back: &shown::Back) -> OrderedBefore {
    let answer = |line: &mut PlacedLine| {
        if let Some(taken) = back.lines.iter().find(|taken| taken.line == line.id) {
            line.answer = Some(Answered {
                kind: AnswerKind::Cancelled,
                packs: line.packs - taken.packs,
                price: line.price,
                note: String::new(),
                recorded_at: "2026-05-11T09:00:00Z".parse().unwrap(),
            });
        }
    };
    let orders = before.orders.iter_mut().flat_map(|order| &mut order.deliveries);
    orders.chain(&mut before.deliveries).flat_map(|delivery| &mut delivery.lines).for_each(answer);
    before
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// Whatever changes: every need is covered, nothing that was placed is another, the top-up costs no more than buying what
    /// is short without what was paid already, and taking back saves what it says.
    #[test]
    fn a_change_is_mended(
        first in prop::collection::vec(0_i64..9, 1..4),
        then in prop::collection::vec(0_i64..9, 1..4),
        heads in 1_000_i64..15_000,
        sizes in prop::collection::vec(1_i64..30, 3),
        prices in prop::collection::vec(1_i64..3_000, 3),
        fees in prop::collection::vec(prop::sample::select(vec![0_i64, 700, 1_500]), 2),
        waived in prop::option::of(2_000_i64..9_000),
        least in prop::sample::select(vec![0_i64, 3_000]),
        late_now in any::<bool>(),
    ) {
        let with = |tables: &[i64]| {
            let tables: Vec<(i64, i64)> = (1..).zip(tables.iter().copied()).filter(|(_, tables)| *tables > 0).collect();
            let mut studied = studied(&tables);
            studied.heads = heads;
            let terms = |id, name, fee| Supplier {
                delivery_fee: Money::from_minor(fee),
                fee_waived_over: waived.map(Money::from_minor),
                least_order: Money::from_minor(least),
                ..supplier(id, name)
            };
            studied.suppliers = vec![terms(1, "A", fees[0]), terms(2, "B", fees[1])];
            studied.offers =
                vec![offer(1, 1, 1, sizes[0], prices[0]), offer(2, 2, 1, sizes[1], prices[1]), offer(3, 1, 1, sizes[2], prices[2])];
            studied
        };
        let before = with(&first).place(&OrderedBefore::default());
        let again = with(&first).beside(&before);
        prop_assert!(again.changed.covered && again.changed.back.is_none(), "{:?}", again.changed);
        let mut before = before;
        for (id, named) in &mut before.events {
            let gone = then.get(usize::try_from(id.0 - 1).unwrap()).is_none_or(|tables| *tables == 0);
            named.standing = if gone { Standing::Off } else { Standing::Planned };
        }
        let mut now = with(&then);
        let on_time = now.beside(&before);
        prop_assert!(on_time.order.unmet.is_empty());
        // Without what was paid already.
        let mut unpaid = on_time.posed.problem.clone();
        for supplier in &mut unpaid.suppliers {
            supplier.committed.clear();
        }
        let alone = plan(&unpaid, &mut || true);
        prop_assert!(top_up_cost(&on_time.posed.problem, &on_time.plan) <= Money::from_minor(alone.cost));
        if let Some(back) = &on_time.changed.back {
            let after = taken_back(before.clone(), back);
            let later = now.beside(&after);
            prop_assert!(later.order.unmet.is_empty());
            let saved = outlay(&before, &on_time) - outlay(&after, &later);
            prop_assert!(saved >= back.saves);
            if back.exact {
                prop_assert!(later.changed.back.is_none());
                prop_assert_eq!(saved, back.saves);
            }
        }
        if late_now {
            now.now = late();
            let too_late = now.beside(&before);
            prop_assert!(too_late.order.deliveries.is_empty() && too_late.changed.back.is_none());
        }
        prop_assert!(on_time.changed.rows.iter().all(|row| row.over >= 0 && row.ordered - row.over >= 0));
    }
}
