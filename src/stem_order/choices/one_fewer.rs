//! The cheapest order that deals with at least one supplier fewer than the plan does.
//!
//! **How.** Let a plan use k suppliers. An order with fewer than k leaves out at least one of them. So, from the plan,
//! one branch for each supplier it uses, with that supplier forbidden; a branch whose own cheapest plan still uses k or
//! more suppliers is branched again, over the suppliers *it* uses. The cost of a branch's plan is a lower bound of all
//! orders within it, so the branch with the least bound is always looked at first, and the first one that uses fewer
//! than k suppliers is the cheapest: exact, if every plan on the way is proven.
//!
//! May import `ground`, and the room's own market and plan.

use std::collections::BTreeSet;

use super::changes::changes;
use super::space::{Space, undecided};
use crate::ground::ids::SupplierId;
use crate::ground::money::Money;
use crate::stem_order::buying_plan::{Plan, Problem};
use crate::stem_order::posed::Posed;

/// After so many plans the search gives what it has.
const MOST_PLANS: usize = 200;

/// What one supplier fewer comes to.
#[derive(Debug, Clone)]
pub struct OneFewer {
    /// The suppliers (by their place in the problem) that the plan uses and this order does not.
    pub without: Vec<usize>,
    /// Those it deals with.
    pub with: Vec<usize>,
    /// The order.
    pub plan: Plan,
    /// Whether no order with one supplier fewer costs less.
    pub proven: bool,
}

/// The same for a page.
#[derive(Debug, Clone)]
pub struct FewerSuppliers {
    /// Who is left out.
    pub without: Vec<(SupplierId, String)>,
    /// With how many suppliers it deals.
    pub with: usize,
    /// Goods and fees.
    pub total: Money,
    /// Above the plan.
    pub more: Money,
    /// Whether no order with one supplier fewer costs less.
    pub proven: bool,
    /// What is bought otherwise.
    pub changes: Vec<String>,
}

/// Why there is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoFewer {
    /// The plan deals with one supplier or none.
    OneAlready,
    /// Whatever is left out, something could not be had.
    NothingLeft,
    /// None was found in time.
    NotFound,
}

/// The cheapest order of what `plan` has, with at least one supplier fewer. `solve` plans a problem.
///
/// # Errors
/// Why there is none.
pub fn one_fewer(
    problem: &Problem,
    plan: &Plan,
    solve: &mut dyn FnMut(&Problem) -> Plan,
) -> Result<OneFewer, NoFewer> {
    let used = suppliers(plan);
    if used.len() < 2 {
        return Err(NoFewer::OneAlready);
    }
    let mut search = Search::new(met(problem, plan), used.len());
    for supplier in &used {
        search.open(BTreeSet::from([*supplier]), solve);
    }
    let answer = search.run(solve);
    answer.map(|(found, proven)| {
        let with = suppliers(&found);
        let without = used.difference(&with).copied().collect();
        OneFewer { without, with: with.into_iter().collect(), plan: found, proven }
    })
}

/// The cheapest order with at least one supplier fewer, in the words of the order.
///
/// # Errors
/// Why there is none.
pub fn fewer_suppliers(
    space: &Space<'_>,
    (posed, plan): (&Posed, &Plan),
    solve: &mut dyn FnMut(&Problem) -> Plan,
) -> Result<FewerSuppliers, NoFewer> {
    let found = one_fewer(&posed.problem, plan, solve)?;
    let named =
        |at: &usize| space.market.suppliers.get(*at).map(|supplier| (supplier.id, supplier.name.clone()));
    Ok(FewerSuppliers {
        without: found.without.iter().filter_map(named).collect(),
        with: found.with.len(),
        total: Money::from_minor(found.plan.cost),
        more: Money::from_minor(found.plan.cost - plan.cost),
        proven: found.proven && plan.proven,
        changes: changes(space, (posed, plan), (posed, &found.plan)),
    })
}

/// Suppliers that a plan deals with.
#[must_use]
pub fn suppliers(plan: &Plan) -> BTreeSet<usize> {
    plan.deliveries.iter().map(|delivery| delivery.supplier).collect()
}

/// The problem without what the plan itself cannot have.
fn met(problem: &Problem, plan: &Plan) -> Problem {
    let mut met = problem.clone();
    for unmet in &plan.unmet {
        met.requirements[unmet.requirement].stems = 0;
    }
    met
}

struct Search {
    problem: Problem,
    /// How many suppliers are too many.
    many: usize,
    seen: BTreeSet<BTreeSet<usize>>,
    branches: Vec<Branch>,
    undecided: bool,
}

struct Branch {
    forbidden: BTreeSet<usize>,
    plan: Plan,
}

impl Search {
    fn new(problem: Problem, many: usize) -> Search {
        Search { problem, many, seen: BTreeSet::new(), branches: Vec::new(), undecided: false }
    }

    fn open(&mut self, forbidden: BTreeSet<usize>, solve: &mut dyn FnMut(&Problem) -> Plan) {
        if !self.seen.insert(forbidden.clone()) {
            return;
        }
        let mut without = self.problem.clone();
        let ids: BTreeSet<&str> =
            forbidden.iter().map(|supplier| self.problem.suppliers[*supplier].id.as_str()).collect();
        without.offers.retain(|offer| !ids.contains(offer.supplier.as_str()));
        let plan = solve(&without);
        if plan.unmet.is_empty() {
            self.branches.push(Branch { forbidden, plan: renumbered(&self.problem, &ids, plan) });
        } else {
            self.undecided |= undecided(&plan);
        }
    }

    fn run(mut self, solve: &mut dyn FnMut(&Problem) -> Plan) -> Result<(Plan, bool), NoFewer> {
        let mut best: Option<Plan> = None;
        while let Some(next) = self.least() {
            if best.as_ref().is_some_and(|best| best.cost <= self.branches[next].plan.lower_bound) {
                return best.map(|best| (best, !self.undecided)).ok_or(NoFewer::NothingLeft);
            }
            let branch = self.branches.swap_remove(next);
            let with = suppliers(&branch.plan);
            if with.len() < self.many {
                if branch.plan.proven
                    && !self.undecided
                    && best.as_ref().is_none_or(|b| branch.plan.cost < b.cost)
                {
                    return Ok((branch.plan, true));
                }
                // An order within the branch may be cheaper by as much as its plan is from proven.
                self.undecided |= !branch.plan.proven;
                if best.as_ref().is_none_or(|best| branch.plan.cost < best.cost) {
                    best = Some(branch.plan);
                }
                continue;
            }
            if self.seen.len() >= MOST_PLANS {
                self.undecided = true;
                continue;
            }
            for supplier in with {
                let mut forbidden = branch.forbidden.clone();
                forbidden.insert(supplier);
                self.open(forbidden, solve);
            }
        }
        let none = if self.undecided { NoFewer::NotFound } else { NoFewer::NothingLeft };
        best.map(|best| (best, !self.undecided)).ok_or(none)
    }

    /// The branch with the least bound; of equal ones that with fewer suppliers, then the one opened first.
    fn least(&self) -> Option<usize> {
        let key = |at: &usize| {
            let plan = &self.branches[*at].plan;
            (plan.lower_bound, suppliers(plan).len(), self.branches[*at].forbidden.clone())
        };
        (0..self.branches.len()).min_by_key(key)
    }
}

/// The plan with offers numbered as in the whole problem.
fn renumbered(whole: &Problem, forbidden: &BTreeSet<&str>, mut plan: Plan) -> Plan {
    let places: Vec<usize> = (0..whole.offers.len())
        .filter(|at| !forbidden.contains(whole.offers[*at].supplier.as_str()))
        .collect();
    for line in &mut plan.packs {
        line.offer = places[line.offer];
    }
    plan
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::stem_order::buying_plan::check::check;
    use crate::stem_order::buying_plan::{Offer, Requirement, Supplier, plan};

    fn offer(supplier: usize, material: usize, size: i64, price: i64) -> Offer {
        Offer {
            supplier: format!("s{supplier}"),
            material: format!("m{material}"),
            size,
            price,
            min_packs: None,
            max_packs: None,
            dates: None,
        }
    }

    fn problem(
        fees: &[i64],
        least: i64,
        offers: &[(usize, usize, i64, i64)],
        wants: &[(usize, i64)],
    ) -> Problem {
        let supplier = |(at, fee): (usize, &i64)| {
            serde_json::from_value::<Supplier>(
                serde_json::json!({"id": format!("s{at}"), "fee": fee, "min_order": least, "dates": [1]}),
            )
            .unwrap()
        };
        Problem {
            suppliers: fees.iter().enumerate().map(supplier).collect(),
            offers: offers.iter().map(|(s, m, size, price)| offer(*s, *m, *size, *price)).collect(),
            requirements: wants
                .iter()
                .map(|(m, stems)| Requirement {
                    event: "e".into(),
                    accepts: vec![format!("m{m}")],
                    stems: *stems,
                    earliest: 1,
                    latest: 1,
                })
                .collect(),
            stock: Vec::new(),
        }
    }

    fn solved(problem: &Problem) -> Plan {
        plan(problem, &mut || true)
    }

    #[test]
    fn the_dearer_of_two_pairs_is_left_out() {
        // Three growers, each the cheapest for one flower; the first sells all three, the second two of them.
        let offers = [
            (0, 0, 10, 500),
            (1, 1, 10, 500),
            (2, 2, 10, 500),
            (0, 1, 10, 900),
            (0, 2, 10, 2_000),
            (1, 2, 10, 700),
        ];
        let problem = problem(&[0, 0, 0], 0, &offers, &[(0, 10), (1, 10), (2, 10)]);
        let all = solved(&problem);
        assert_eq!((all.cost, suppliers(&all).len()), (1_500, 3));
        let fewer = one_fewer(&problem, &all, &mut |p| solved(p)).unwrap();
        assert_eq!(
            (fewer.plan.cost, fewer.without, fewer.with, fewer.proven),
            (1_700, vec![2], vec![0, 1], true)
        );
    }

    #[test]
    fn one_supplier_has_none_fewer_and_some_orders_need_all() {
        let alone = problem(&[0], 0, &[(0, 0, 10, 500)], &[(0, 10)]);
        let plan = solved(&alone);
        assert_eq!(one_fewer(&alone, &plan, &mut |p| solved(p)).unwrap_err(), NoFewer::OneAlready);
        let both = problem(&[0, 0], 0, &[(0, 0, 10, 500), (1, 1, 10, 500)], &[(0, 10), (1, 10)]);
        let plan = solved(&both);
        assert_eq!(one_fewer(&both, &plan, &mut |p| solved(p)).unwrap_err(), NoFewer::NothingLeft);
    }

    #[test]
    fn a_plan_that_is_cut_short_is_never_called_proven() {
        let offers = [(0, 0, 10, 500), (1, 1, 10, 500), (0, 1, 10, 900)];
        let problem = problem(&[0, 0], 0, &offers, &[(0, 10), (1, 10)]);
        let all = solved(&problem);
        let mut short = |p: &Problem| Plan { proven: false, lower_bound: 1, ..solved(p) };
        let fewer = one_fewer(&problem, &all, &mut short).unwrap();
        assert_eq!((fewer.plan.cost, fewer.proven), (1_400, false));
    }

    /// The least cost over every set of suppliers that is small enough.
    fn by_hand(problem: &Problem, most: usize) -> Option<i64> {
        let sets = 0_u32..1 << problem.suppliers.len();
        let small = sets.filter(|set| set.count_ones() as usize <= most);
        small
            .filter_map(|set| {
                let mut only = problem.clone();
                only.offers.retain(|offer| {
                    let at = problem.suppliers.iter().position(|s| s.id == offer.supplier).unwrap();
                    set & (1 << at) != 0
                });
                let plan = solved(&only);
                plan.unmet.is_empty().then_some(plan.cost)
            })
            .min()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        /// As cheap as the cheapest of all orders with one supplier fewer, tried one by one.
        #[test]
        fn it_is_the_cheapest_with_one_supplier_fewer(
            fees in prop::collection::vec(prop::sample::select(vec![0_i64, 300, 900]), 4),
            least in prop::sample::select(vec![0_i64, 1_500]),
            offers in prop::collection::vec((0_usize..4, 0_usize..4, 1_i64..20, 100_i64..2_000), 4..12),
            wants in prop::collection::vec((0_usize..4, 1_i64..40), 1..5),
        ) {
            let mut problem = problem(&fees, least, &offers, &wants);
            let all = solved(&problem);
            // By hand only what can be had counts.
            for unmet in &all.unmet {
                problem.requirements[unmet.requirement].stems = 0;
            }
            let used = suppliers(&all).len();
            match one_fewer(&problem, &all, &mut |p| solved(p)) {
                Ok(fewer) => {
                    prop_assert!(check(&problem, &fewer.plan).is_ok());
                    prop_assert!(fewer.proven && fewer.with.len() < used && !fewer.without.is_empty());
                    prop_assert_eq!(Some(fewer.plan.cost), by_hand(&problem, used - 1));
                }
                Err(NoFewer::OneAlready) => prop_assert!(used < 2),
                Err(NoFewer::NothingLeft) => prop_assert_eq!(by_hand(&problem, used - 1), None),
                Err(NoFewer::NotFound) => prop_assert!(false),
            }
        }
    }
}
