//! The laws of the buying plan, and every tiny problem against trying everything.

use std::collections::BTreeSet;

use crate::brute::{Rank, first_in_rank, least_cost, without};
use proptest::prelude::*;
use trug::stem_order::buying_plan::check::check;
use trug::stem_order::buying_plan::{
    Committed, Offer, PackLine, Plan, Problem, Reason, Requirement, Stock, Supplier, plan,
};

fn solve(problem: &Problem) -> Plan {
    let plan = plan(problem, &mut || true);
    assert_eq!(plan.fault, None);
    plan
}

/// A plan by what it is judged by: cost, stems, days of arrival, suppliers.
fn rank(problem: &Problem, plan: &Plan) -> Rank {
    let stems = |line: &PackLine| line.packs * problem.offers[line.offer].size;
    let days = plan.packs.iter().map(|line| stems(line) * i64::from(line.date)).sum::<i64>();
    let suppliers = plan.packs.iter().map(|line| &problem.offers[line.offer].supplier);
    let suppliers: BTreeSet<&String> = suppliers.collect();
    (plan.cost, plan.packs.iter().map(stems).sum(), -days, suppliers.len())
}

/// The packs of a plan in the words of the problem, by name.
fn named<'a>(problem: &'a Problem, plan: &Plan) -> Vec<(&'a Offer, i32, i64)> {
    let line = |line: &PackLine| (&problem.offers[line.offer], line.date, line.packs);
    let mut lines: Vec<_> = plan.packs.iter().map(line).collect();
    lines.sort();
    lines
}

/// Listed from another place on, and backwards at odd ones.
fn turned<T>(things: &mut [T], turn: usize) {
    if !things.is_empty() {
        things.rotate_left(turn % things.len());
    }
    if turn % 2 == 1 {
        things.reverse();
    }
}

const MATERIALS: [&str; 3] = ["rose", "stock", "ruscus"];

fn suppliers() -> impl Strategy<Value = Vec<Supplier>> {
    let one = (
        prop::sample::select(vec![0, 100, 250]),
        prop::sample::select(vec![0, 0, 300, 900]),
        prop::option::weighted(0.4, prop::sample::select(vec![400, 800])),
        1..4_u8,
        prop::collection::vec(committed(), 0..2),
    );
    let one = one.prop_map(|(fee, min_order, free_over, days, committed)| {
        let dates = (0..2).filter(|d| days & (1 << d) != 0).collect();
        Supplier { id: String::new(), fee, min_order, free_over, dates, committed }
    });
    prop::collection::vec(one, 1..3).prop_map(|mut all| {
        all.iter_mut().enumerate().for_each(|(at, supplier)| supplier.id = format!("s{at}"));
        all
    })
}

fn committed() -> impl Strategy<Value = Committed> {
    (0..3_i32, prop::sample::select(vec![50, 350, 700])).prop_map(|(date, goods)| Committed { date, goods })
}

fn offers() -> impl Strategy<Value = Vec<Offer>> {
    prop::collection::vec(any_offer(), 1..4)
}

fn any_offer() -> impl Strategy<Value = Offer> {
    let size = prop::sample::select(vec![3, 5, 8, 10]);
    let least = prop::option::weighted(0.25, Just(2));
    let most = prop::option::weighted(0.35, 2..4_i64);
    let dates = prop::option::weighted(0.2, Just(vec![1]));
    (0..2_usize, 0..3_usize, size, 60..300_i64, least, most, dates).prop_map(
        |(supplier, material, size, price, min_packs, max_packs, dates)| Offer {
            supplier: format!("s{supplier}"),
            material: MATERIALS[material].into(),
            size,
            price,
            min_packs,
            max_packs,
            dates,
        },
    )
}

fn requirements() -> impl Strategy<Value = Vec<Requirement>> {
    let one = (1..8_u8, 1..13_i64, 0..2_i32, 0..2_i32);
    prop::collection::vec(one, 1..4).prop_map(|all| {
        let make = |(at, (mask, stems, one, other)): (usize, (u8, i64, i32, i32))| Requirement {
            event: format!("e{at}"),
            accepts: (0..3).filter(|m| mask & (1 << m) != 0).map(|m| MATERIALS[m].into()).collect(),
            stems,
            earliest: one.min(other),
            latest: one.max(other),
        };
        all.into_iter().enumerate().map(make).collect()
    })
}

fn problems() -> impl Strategy<Value = Problem> {
    let stock = (0..3_usize, 1..8_i64, 0..2_i32).prop_map(|(material, stems, until)| Stock {
        material: MATERIALS[material].into(),
        stems,
        from: 0,
        until,
    });
    let stock = prop::collection::vec(stock, 0..2);
    (suppliers(), offers(), requirements(), stock).prop_map(|(suppliers, offers, requirements, stock)| {
        Problem { suppliers, offers, requirements, stock }
    })
}

/// Few prices and sizes, so that many plans cost the same.
fn tied_problems() -> impl Strategy<Value = Problem> {
    let fees = prop::collection::vec(prop::sample::select(vec![0_i64, 0, 100]), 2..4);
    let days = prop::collection::vec(1..8_u8, 3);
    let offer = (0..3_usize, 0..2_usize, prop::sample::select(vec![4_i64, 5, 6]), 1..3_i64, 0..8_usize);
    let offers = prop::collection::vec(offer, 2..5);
    let need = (1..4_u8, 1..9_i64, 0..3_i32, 0..3_i32);
    let needs = prop::collection::vec(need, 1..4);
    let least = prop::sample::select(vec![0_i64, 0, 200, 300]);
    let free = prop::option::weighted(0.3, prop::sample::select(vec![200_i64, 400]));
    (fees, days, offers, needs, (least, free)).prop_map(|(fees, days, offers, needs, (least, free))| {
        let count = fees.len();
        let supplier = |(at, fee): (usize, i64)| Supplier {
            id: format!("s{at}"),
            fee,
            min_order: if at == 0 { least } else { 0 },
            free_over: if at == 1 { free } else { None },
            dates: (0..3).filter(|day| days[at] & (1 << day) != 0).collect(),
            committed: Vec::new(),
        };
        let offer = |(by, material, size, price, kind): (usize, usize, i64, i64, usize)| Offer {
            supplier: format!("s{}", by % count),
            material: MATERIALS[material].into(),
            size,
            price: 100 * price,
            min_packs: (kind == 1).then_some(2),
            max_packs: (kind == 2).then_some(2),
            dates: None,
        };
        let need = |(at, (mask, stems, one, other)): (usize, (u8, i64, i32, i32))| Requirement {
            event: format!("e{at}"),
            accepts: (0..2).filter(|m| mask & (1 << m) != 0).map(|m| MATERIALS[m].into()).collect(),
            stems,
            earliest: one.min(other),
            latest: one.max(other),
        };
        Problem {
            suppliers: fees.into_iter().enumerate().map(supplier).collect(),
            offers: offers.into_iter().map(offer).collect(),
            requirements: needs.into_iter().enumerate().map(need).collect(),
            stock: Vec::new(),
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn of_many_plans_of_one_cost_the_first_in_rank_is_taken(problem in tied_problems()) {
        let plan = solve(&problem);
        prop_assert!(plan.ties_settled || plan.packs.is_empty());
        let left_out: Vec<usize> = plan.unmet.iter().map(|u| u.requirement).collect();
        prop_assert_eq!(first_in_rank(&without(&problem, &left_out), plan.cost), Some(rank(&problem, &plan)));
    }

    /// However soon it is cut short, the plan is no dearer for it, and does not claim what it did not look for.
    #[test]
    fn ties_cut_short_leave_a_plan_of_the_least_cost(problem in tied_problems(), asks in 0..60_usize) {
        let whole = solve(&problem);
        let mut asked = 0;
        let short = plan(&problem, &mut || { asked += 1; asked <= asks });
        prop_assert_eq!(&short.fault, &None);
        if short.ties_settled {
            prop_assert_eq!(rank(&problem, &short), rank(&problem, &whole));
        }
        if short.proven {
            prop_assert_eq!(short.cost, whole.cost);
        }
    }

    #[test]
    fn it_is_as_good_as_trying_everything(problem in problems()) {
        let plan = solve(&problem);
        prop_assert!(plan.proven || plan.packs.is_empty());
        let left_out: Vec<usize> = plan.unmet.iter().map(|u| u.requirement).collect();
        let best = first_in_rank(&without(&problem, &left_out), plan.cost);
        prop_assert!(plan.ties_settled || plan.packs.is_empty());
        prop_assert_eq!(best, Some(rank(&problem, &plan)));
        for r in &left_out {
            let others: Vec<usize> = left_out.iter().copied().filter(|other| other != r).collect();
            prop_assert_eq!(least_cost(&without(&problem, &others)), None, "{} could be met", r);
        }
    }

    #[test]
    fn a_further_offer_never_raises_the_cost(problem in problems(), offer in any_offer()) {
        let before = solve(&problem);
        prop_assume!(before.unmet.is_empty());
        let mut more = problem;
        more.offers.push(offer);
        let after = solve(&more);
        prop_assert!(after.unmet.is_empty() && after.cost <= before.cost);
    }

    /// Whenever time runs out there is a checked plan, and its bound and cost enclose the least cost.
    #[test]
    fn cut_short_it_still_has_a_plan_and_an_honest_bound(problem in problems(), asks in 0..40_usize) {
        let whole = solve(&problem);
        let mut asked = 0;
        let short = plan(&problem, &mut || { asked += 1; asked <= asks });
        prop_assert_eq!(&short.fault, &None);
        prop_assert!(check(&problem, &short).is_ok());
        let left_out: Vec<usize> = short.unmet.iter().map(|u| u.requirement).collect();
        let least = least_cost(&without(&problem, &left_out));
        prop_assert!(least.is_some_and(|least| short.lower_bound <= least && least <= short.cost));
        if whole.unmet.is_empty() {
            prop_assert!(short.unmet.iter().all(|u| u.reason == Reason::NotDecidedInTime));
        }
    }

    #[test]
    fn the_same_problem_has_the_same_plan(problem in problems()) {
        prop_assert_eq!(solve(&problem), solve(&problem));
    }

    /// Nor does it matter in which order things are listed.
    #[test]
    fn the_same_problem_listed_in_another_order_has_the_same_plan(
        problem in problems(),
        turn in 0..6_usize,
    ) {
        let plan = solve(&problem);
        prop_assume!(plan.unmet.is_empty());
        let mut other = problem.clone();
        turned(&mut other.suppliers, turn);
        turned(&mut other.offers, turn);
        turned(&mut other.requirements, turn);
        turned(&mut other.stock, turn);
        for supplier in &mut other.suppliers {
            supplier.dates.reverse();
        }
        prop_assert_eq!(named(&problem, &plan), named(&other, &solve(&other)));
    }

    #[test]
    fn buying_together_never_costs_more_than_apart(problem in problems()) {
        let mut problem = problem;
        problem.stock.clear();
        problem.suppliers.iter_mut().for_each(|supplier| supplier.committed.clear());
        problem.offers.iter_mut().for_each(|offer| offer.max_packs = None);
        let together = solve(&problem);
        prop_assume!(together.unmet.is_empty());
        let apart = problem.requirements.iter().map(|r| {
            solve(&Problem { requirements: vec![r.clone()], ..problem.clone() }).cost
        });
        prop_assert!(together.cost <= apart.sum());
    }
}
