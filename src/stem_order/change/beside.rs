//! The present need put beside what was ordered: placed stems are lots that lie ready from their delivery day for every
//! want whose window holds that day; their deliveries are paid, count towards least orders, and may be added to while orders
//! are open; packs that were ordered use up an offer's most packs and have reached its least.
//!
//! May import `ground`, types of earlier rooms, and the stage's own need and plan.

use std::collections::BTreeMap;

use super::coming::Coming;
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, OfferId, SupplierId};
use crate::ground::money::Money;
use crate::stem_order::buying_plan::{Committed, Plan, Problem, Stock};
use crate::stem_order::calendar::{Deliveries, first_day};
use crate::stem_order::choices::space::Space;
use crate::stem_order::placing::PlacedDelivery;
use crate::stem_order::posed::{PlacedLot, Posed, Want, day, number};
use crate::stem_order::windows::arrival;

/// Poses the need beside placed stems and deliveries that come anyway.
#[must_use]
pub fn beside(
    space: &Space<'_>,
    mut posed: Posed,
    lines: &[&Coming],
    deliveries: &[PlacedDelivery],
) -> Posed {
    lay_ready(space, &mut posed, lines);
    commit(space, &mut posed.problem, deliveries);
    use_up(&mut posed, deliveries);
    posed
}

/// Fees that are paid in any case: those of committed deliveries, as their goods alone stand.
#[must_use]
pub fn fees_anyway(problem: &Problem) -> Money {
    let fees = problem.suppliers.iter().flat_map(|supplier| {
        let paid = |committed: &&Committed| supplier.free_over.is_none_or(|over| committed.goods < over);
        supplier.committed.iter().filter(paid).map(|_| supplier.fee)
    });
    Money::from_minor(fees.sum())
}

/// What a plan costs above what is paid in any case; below nothing where it brings a waived fee.
#[must_use]
pub fn top_up_cost(problem: &Problem, plan: &Plan) -> Money {
    Money::from_minor(plan.cost) - fees_anyway(problem)
}

/// Stems of one material that arrive on one day, in words of their orders.
fn lots(lines: &[&Coming]) -> BTreeMap<(MaterialId, Day), (i64, Vec<String>)> {
    let mut lots: BTreeMap<(MaterialId, Day), (i64, Vec<String>)> = BTreeMap::new();
    for line in lines.iter().filter(|line| line.stems > 0) {
        let lot = lots.entry((line.material, line.day)).or_default();
        lot.0 += line.stems;
        let from = format!("{} (N°\u{a0}{})", line.supplier_name, line.number);
        if !lot.1.contains(&from) {
            lot.1.push(from);
        }
    }
    lots
}

fn lay_ready(space: &Space<'_>, posed: &mut Posed, lines: &[&Coming]) {
    posed.placed_from = posed.problem.stock.len();
    for ((material, on), (stems, from)) in lots(lines) {
        let name = format!("{material} ordered for {on}");
        let takers: Vec<usize> =
            (0..posed.wants.len()).filter(|at| serves(space, &posed.wants[*at], material, on)).collect();
        if takers.is_empty() {
            continue;
        }
        for at in takers {
            posed.problem.requirements[at].accepts.push(name.clone());
        }
        posed.materials.insert(name.clone(), material);
        posed.problem.stock.push(Stock {
            material: name,
            stems,
            from: crate::stem_order::buying_plan::Day::MIN,
            until: crate::stem_order::buying_plan::Day::MAX,
        });
        posed.placed.push(PlacedLot { material, day: on, stems, from: from.join(", ") });
    }
}

/// Whether stems that arrive on a day are in time for a want and not too early: by the flowers' own figures, or because the
/// buyer chose that day.
#[must_use]
pub fn serves(space: &Space<'_>, want: &Want, material: MaterialId, on: Day) -> bool {
    let Some((_, window)) = want.accepts.iter().find(|(accepted, _)| *accepted == material) else {
        return false;
    };
    if let Deliveries::On(chosen) = space.asked
        && chosen == on
    {
        return true;
    }
    let part = &space.weekend.needs[want.need].parts[want.part];
    let event_day = space.weekend.events[part.event].event.day;
    let make_day = part.window.as_ref().map_or(window.make_day, |window| window.make_day);
    let window = space.weekend.material(material).map(|material| arrival(material, event_day, make_day));
    matches!(window, Some(Ok(window)) if first_day(&window) <= on && on <= window.latest)
}

fn commit(space: &Space<'_>, problem: &mut Problem, deliveries: &[PlacedDelivery]) {
    let mut goods: BTreeMap<(SupplierId, Day), Money> = BTreeMap::new();
    for delivery in deliveries.iter().filter(|delivery| comes(delivery)) {
        *goods.entry((delivery.supplier_id, delivery.day)).or_default() += delivery.expected_goods();
    }
    for (supplier, terms) in space.market.suppliers.iter().zip(&mut problem.suppliers) {
        let own = goods.iter().filter(|((id, _), _)| *id == supplier.id);
        terms.committed =
            own.map(|((_, on), goods)| Committed { date: number(*on), goods: goods.minor() }).collect();
    }
}

fn comes(delivery: &PlacedDelivery) -> bool {
    delivery.lines.iter().any(|line| line.expected_packs() > 0)
}

/// Packs of each offer that come on a day.
fn packs(deliveries: &[PlacedDelivery]) -> BTreeMap<(OfferId, Day), i64> {
    let mut packs = BTreeMap::new();
    for delivery in deliveries {
        for line in delivery.lines.iter().filter(|line| line.expected_packs() > 0) {
            *packs.entry((line.offer_id, delivery.day)).or_default() += line.expected_packs();
        }
    }
    packs
}

/// An offer with packs on a delivery already has reached its least packs there, and has so many fewer left of its most.
fn use_up(posed: &mut Posed, deliveries: &[PlacedDelivery]) {
    let packs = packs(deliveries);
    for at in 0..posed.problem.offers.len() {
        let (id, offer) = (posed.offers[at].id, &posed.problem.offers[at]);
        if offer.max_packs.is_none() && offer.min_packs.unwrap_or(1) <= 1 {
            continue;
        }
        let dates = offer.dates.clone().unwrap_or_default();
        let (with, without): (Vec<_>, Vec<_>) =
            dates.into_iter().partition(|date| packs.contains_key(&(id, day(*date))));
        for date in with {
            let mut beside = posed.problem.offers[at].clone();
            beside.dates = Some(vec![date]);
            beside.min_packs = Some(1);
            let placed = packs.get(&(id, day(date))).copied().unwrap_or(0);
            beside.max_packs = beside.max_packs.map(|most| (most - placed).max(0));
            let sold = posed.offers[at].clone();
            posed.problem.offers.push(beside);
            posed.offers.push(sold);
        }
        posed.problem.offers[at].dates = Some(without);
    }
}
