//! The buying plan against a general solver. `fixtures/orders.json`: orders made at random, their optima computed by
//! scipy.optimize.milp (`HiGHS`, gap 0); money in minor units, days as whole numbers. `fixtures/pack-cover.json`: the
//! least cost to cover a need with packs, computed by an exhaustive dynamic programme.

use serde_json::Value;
use trug::stem_order::buying_plan::check::check;
use trug::stem_order::buying_plan::{Offer, Problem, Requirement, Supplier, json, plan};
use trug::stem_order::fewer_days::plan_on_fewer_days;

#[test]
fn every_order_is_proven_at_its_optimum() {
    let cases = json::read(include_str!("../fixtures/orders.json")).unwrap();
    assert_eq!(cases.len(), 16);
    for case in cases {
        let plan = plan_on_fewer_days(&case.problem, &mut || true);
        assert_eq!((Some(plan.cost), plan.proven), (case.optimum, true), "{:?}", case.name);
        assert_eq!(check(&case.problem, &plan), Ok(()), "{:?}", case.name);
    }
}

#[test]
fn packs_cover_a_need_at_the_least_cost() {
    let cases: Vec<Value> = serde_json::from_str(include_str!("../fixtures/pack-cover.json")).unwrap();
    assert_eq!(cases.len(), 7);
    for case in cases {
        let packs: Vec<(i64, i64)> = serde_json::from_value(case["packs"].clone()).unwrap();
        let offer = |(size, price): &(i64, i64)| Offer {
            supplier: "s".into(),
            material: "m".into(),
            size: *size,
            price: *price,
            min_packs: None,
            max_packs: None,
            dates: None,
        };
        let wanted = Requirement {
            event: "e".into(),
            accepts: vec!["m".into()],
            stems: case["need"].as_i64().unwrap(),
            earliest: 0,
            latest: 0,
        };
        let problem = Problem {
            suppliers: vec![Supplier {
                id: "s".into(),
                fee: 0,
                min_order: 0,
                free_over: None,
                dates: vec![0],
            }],
            offers: packs.iter().map(offer).collect(),
            requirements: vec![wanted],
            stock: Vec::new(),
        };
        let plan = plan(&problem, &mut || true);
        assert_eq!((Some(plan.cost), plan.proven), (case["optimum"].as_i64(), true), "{case}");
    }
}
