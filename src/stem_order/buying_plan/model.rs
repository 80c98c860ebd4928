//! The problem in numbers: deliveries that can help, and materials grouped by what ties them together.
//! Imports the plain values of the buying plan only.

use std::collections::{BTreeMap, HashMap};

use super::component::{Choice, Component};
use super::{Day, Offer, Problem};

/// Deliveries are kept in a set of bits.
pub(super) type Set = u128;
const MOST_DELIVERIES: usize = 128;

/// A supplier on a date, with its terms.
#[derive(Clone, Copy, Debug)]
pub(super) struct Delivery {
    pub(super) supplier: usize,
    pub(super) date: Day,
    pub(super) fee: i64,
    pub(super) least: i64,
    pub(super) free_over: Option<i64>,
}

#[derive(Debug)]
pub(super) struct Model {
    pub(super) deliveries: Vec<Delivery>,
    pub(super) components: Vec<Component>,
    /// Deliveries were left out because there are more than the set of bits holds: the bound does not count.
    pub(super) truncated: bool,
}

/// One offer on one delivery.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chance {
    pub(super) offer: usize,
    pub(super) supplier: usize,
    pub(super) date: Day,
}

/// Every offer that can be had, on every date on which it can. Offers that make no sense are left aside.
pub(super) fn chances(problem: &Problem) -> Vec<Chance> {
    let mut index = HashMap::new();
    for (at, supplier) in problem.suppliers.iter().enumerate() {
        index.entry(supplier.id.as_str()).or_insert(at);
    }
    let mut all = Vec::new();
    for (offer, terms) in problem.offers.iter().enumerate() {
        let Some(&supplier) = index.get(terms.supplier.as_str()) else { continue };
        if !sensible(terms) {
            continue;
        }
        let mut dates = problem.suppliers[supplier].dates.clone();
        dates.retain(|date| terms.dates.as_ref().is_none_or(|only| only.contains(date)));
        dates.sort_unstable();
        dates.dedup();
        all.extend(dates.into_iter().map(|date| Chance { offer, supplier, date }));
    }
    all
}

fn sensible(offer: &Offer) -> bool {
    let most = offer.max_packs.unwrap_or(i64::MAX);
    offer.size > 0 && offer.price >= 0 && most > 0 && offer.min_packs.unwrap_or(1) <= most
}

impl Model {
    /// `active` are the requirements to be met; `usable` says which deliveries may be used at all.
    pub(super) fn new(problem: &Problem, active: &[usize], usable: &dyn Fn(usize, Day) -> bool) -> Self {
        let mut chances = chances(problem);
        chances.retain(|c| usable(c.supplier, c.date));
        let groups = groups(problem, active);
        let mut counts: BTreeMap<(usize, Day), usize> = BTreeMap::new();
        for chance in &chances {
            let material = &problem.offers[chance.offer].material;
            if active.iter().any(|&r| serves(problem, r, material, chance.date)) {
                *counts.entry((chance.supplier, chance.date)).or_default() += 1;
            }
        }
        let mut keys: Vec<_> = counts.into_iter().collect();
        keys.sort_by_key(|&(key, count)| (std::cmp::Reverse(count), key));
        let truncated = keys.len() > MOST_DELIVERIES;
        keys.truncate(MOST_DELIVERIES);
        keys.sort_unstable();
        let at: BTreeMap<_, _> = keys.iter().enumerate().map(|(at, &(key, _))| (key, at)).collect();
        chances.retain(|c| at.contains_key(&(c.supplier, c.date)));
        let components = components(problem, active, &groups, &chances, &at);
        let deliveries =
            keys.iter().map(|&((supplier, date), _)| delivery(problem, supplier, date)).collect();
        Self { deliveries, components, truncated }
    }

    pub(super) fn all(&self) -> Set {
        (0..self.deliveries.len()).fold(0, |set, d| set | bit(d))
    }
}

pub(super) fn bit(delivery: usize) -> Set {
    1 << delivery
}

pub(super) fn members(set: Set) -> impl Iterator<Item = usize> {
    (0..MOST_DELIVERIES).filter(move |&d| set & bit(d) != 0)
}

/// Whether stems of `material` on `date` may serve requirement `r`.
pub(super) fn serves(problem: &Problem, r: usize, material: &str, date: Day) -> bool {
    let requirement = &problem.requirements[r];
    requirement.earliest <= date
        && date <= requirement.latest
        && requirement.accepts.iter().any(|m| m == material)
}

/// Whether stock lot `lot` may serve requirement `r`.
pub(super) fn stock_serves(problem: &Problem, r: usize, lot: usize) -> bool {
    let (requirement, stock) = (&problem.requirements[r], &problem.stock[lot]);
    stock.stems > 0
        && stock.from <= requirement.latest
        && requirement.earliest <= stock.until
        && requirement.accepts.contains(&stock.material)
}

fn delivery(problem: &Problem, supplier: usize, date: Day) -> Delivery {
    let terms = &problem.suppliers[supplier];
    let fee = terms.fee.max(0);
    let free_over = terms.free_over.filter(|_| fee > 0);
    Delivery { supplier, date, fee, least: terms.min_order.max(0), free_over }
}

/// Group number of every material: materials accepted by one requirement are in one group.
fn groups<'a>(problem: &'a Problem, active: &[usize]) -> BTreeMap<&'a str, usize> {
    let mut group: BTreeMap<&str, usize> = BTreeMap::new();
    let materials = problem.offers.iter().map(|o| o.material.as_str());
    let accepted = active.iter().flat_map(|&r| problem.requirements[r].accepts.iter().map(String::as_str));
    for material in materials.chain(accepted) {
        let next = group.len();
        group.entry(material).or_insert(next);
    }
    for &r in active {
        let accepts = &problem.requirements[r].accepts;
        let Some(first) = accepts.first().map(|m| group[m.as_str()]) else { continue };
        let tied: Vec<usize> = accepts.iter().map(|m| group[m.as_str()]).collect();
        for number in group.values_mut() {
            if tied.contains(number) {
                *number = first;
            }
        }
    }
    group
}

fn components(
    problem: &Problem,
    active: &[usize],
    groups: &BTreeMap<&str, usize>,
    chances: &[Chance],
    at: &BTreeMap<(usize, Day), usize>,
) -> Vec<Component> {
    let mut parts: BTreeMap<usize, (Vec<usize>, Vec<Choice>)> = BTreeMap::new();
    for &r in active {
        if let Some(group) = problem.requirements[r].accepts.first().map(|m| groups[m.as_str()]) {
            parts.entry(group).or_default().0.push(r);
        }
    }
    for chance in chances {
        let offer = &problem.offers[chance.offer];
        let choice = Choice {
            offer: chance.offer,
            delivery: at[&(chance.supplier, chance.date)],
            date: chance.date,
            cell: 0,
            size: offer.size,
            price: offer.price,
            least: offer.min_packs.unwrap_or(1).max(1),
            most: offer.max_packs.unwrap_or(i64::MAX),
        };
        parts.entry(groups[offer.material.as_str()]).or_default().1.push(choice);
    }
    parts.into_values().map(|(needs, choices)| Component::new(problem, &needs, choices)).collect()
}
