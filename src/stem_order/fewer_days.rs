//! Makes the buying plan's work smaller without changing what it finds: delivery days that can only cost more are
//! left out, and what was planned is moved to the latest day on which it is as good.
//!
//! **Left out.** A day of a supplier is of no use beside another of the same supplier on which everything that is
//! wanted on the first can be had too, for the same stems and at no higher price: whatever is bought on the first can
//! be moved to the second, which pays no more fees and comes no further below a least order. A later day is only left
//! out so where the supplier charges a fee, since without one it costs nothing to use both.
//!
//! A day on which goods ordered earlier come anyway is never left out, nor is its delivery moved.
//!
//! **Moved.** A whole delivery moves to the latest of the supplier's days on which all its packs are offered and all
//! its stems still serve what they serve (ties go to later, fresher arrival).
//!
//! May import the room's own buying plan.

use std::collections::BTreeSet;

use super::buying_plan::check::check;
use super::buying_plan::{Day, Offer, Plan, Problem, Source, Supplier, plan};

/// The least-cost plan of a problem, found on fewer days.
///
/// The answer holds for the whole problem: cost, bound and proof are those of all its days.
#[must_use]
pub fn plan_on_fewer_days(problem: &Problem, may_go_on: &mut dyn FnMut() -> bool) -> Plan {
    let fewer = fewer_days(problem);
    let found = plan(&fewer, may_go_on);
    let moved = moved_later(problem, &found);
    if check(problem, &moved).is_ok() { moved } else { found }
}

/// The problem without the days that can only cost more.
fn fewer_days(problem: &Problem) -> Problem {
    let mut fewer = problem.clone();
    for supplier in &mut fewer.suppliers {
        let offers: Vec<&Offer> =
            problem.offers.iter().filter(|offer| offer.supplier == supplier.id).collect();
        let mut days: Vec<(Day, Served<'_>)> =
            supplier.dates.iter().map(|day| (*day, served(problem, supplier, &offers, *day))).collect();
        days.sort_by_key(|(day, _)| *day);
        let mut at = 0;
        while at < days.len() {
            // A delivery that comes anyway costs no further fee.
            let coming = supplier.committed.iter().any(|committed| committed.date == days[at].0);
            let useless = !coming
                && (0..days.len()).any(|other| other != at && covers(&days[other], &days[at], supplier.fee));
            if useless {
                days.remove(at);
            } else {
                at += 1;
            }
        }
        supplier.dates = days.into_iter().map(|(day, _)| day).collect();
    }
    fewer
}

/// What a day is good for: offers of materials that some requirement would take on it, and what fills it up.
struct Served<'a> {
    /// Requirement and material.
    wants: BTreeSet<(usize, &'a str)>,
    offers: Vec<&'a Offer>,
}

fn served<'a>(problem: &'a Problem, supplier: &Supplier, offers: &[&'a Offer], day: Day) -> Served<'a> {
    // What nobody wants may still fill up a delivery.
    let fills = supplier.min_order > 0 || supplier.free_over.is_some();
    let here = offers.iter().filter(|offer| offer.dates.as_ref().is_none_or(|dates| dates.contains(&day)));
    let mut served = Served { wants: BTreeSet::new(), offers: Vec::new() };
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

/// Whether everything on the second day can be had on the first one at no higher price and for the same
/// requirements: the same offer, whose most packs the days share, or one without most packs. Of two days that are good
/// for the same, the later one covers the earlier.
fn covers(first: &(Day, Served<'_>), second: &(Day, Served<'_>), fee: i64) -> bool {
    let ((day, on), (other_day, other)) = (first, second);
    let as_cheap = |wanted: &Offer| {
        on.offers.iter().any(|offer| {
            let same = std::ptr::eq(*offer, wanted);
            same || offer.max_packs.is_none()
                && offer.material == wanted.material
                && offer.size == wanted.size
                && offer.price <= wanted.price
                && offer.min_packs <= wanted.min_packs
        })
    };
    let earlier = day < other_day;
    other.wants.is_subset(&on.wants)
        && other.offers.iter().all(|wanted| as_cheap(wanted))
        && (!earlier || (fee > 0 && other.wants.len() < on.wants.len()))
}

fn moved_later(problem: &Problem, found: &Plan) -> Plan {
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
    moved
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

    use super::*;
    use crate::stem_order::buying_plan::Requirement;

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
        assert_eq!(fewer_days(&problem).suppliers[0].dates, [3]);
        let one = Problem { requirements: vec![wanted("rose", 10, 1, 4)], ..problem };
        let plan = plan_on_fewer_days(&one, &mut || true);
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
        assert_eq!(fewer_days(&problem).suppliers[0].dates, [2, 4]);
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
        assert_eq!(fewer_days(&problem).suppliers[0].dates, [2, 3]);
        let shared = Problem { offers: vec![Offer { dates: None, ..limited(2) }], ..problem };
        assert_eq!(fewer_days(&shared).suppliers[0].dates, [3]);
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
            let all = plan(&problem, &mut || true);
            let fewer = plan_on_fewer_days(&problem, &mut || true);
            prop_assert_eq!((fewer.cost, fewer.proven, fewer.unmet.len()), (all.cost, all.proven, all.unmet.len()));
            prop_assert!(check(&problem, &fewer).is_ok());
        }
    }
}
