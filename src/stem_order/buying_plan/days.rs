//! Makes the work smaller without changing what is found: delivery days that can only cost more are left out, and what
//! was planned is moved to the latest day on which it is as good.
//!
//! **Left out.** A day of a supplier is of no use beside a later one on which everything that is wanted on the first can
//! be had too, for the same stems and at no higher price (at the same one, where goods count towards a least order or
//! a waiver): whatever is bought on the first can be moved to the second, which pays no more fees, comes no further
//! below a least order and comes fresher. While only the least cost is sought, a day on which less is wanted is left out
//! beside an earlier one too, where the supplier charges a fee; without one it costs nothing to use both.
//!
//! A day on which goods ordered earlier come anyway is never left out, nor is its delivery moved.
//!
//! **Moved.** A whole delivery moves to the latest of the supplier's days on which all its packs are offered and all
//! its stems still serve what they serve.
//!
//! Imports the plain values and the check.

use std::collections::BTreeSet;

use super::check::check;
use super::{Day, Offer, Plan, Problem, Source, Supplier};

/// The problem without the days that can only cost more.
pub(super) fn fewest(problem: &Problem) -> Problem {
    without(problem, &|first, second, supplier| {
        covers(first, second) && (first.0 > second.0 || covers_cheaper(first, second, supplier))
    })
}

/// The problem without the days on which nothing comes that might not as well come later.
pub(super) fn of_use(problem: &Problem) -> Problem {
    without(problem, &|first, second, _| covers(first, second) && first.0 > second.0)
}

type Useless<'a> = dyn Fn(&OnDay<'_>, &OnDay<'_>, &Supplier) -> bool + 'a;

/// The problem without the days beside which there is another that makes them useless.
fn without(problem: &Problem, useless: &Useless) -> Problem {
    let mut fewer = problem.clone();
    for supplier in &mut fewer.suppliers {
        let offers: Vec<&Offer> =
            problem.offers.iter().filter(|offer| offer.supplier == supplier.id).collect();
        let mut days: Vec<OnDay<'_>> =
            supplier.dates.iter().map(|day| (*day, served(problem, supplier, &offers, *day))).collect();
        days.sort_by_key(|(day, _)| *day);
        let mut at = 0;
        while at < days.len() {
            // A delivery that comes anyway costs no further fee.
            let coming = supplier.committed.iter().any(|committed| committed.date == days[at].0);
            let beside = |other: usize| other != at && useless(&days[other], &days[at], supplier);
            if !coming && (0..days.len()).any(beside) {
                days.remove(at);
            } else {
                at += 1;
            }
        }
        supplier.dates = days.into_iter().map(|(day, _)| day).collect();
    }
    fewer
}

type OnDay<'a> = (Day, Served<'a>);

/// What a day is good for: offers of materials that some requirement would take on it, and what fills it up.
struct Served<'a> {
    /// Requirement and material.
    wants: BTreeSet<(usize, &'a str)>,
    offers: Vec<&'a Offer>,
    /// What nobody wants may still fill up a delivery.
    fills: bool,
}

fn served<'a>(problem: &'a Problem, supplier: &Supplier, offers: &[&'a Offer], day: Day) -> Served<'a> {
    let fills = supplier.min_order > 0 || supplier.free_over.is_some();
    let here = offers.iter().filter(|offer| offer.dates.as_ref().is_none_or(|dates| dates.contains(&day)));
    let mut served = Served { wants: BTreeSet::new(), offers: Vec::new(), fills };
    for offer in here {
        let takers = problem.requirements.iter().enumerate().filter(|(_, wanted)| {
            wanted.earliest <= day && day <= wanted.latest && wanted.accepts.contains(&offer.material)
        });
        let before = served.wants.len();
        served.wants.extend(takers.map(|(at, _)| (at, offer.material.as_str())));
        if fills
            || served.wants.len() > before
            || served.wants.iter().any(|(_, name)| *name == offer.material)
        {
            served.offers.push(offer);
        }
    }
    served
}

/// Whether everything on the second day can be had on the first one for the same requirements and at the same price, or
/// a lower one where no goods value counts: the same offer, whose most packs the days share, or one without most packs.
fn covers(first: &OnDay, second: &OnDay) -> bool {
    let (on, other) = (&first.1, &second.1);
    let as_good = |wanted: &Offer| {
        on.offers.iter().any(|offer| {
            let same = std::ptr::eq(*offer, wanted);
            let as_cheap = if on.fills { offer.price == wanted.price } else { offer.price <= wanted.price };
            same || offer.max_packs.is_none()
                && offer.material == wanted.material
                && offer.size == wanted.size
                && as_cheap
                && offer.min_packs <= wanted.min_packs
        })
    };
    other.wants.is_subset(&on.wants) && other.offers.iter().all(|wanted| as_good(wanted))
}

/// Whether it is of no use to use a day that is good for less beside another: that costs a fee more.
fn covers_cheaper(first: &OnDay, second: &OnDay, supplier: &Supplier) -> bool {
    supplier.fee > 0 && second.1.wants.len() < first.1.wants.len()
}

/// The plan of least cost with each delivery on the latest day on which it is as good.
pub(super) fn moved_later(problem: &Problem, found: Plan) -> Plan {
    let mut moved = found.clone();
    for at in 0..moved.deliveries.len() {
        let (supplier, from) = (moved.deliveries[at].supplier, moved.deliveries[at].date);
        if problem.suppliers[supplier].committed.iter().any(|committed| committed.date == from) {
            continue;
        }
        let taken: Vec<Day> =
            moved.deliveries.iter().filter(|d| d.supplier == supplier).map(|d| d.date).collect();
        let mut later: Vec<Day> =
            problem.suppliers[supplier].dates.iter().copied().filter(|day| *day > from).collect();
        later.sort_unstable_by(|a, b| b.cmp(a));
        let fits = |day: &Day| !taken.contains(day) && as_good(problem, &moved, supplier, from, *day);
        let Some(day) = later.into_iter().find(fits) else { continue };
        let id = &problem.suppliers[supplier].id;
        moved.deliveries[at].date = day;
        for line in &mut moved.packs {
            if line.date == from && problem.offers[line.offer].supplier == *id {
                line.date = day;
            }
        }
        for share in &mut moved.allocation {
            if share.source == Source::Delivery(supplier, from) {
                share.source = Source::Delivery(supplier, day);
            }
        }
    }
    moved.packs.sort_by_key(|line| (line.offer, line.date));
    moved.deliveries.sort_by_key(|delivery| (delivery.date, delivery.supplier));
    if check(problem, &moved).is_ok() { moved } else { found }
}

/// Whether a delivery could come on another day with the same packs for the same requirements.
fn as_good(problem: &Problem, plan: &Plan, supplier: usize, from: Day, day: Day) -> bool {
    let id = &problem.suppliers[supplier].id;
    let mut lines = plan
        .packs
        .iter()
        .filter(|line| line.date == from)
        .map(|line| &problem.offers[line.offer])
        .filter(|offer| offer.supplier == *id);
    let mut shares = plan.allocation.iter().filter(|share| share.source == Source::Delivery(supplier, from));
    lines.all(|offer| offer.dates.as_ref().is_none_or(|dates| dates.contains(&day)))
        && shares.all(|share| {
            let wanted = &problem.requirements[share.requirement];
            wanted.earliest <= day && day <= wanted.latest
        })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::{Requirement, cheapest, plan};
    use super::*;

    fn supplier(id: &str, fee: i64, dates: &[Day]) -> Supplier {
        Supplier {
            id: id.into(),
            fee,
            min_order: 0,
            free_over: None,
            dates: dates.to_vec(),
            committed: Vec::new(),
        }
    }

    fn offer(supplier: &str, material: &str, size: i64, price: i64) -> Offer {
        Offer {
            supplier: supplier.into(),
            material: material.into(),
            size,
            price,
            min_packs: None,
            max_packs: None,
            dates: None,
        }
    }

    fn wanted(material: &str, stems: i64, earliest: Day, latest: Day) -> Requirement {
        Requirement { event: "e".into(), accepts: vec![material.into()], stems, earliest, latest }
    }

    #[test]
    fn a_day_that_is_good_for_less_is_left_out_and_the_plan_moves_as_late_as_it_may() {
        let problem = Problem {
            suppliers: vec![supplier("s", 500, &[1, 2, 3, 4])],
            offers: vec![offer("s", "rose", 10, 650)],
            requirements: vec![wanted("rose", 10, 1, 4), wanted("rose", 10, 2, 3)],
            stock: Vec::new(),
        };
        assert_eq!(fewest(&problem).suppliers[0].dates, [3]);
        assert_eq!(of_use(&problem).suppliers[0].dates, [3, 4]);
        let one = Problem { requirements: vec![wanted("rose", 10, 1, 4)], ..problem };
        let plan = plan(&one, &mut || true);
        assert_eq!((plan.cost, plan.deliveries[0].date), (1_150, 4));
    }

    #[test]
    fn without_a_fee_a_later_day_is_kept_for_fresher_stems() {
        let problem = Problem {
            suppliers: vec![supplier("s", 0, &[2, 4])],
            offers: vec![offer("s", "rose", 10, 650)],
            requirements: vec![wanted("rose", 10, 1, 4), wanted("rose", 10, 1, 2)],
            stock: Vec::new(),
        };
        assert_eq!(fewest(&problem).suppliers[0].dates, [2, 4]);
    }

    #[test]
    fn days_are_kept_that_have_their_own_most_packs() {
        let limited =
            |day: Day| Offer { max_packs: Some(1), dates: Some(vec![day]), ..offer("s", "rose", 10, 650) };
        let problem = Problem {
            suppliers: vec![supplier("s", 500, &[2, 3])],
            offers: vec![limited(2), limited(3)],
            requirements: vec![wanted("rose", 10, 1, 4)],
            stock: Vec::new(),
        };
        assert_eq!(fewest(&problem).suppliers[0].dates, [2, 3]);
        let shared = Problem { offers: vec![Offer { dates: None, ..limited(2) }], ..problem };
        assert_eq!(fewest(&shared).suppliers[0].dates, [3]);
    }

    /// A cheaper pack on the later day would come below the least order.
    #[test]
    fn a_day_with_a_dearer_pack_is_kept_where_a_least_order_counts() {
        let on = |day: Day, price: i64| Offer { dates: Some(vec![day]), ..offer("s", "rose", 10, price) };
        let problem = Problem {
            suppliers: vec![Supplier { min_order: 1_000, ..supplier("s", 0, &[2, 3]) }],
            offers: vec![on(2, 1_000), on(3, 900)],
            requirements: vec![wanted("rose", 10, 1, 4)],
            stock: Vec::new(),
        };
        let plan = plan(&problem, &mut || true);
        assert_eq!((plan.cost, plan.proven, plan.deliveries[0].date), (1_000, true, 2));
    }

    proptest! {
        /// Fewer days never cost more than all of them.
        #[test]
        fn the_cost_is_that_of_all_days(
            fees in prop::collection::vec(prop::sample::select(vec![0_i64, 700, 1500]), 2),
            dates in prop::collection::vec(prop::collection::btree_set(0_i32..6, 1..5), 2),
            offers in prop::collection::vec(
                (0_usize..2, 0_usize..3, 1_i64..20, 100_i64..2_000, prop::option::weighted(0.3, 1_i64..4)), 2..7,
            ),
            wants in prop::collection::vec((0_usize..3, 1_i64..40, 0_i32..6, 0_i32..4), 1..6),
            least in prop::sample::select(vec![0_i64, 2_000]),
        ) {
            let names = ["rose", "stock", "lily"];
            let suppliers: Vec<Supplier> = ["a", "b"].iter().zip(fees).zip(&dates).map(|((id, fee), dates)| {
                let dates: Vec<Day> = dates.iter().copied().collect();
                Supplier { min_order: least, ..supplier(id, fee, &dates) }
            }).collect();
            let problem = Problem {
                offers: offers.iter().map(|(s, m, size, price, most)| {
                    Offer { max_packs: *most, ..offer(["a", "b"][*s], names[*m], *size, *price) }
                }).collect(),
                requirements: wants.iter().map(|(m, stems, first, days)| wanted(names[*m], *stems, *first, first + days)).collect(),
                suppliers,
                stock: Vec::new(),
            };
            let order: Vec<usize> = (0..problem.requirements.len()).collect();
            let all = cheapest(&problem, &order, &mut || true);
            let fewer = plan(&problem, &mut || true);
            prop_assert_eq!((fewer.cost, fewer.proven, fewer.unmet.len()), (all.cost, all.proven, all.unmet.len()));
            prop_assert!(check(&problem, &fewer).is_ok());
        }
    }
}
