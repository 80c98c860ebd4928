//! The buying plan against its worked example and outside values.
//!
//! `fixtures/orders.json`, `orders-tight.json`: made at random; optimum by scipy.optimize.milp (`HiGHS`), gap 0;
//! `best_known` and `lower_bound` where 120 s did not prove it. `orders-random.json`: likewise, with waived fees, least
//! and most packs, dates of offers, substitutes and stock; orders that the planner leaves unproven in two seconds are
//! not among them. `orders-hard.json`: likewise, a studio's orders over days and weeks with a hard-goods supplier whose
//! least order binds, one of 60 materials with knotted substitutes, and two with far too high least orders. `pack-cover.json`: exhaustive dynamic programme. `remake_reference.py` solves the orders again.

use trug::stem_order::buying_plan::check::{Fault, check};
use trug::stem_order::buying_plan::{
    Committed, Offer, Plan, Problem, Reason, Requirement, Stock, Supplier, json, plan,
};

fn solve(problem: &Problem) -> Plan {
    let plan = plan(problem, &mut || true);
    assert_eq!(plan.fault, None);
    plan
}

fn supplier(id: &str, fee: i64, min_order: i64, dates: &[i32]) -> Supplier {
    Supplier { id: id.into(), fee, min_order, free_over: None, dates: dates.to_vec(), committed: Vec::new() }
}

fn offer(supplier: &str, material: &str, size: i64, price: i64) -> Offer {
    let (supplier, material) = (supplier.into(), material.into());
    Offer { supplier, material, size, price, min_packs: None, max_packs: None, dates: None }
}

fn need(event: &str, material: &str, stems: i64) -> Requirement {
    Requirement { event: event.into(), accepts: vec![material.into()], stems, earliest: 0, latest: 0 }
}

/// C3's example: money in cents.
fn weekend() -> Problem {
    Problem {
        suppliers: vec![supplier("A", 2500, 0, &[0]), supplier("B", 1500, 10_000, &[0])],
        offers: vec![
            offer("A", "rose", 25, 3100),
            offer("A", "rose", 100, 11_500),
            offer("B", "rose", 12, 1500),
            offer("A", "stock", 10, 1250),
            offer("B", "stock", 10, 1190),
            offer("A", "eucalyptus", 10, 900),
            offer("B", "eucalyptus", 25, 1800),
        ],
        requirements: vec![
            need("Friday", "rose", 61),
            need("Friday", "stock", 33),
            need("Saturday", "rose", 92),
            need("Saturday", "stock", 44),
            need("Saturday", "eucalyptus", 57),
        ],
        stock: Vec::new(),
    }
}

#[test]
fn the_worked_example_comes_to_35920() {
    let plan = solve(&weekend());
    assert_eq!((plan.cost, plan.proven, plan.goods), (35_920, true, 34_420));
    let bought: Vec<(usize, i64)> = plan.packs.iter().map(|line| (line.offer, line.packs)).collect();
    assert_eq!(bought, [(2, 13), (4, 8), (6, 3)]);
}

#[test]
fn its_events_apart_come_to_15260_and_24850() {
    for (event, cost) in [("Friday", 15_260), ("Saturday", 24_850)] {
        let mut problem = weekend();
        problem.requirements.retain(|r| r.event == event);
        assert_eq!(solve(&problem).cost, cost);
    }
}

#[test]
fn one_material_is_covered_at_the_published_least_cost() {
    let cases: Vec<serde_json::Value> =
        serde_json::from_str(include_str!("../fixtures/pack-cover.json")).unwrap();
    for case in cases {
        let offers = case["packs"].as_array().unwrap().iter();
        let offers =
            offers.map(|p| offer("A", "rose", p[0].as_i64().unwrap(), p[1].as_i64().unwrap())).collect();
        let requirements = vec![need("Friday", "rose", case["need"].as_i64().unwrap())];
        let suppliers = vec![supplier("A", 0, 0, &[0])];
        let plan = solve(&Problem { suppliers, offers, requirements, stock: Vec::new() });
        assert_eq!(plan.cost, case["optimum"].as_i64().unwrap(), "{case}");
    }
}

fn assert_optimal(cases: &str) {
    for case in json::read(cases).expect("a list of cases") {
        let Some(optimum) = case.optimum else { continue };
        let plan = solve(&case.problem);
        assert_eq!((plan.cost, plan.proven), (optimum, true), "{:?}", case.name);
        assert!(plan.ties_settled, "{:?}", case.name);
    }
}

#[test]
fn orders_are_proven_at_the_reference_optimum() {
    assert_optimal(include_str!("../fixtures/orders.json"));
}

#[test]
fn orders_with_several_least_orders_are_proven_at_the_reference_optimum() {
    assert_optimal(include_str!("../fixtures/orders-tight.json"));
}

#[test]
fn orders_with_every_term_are_proven_at_the_reference_optimum() {
    assert_optimal(include_str!("../fixtures/orders-random.json"));
}

/// The one of 60 materials only where the build is optimised.
#[test]
fn orders_with_hard_goods_are_proven_at_the_reference_optimum() {
    for case in json::read(include_str!("../fixtures/orders-hard.json")).expect("a list of cases") {
        if cfg!(debug_assertions) && case.problem.offers.len() > 200 {
            continue;
        }
        let plan = plan(&case.problem, &mut || true);
        assert_eq!((plan.cost, plan.proven), (case.optimum.unwrap(), true), "{:?}", case.name);
        assert_eq!(plan.fault, None);
    }
}

/// The reference could not prove this one in 120 s: its optimum is from 4572329 to 4577990.
#[test]
#[cfg_attr(debug_assertions, ignore = "some seconds when optimised, a minute when not")]
fn the_order_of_120_materials_is_within_the_reference_bounds() {
    let cases = json::read(include_str!("../fixtures/orders.json")).unwrap();
    let case = cases.iter().find(|c| c.name.as_deref() == Some("order-1018")).unwrap();
    let plan = solve(&case.problem);
    assert!(plan.proven, "{} to {}", plan.lower_bound, plan.cost);
    assert!((4_572_329..=4_577_990).contains(&plan.cost), "{}", plan.cost);
}

#[test]
fn what_nobody_offers_is_named_and_the_rest_is_planned() {
    let mut problem = weekend();
    problem.requirements.push(need("Saturday", "peony", 10));
    let plan = solve(&problem);
    assert_eq!(plan.cost, 35_920);
    let unmet: Vec<_> = plan.unmet.iter().map(|u| (u.requirement, u.stems, &u.reason)).collect();
    assert_eq!(unmet, [(5, 10, &Reason::NoOffer)]);
}

#[test]
fn a_window_without_delivery_names_the_nearest_one() {
    let mut problem = weekend();
    problem.requirements[4].earliest = 2;
    problem.requirements[4].latest = 3;
    let plan = solve(&problem);
    assert_eq!(plan.unmet[0].reason, Reason::NoneDeliveredInWindow { nearest: 0 });
    assert_eq!(plan.unmet.len(), 1);
}

#[test]
fn most_packs_too_few_say_how_many_stems_there_are() {
    let mut problem = weekend();
    problem.offers[5].max_packs = Some(1);
    problem.offers[6].max_packs = Some(1);
    let plan = solve(&problem);
    assert_eq!(plan.unmet[0].reason, Reason::MostPacksTooFew { available: 35 });
    assert!(plan.cost > 0 && plan.proven);
}

#[test]
fn a_least_order_out_of_reach_says_what_is_in_reach() {
    let mut problem = weekend();
    problem.suppliers.truncate(1);
    problem.suppliers.push(supplier("C", 0, 5000, &[0]));
    problem.offers = vec![offer("A", "rose", 25, 3100), offer("C", "eucalyptus", 60, 1800)];
    problem.offers[1].max_packs = Some(2);
    problem.requirements = vec![need("Friday", "rose", 10), need("Friday", "eucalyptus", 57)];
    let plan = solve(&problem);
    let reason = Reason::LeastOrderNotReached { supplier: 1, date: 0, least: 5000, reachable: 3600 };
    assert_eq!((plan.cost, &plan.unmet[0].reason), (5600, &reason));
}

#[test]
fn a_least_order_is_filled_up_with_what_is_offered() {
    let suppliers = vec![supplier("A", 0, 1000, &[0])];
    let offers = vec![offer("A", "rose", 10, 300), offer("A", "ruscus", 10, 100)];
    let requirements = vec![need("Friday", "rose", 10)];
    let plan = solve(&Problem { suppliers, offers, requirements, stock: Vec::new() });
    assert_eq!((plan.cost, plan.proven), (1000, true));
}

#[test]
fn goods_over_the_threshold_waive_the_fee() {
    let mut problem = weekend();
    problem.suppliers[1].free_over = Some(30_000);
    let plan = solve(&problem);
    assert_eq!((plan.cost, plan.deliveries[0].fee), (34_420, 0));
}

/// An order placed earlier with B for the same day: its goods reach the least order, so that B may be had for less.
#[test]
fn goods_ordered_earlier_count_towards_the_least_order_and_the_waiver() {
    let mut problem = weekend();
    problem.requirements.truncate(2);
    assert_eq!(solve(&problem).cost, 15_260);
    problem.suppliers[1].committed = vec![Committed { date: 0, goods: 9_000 }];
    let plan = solve(&problem);
    // 6 × 12 roses and 4 × 10 stocks from B, whose fee is owed in any case.
    assert_eq!((plan.cost, plan.proven, plan.goods), (1_500 + 13_760, true, 13_760));
    problem.suppliers[1].free_over = Some(22_760);
    let plan = solve(&problem);
    assert_eq!((plan.cost, plan.deliveries[0].fee), (13_760, 0));
}

#[test]
fn a_delivery_that_comes_anyway_is_listed_and_its_fee_counted() {
    let mut problem = weekend();
    problem.suppliers[0].committed = vec![Committed { date: 4, goods: 3_000 }];
    let plan = solve(&problem);
    assert_eq!((plan.cost, plan.proven), (35_920 + 2_500, true));
    let coming = plan.deliveries.iter().find(|d| d.date == 4).expect("the delivery of day 4");
    assert_eq!((coming.goods, coming.fee), (0, 2_500));
    let mut unlisted = plan.clone();
    unlisted.deliveries.retain(|d| d.date != 4);
    assert_eq!(check(&problem, &unlisted), Err(Fault::Delivery { supplier: 0, date: 4 }));
}

#[test]
fn stock_is_served_first_and_costs_nothing() {
    let mut problem = weekend();
    problem.stock = vec![Stock { material: "rose".into(), stems: 9, from: 0, until: 2 }];
    let plan = solve(&problem);
    assert_eq!(plan.cost, 35_920 - 1500); // 144 roses: 12 packs of 12
}

#[test]
fn a_plan_that_was_tampered_with_is_refused() {
    let problem = weekend();
    let plan = solve(&problem);
    let mut fewer = plan.clone();
    fewer.packs[0].packs -= 1;
    assert!(matches!(check(&problem, &fewer), Err(Fault::Delivery { .. })));
    let mut cheaper = plan.clone();
    cheaper.cost -= 1;
    assert_eq!(check(&problem, &cheaper), Err(Fault::Cost));
    let mut unserved = plan.clone();
    unserved.allocation.pop();
    assert!(matches!(check(&problem, &unserved), Err(Fault::Served { .. })));
    let mut capped = problem.clone();
    capped.offers[2].max_packs = Some(12);
    assert_eq!(check(&capped, &plan), Err(Fault::MostPacks { offer: 2 }));
    let mut dearer = problem;
    dearer.suppliers[1].min_order = 40_000;
    assert_eq!(check(&dearer, &plan), Err(Fault::LeastOrder { supplier: 1, date: 0 }));
}

#[test]
fn cut_short_at_once_it_still_gives_a_checked_plan_and_an_honest_bound() {
    let cases = json::read(include_str!("../fixtures/orders.json")).unwrap();
    for case in cases.iter().filter(|c| c.problem.offers.len() < 120) {
        let plan = plan(&case.problem, &mut || false);
        assert_eq!(plan.fault, None);
        let optimum = case.optimum.unwrap();
        assert!(plan.cost == 0 || plan.cost >= optimum, "{:?}", case.name);
        assert!(plan.lower_bound <= optimum, "{:?}", case.name);
    }
}

#[test]
fn the_same_problem_has_the_same_answer() {
    let cases = json::read(include_str!("../fixtures/orders.json")).unwrap();
    let problem = &cases[8].problem;
    assert_eq!(solve(problem), solve(problem));
}

/// Roses cost the same from both, and no fee tells them apart: whoever sells the stock sells the roses too.
#[test]
fn of_plans_of_the_same_cost_the_one_with_fewer_suppliers_is_taken() {
    for sells_stock in ["A", "B"] {
        let suppliers = vec![supplier("A", 0, 0, &[0]), supplier("B", 0, 0, &[0])];
        let offers = vec![
            offer("A", "rose", 10, 1000),
            offer("B", "rose", 10, 1000),
            offer(sells_stock, "stock", 10, 500),
        ];
        let requirements = vec![need("Friday", "rose", 10), need("Friday", "stock", 10)];
        let plan = solve(&Problem { suppliers, offers, requirements, stock: Vec::new() });
        assert_eq!((plan.cost, plan.proven, plan.deliveries.len()), (1500, true, 1), "{sells_stock}");
    }
}

#[test]
fn of_plans_of_the_same_cost_the_one_that_leaves_less_and_comes_later_is_taken() {
    let suppliers = vec![supplier("A", 0, 0, &[0, 1])];
    let offers = vec![offer("A", "rose", 12, 1000), offer("A", "rose", 10, 1000)];
    let requirements = vec![Requirement { latest: 1, ..need("Friday", "rose", 10) }];
    let plan = solve(&Problem { suppliers, offers, requirements, stock: Vec::new() });
    let lines: Vec<(usize, i32, i64)> =
        plan.packs.iter().map(|line| (line.offer, line.date, line.packs)).collect();
    assert_eq!((plan.cost, lines), (1000, vec![(1, 1, 1)]));
}

/// Three sell what one sells alone: two can be left out, which leaving out either of the one and another does not show.
#[test]
fn as_many_suppliers_as_can_be_are_left_out() {
    let suppliers = ["A", "B", "C"].map(|id| supplier(id, 0, 0, &[0])).to_vec();
    for all_from in ["A", "B", "C"] {
        let sells = |material: &str| offer(all_from, material, 10, 1000);
        let offers = vec![
            offer("A", "rose", 10, 1000),
            offer("B", "stock", 10, 1000),
            offer("C", "ruscus", 10, 1000),
            sells("rose"),
            sells("stock"),
            sells("ruscus"),
        ];
        let requirements = ["rose", "stock", "ruscus"].map(|material| need("Friday", material, 10)).to_vec();
        let plan = solve(&Problem { suppliers: suppliers.clone(), offers, requirements, stock: Vec::new() });
        assert_eq!((plan.cost, plan.ties_settled, plan.deliveries.len()), (3000, true, 1), "{all_from}");
    }
}
