//! Which requirements can be met at all, and for those that cannot, why. Imports the model, the transport of
//! stems and, for whole packs and least orders, the search.

use std::collections::BTreeMap;

use super::model::{Chance, Model, chances, serves, stock_serves};
use super::search::can_be_planned;
use super::transport::Transport;
use super::{Day, Problem, Reason, Unmet};

/// More stems than anybody needs.
const PLENTY: i64 = i64::MAX / 1024;

/// What is left to plan.
pub(super) struct Screened {
    /// Requirements to be met, by index.
    pub(super) active: Vec<usize>,
    pub(super) unmet: Vec<Unmet>,
    pub(super) model: Model,
    banned: Banned,
}

/// Deliveries that cannot come to their least order, with the most that can be spent on them.
type Banned = BTreeMap<(usize, Day), i64>;

/// Leaves out what no offer, no date, no cap and no single least order allows.
pub(super) fn screen(problem: &Problem) -> Screened {
    let all = chances(problem);
    let banned = banned(problem, &all);
    let usable: Vec<Chance> =
        all.iter().filter(|c| !banned.contains_key(&(c.supplier, c.date))).copied().collect();
    let wanted = (0..problem.requirements.len()).filter(|&r| problem.requirements[r].stems > 0);
    let mut active: Vec<usize> = wanted.collect();
    let mut unmet = Vec::new();
    if transport(problem, &active, &usable).assign().is_err() {
        for r in std::mem::take(&mut active) {
            active.push(r);
            if transport(problem, &active, &usable).assign().is_err() {
                let reason = reason(problem, &active, &all, &usable, &banned);
                active.pop();
                unmet.push(left_out(problem, r, reason));
            }
        }
    }
    let model = Model::new(problem, &active, &|s, d| !banned.contains_key(&(s, d)));
    Screened { active, unmet, model, banned }
}

/// After a search that found nothing: leaves out the first requirement with which those before it cannot be
/// planned. False if none is left to leave out.
pub(super) fn leave_one_out(
    problem: &Problem,
    screened: &mut Screened,
    may_go_on: &mut dyn FnMut() -> bool,
) -> bool {
    let banned = screened.banned.clone();
    let model = |problem: &Problem, active: &[usize]| {
        Model::new(problem, active, &|s, d| !banned.contains_key(&(s, d)))
    };
    let (mut fine, mut failing) = (0, screened.active.len());
    if failing == 0 {
        return false;
    }
    while failing - fine > 1 {
        let middle = fine.midpoint(failing);
        let fits = can_be_planned(&model(problem, &screened.active[..middle]), may_go_on);
        *if fits { &mut fine } else { &mut failing } = middle;
    }
    let r = screened.active.remove(fine);
    let mut less = problem.clone();
    let (mut fits, mut fails) = (0, problem.requirements[r].stems);
    let mut with: Vec<usize> = screened.active[..fine].to_vec();
    with.push(r);
    while fails - fits > 1 {
        less.requirements[r].stems = fits.midpoint(fails);
        let planned = can_be_planned(&model(&less, &with), may_go_on);
        *if planned { &mut fits } else { &mut fails } = less.requirements[r].stems;
    }
    let reason = whole_reason(problem, screened, r, fits);
    screened.unmet.push(left_out(problem, r, reason));
    screened.unmet.sort_by_key(|u| u.requirement);
    screened.model = model(problem, &screened.active);
    true
}

/// Everything that is still active is given up, the time being over.
pub(super) fn give_up(problem: &Problem, mut screened: Screened) -> Vec<Unmet> {
    let open = std::mem::take(&mut screened.active);
    screened.unmet.extend(open.into_iter().map(|r| left_out(problem, r, Reason::NotDecidedInTime)));
    screened.unmet.sort_by_key(|u| u.requirement);
    screened.unmet
}

/// If a part could be had, the caps are at fault; if nothing, a least order that its supplier's caps hold down.
fn whole_reason(problem: &Problem, screened: &Screened, r: usize, available: i64) -> Reason {
    let all = chances(problem);
    let serving = all.iter().filter(|c| serves(problem, r, &problem.offers[c.offer].material, c.date));
    let mut tight = serving.filter_map(|c| {
        let least = problem.suppliers[c.supplier].min_order;
        let reachable = reachable(problem, &all, c.supplier, c.date);
        (least > 0 && reachable < PLENTY && !screened.banned.contains_key(&(c.supplier, c.date)))
            .then_some(Reason::LeastOrderNotReached { supplier: c.supplier, date: c.date, least, reachable })
    });
    match tight.next() {
        Some(reason) if available == 0 => reason,
        _ => Reason::MostPacksTooFew { available },
    }
}

fn left_out(problem: &Problem, r: usize, reason: Reason) -> Unmet {
    let lots = (0..problem.stock.len()).filter(|&lot| stock_serves(problem, r, lot));
    let stock: i64 = lots.map(|lot| problem.stock[lot].stems).sum();
    let stems = problem.requirements[r].stems;
    Unmet { requirement: r, stems, stock: stock.min(stems), reason }
}

/// Why the last of these requirements cannot be met beside the others.
fn reason(problem: &Problem, active: &[usize], all: &[Chance], usable: &[Chance], banned: &Banned) -> Reason {
    let Some(&r) = active.last() else { return Reason::NoOffer };
    let wanted = &problem.requirements[r];
    let offered: Vec<&Chance> =
        all.iter().filter(|c| wanted.accepts.contains(&problem.offers[c.offer].material)).collect();
    let misses = |c: &&Chance| (wanted.earliest - c.date).max(c.date - wanted.latest).max(0);
    let Some(nearest) = offered.iter().min_by_key(|c| (misses(c), c.date)) else { return Reason::NoOffer };
    if misses(nearest) > 0 {
        return Reason::NoneDeliveredInWindow { nearest: nearest.date };
    }
    let barred = offered.iter().find(|c| misses(c) == 0 && banned.contains_key(&(c.supplier, c.date)));
    if let Some(c) = barred.filter(|_| transport(problem, active, all).assign().is_ok()) {
        let reachable = banned[&(c.supplier, c.date)];
        let least = problem.suppliers[c.supplier].min_order;
        return Reason::LeastOrderNotReached { supplier: c.supplier, date: c.date, least, reachable };
    }
    Reason::MostPacksTooFew { available: transport(problem, active, usable).left_for_last() }
}

fn banned(problem: &Problem, all: &[Chance]) -> Banned {
    let mut banned = Banned::new();
    for (supplier, terms) in problem.suppliers.iter().enumerate() {
        for &date in &terms.dates {
            let reachable = reachable(problem, all, supplier, date);
            if reachable < terms.min_order {
                banned.insert((supplier, date), reachable);
            }
        }
    }
    banned
}

/// The most that can be spent on a delivery.
fn reachable(problem: &Problem, all: &[Chance], supplier: usize, date: Day) -> i64 {
    let here = all.iter().filter(|c| (c.supplier, c.date) == (supplier, date));
    let most = here.map(|c| {
        let offer = &problem.offers[c.offer];
        match offer.max_packs {
            Some(most) => most.saturating_mul(offer.price),
            None if offer.price > 0 => PLENTY,
            None => 0,
        }
    });
    most.fold(0_i64, i64::saturating_add).min(PLENTY)
}

/// Requirements served from stock and from the most packs of each offer, as if packs could be divided.
fn transport(problem: &Problem, active: &[usize], chances: &[Chance]) -> Transport {
    let lots = problem.stock.len();
    let most = problem.offers.iter().map(|o| o.max_packs.map_or(PLENTY, |most| most.saturating_mul(o.size)));
    let supply = problem.stock.iter().map(|s| s.stems).chain(most.map(|stems| stems.min(PLENTY))).collect();
    let links = active.iter().map(|&r| {
        let mut links: Vec<usize> = (0..lots).filter(|&lot| stock_serves(problem, r, lot)).collect();
        let offers = chances.iter().filter(|c| serves(problem, r, &problem.offers[c.offer].material, c.date));
        links.extend(offers.map(|c| lots + c.offer));
        links.dedup();
        links
    });
    Transport {
        demand: active.iter().map(|&r| problem.requirements[r].stems).collect(),
        supply,
        links: links.collect(),
    }
}
