//! Which requirements can be met at all, and for those that cannot, why. Imports the model, the transport of
//! stems and, for whole packs and least orders, the search.

use std::collections::{BTreeMap, HashMap};

use super::ask::can_be_planned;
use super::model::{Chance, Model, chances, stock_serves};
use super::transport::Transport;
use super::{Day, Problem, Reason, Unmet};

/// More stems than anybody needs.
const PLENTY: i64 = i64::MAX / 1024;

/// What is left to plan.
pub(super) struct Screened<'a> {
    problem: &'a Problem,
    /// All requirements, those first that are to be met before others.
    priority: Vec<usize>,
    /// Requirements to be met, by index, in that order.
    pub(super) active: Vec<usize>,
    pub(super) unmet: Vec<Unmet>,
    /// Those of them that were left out by name.
    refused: Vec<Unmet>,
    all: Vec<Chance>,
    /// The chances of each material.
    by_material: HashMap<&'a str, Vec<usize>>,
    banned: Banned,
}

/// Deliveries that cannot come to their least order, with the most that can be spent on them.
type Banned = BTreeMap<(usize, Day), i64>;

/// Leaves out what no offer, no date, no cap and no single least order allows.
pub(super) fn screen(problem: &Problem) -> Screened<'_> {
    let order = (0..problem.requirements.len()).collect();
    screen_by(problem, order)
}

/// The same when the requirements are to be met in another order, as far as they cannot all be met.
pub(super) fn screen_by(problem: &Problem, priority: Vec<usize>) -> Screened<'_> {
    let all = chances(problem);
    let mut by_material: HashMap<&str, Vec<usize>> = HashMap::new();
    for (at, chance) in all.iter().enumerate() {
        by_material.entry(problem.offers[chance.offer].material.as_str()).or_default().push(at);
    }
    let banned = banned(problem, &all);
    let (active, unmet, refused) = (Vec::new(), Vec::new(), Vec::new());
    let mut screened = Screened { problem, priority, active, unmet, refused, all, by_material, banned };
    screened.leave_out_what_cannot_be();
    screened
}

impl Screened<'_> {
    pub(super) fn blocks(&self) -> Vec<Model> {
        self.blocks_of(self.problem, &self.active)
    }

    pub(super) fn blocks_of(&self, problem: &Problem, active: &[usize]) -> Vec<Model> {
        let mut active = active.to_vec();
        active.sort_unstable();
        Model::blocks(problem, &active, &|s, d| !self.banned.contains_key(&(s, d)))
    }

    fn leave_out_what_cannot_be(&mut self) {
        self.active.clear();
        self.unmet.clone_from(&self.refused);
        let refused = |r: usize| self.refused.iter().any(|unmet| unmet.requirement == r);
        let wanted = self.priority.iter().copied().filter(|&r| self.problem.requirements[r].stems > 0);
        let wanted: Vec<usize> = wanted.filter(|&r| !refused(r)).collect();
        // Only what has no offer without most packs can be in want.
        let limited: Vec<usize> = wanted.iter().copied().filter(|&r| !self.plenty(r)).collect();
        let mut transport = self.transport(&limited, false);
        let mut at = 0;
        for r in wanted {
            if limited.get(at) != Some(&r) {
                self.active.push(r);
                continue;
            }
            let stems = self.problem.requirements[r].stems;
            match transport.serve(at, stems) {
                Ok(()) => self.active.push(r),
                Err(stuck) => {
                    transport.release(at);
                    let reason = self.reason(r, stems - stuck.missing);
                    self.unmet.push(self.left_out(r, reason));
                }
            }
            at += 1;
        }
        self.unmet.sort_by_key(|unmet| unmet.requirement);
    }

    /// Whether some usable offer without most packs serves the requirement.
    fn plenty(&self, r: usize) -> bool {
        self.serving(r).any(|c| self.problem.offers[c.offer].max_packs.is_none() && self.usable(c))
    }

    fn usable(&self, chance: &Chance) -> bool {
        !self.banned.contains_key(&(chance.supplier, chance.date))
    }

    /// Every chance of an accepted material.
    fn offered(&self, r: usize) -> impl Iterator<Item = &Chance> {
        let accepted = self.problem.requirements[r].accepts.iter();
        let known = accepted.filter_map(|material| self.by_material.get(material.as_str()));
        known.flatten().map(|&at| &self.all[at])
    }

    fn serving(&self, r: usize) -> impl Iterator<Item = &Chance> {
        let wanted = &self.problem.requirements[r];
        self.offered(r).filter(|c| wanted.earliest <= c.date && c.date <= wanted.latest)
    }

    /// Requirements served from stock and from the most packs of each offer, as if packs could be divided.
    fn transport(&self, active: &[usize], banned_too: bool) -> Transport {
        let lots = self.problem.stock.len();
        let most = |most: i64, size: i64| most.saturating_mul(size).min(PLENTY);
        let offers =
            self.problem.offers.iter().map(|o| o.max_packs.map_or(PLENTY, |packs| most(packs, o.size)));
        let supply = self.problem.stock.iter().map(|s| s.stems).chain(offers).collect();
        let links = active.iter().map(|&r| {
            let mut links: Vec<usize> = (0..lots).filter(|&lot| stock_serves(self.problem, r, lot)).collect();
            let chances = self.serving(r).filter(|c| banned_too || self.usable(c));
            links.extend(chances.map(|c| lots + c.offer));
            links.sort_unstable();
            links.dedup();
            links
        });
        Transport::new(supply, links.collect())
    }

    /// Why a requirement cannot be met beside those before it, which leave it so many stems.
    fn reason(&self, r: usize, available: i64) -> Reason {
        let wanted = &self.problem.requirements[r];
        let misses = |c: &&Chance| (wanted.earliest - c.date).max(c.date - wanted.latest).max(0);
        let Some(nearest) = self.offered(r).min_by_key(|c| (misses(c), c.date)) else {
            return Reason::NoOffer;
        };
        if misses(&nearest) > 0 {
            return Reason::NoneDeliveredInWindow { nearest: nearest.date };
        }
        let barred = self.serving(r).find(|c| !self.usable(c));
        if let Some(c) = barred.filter(|_| self.would_do_with_banned(r)) {
            let reachable = self.banned[&(c.supplier, c.date)];
            let least = self.problem.suppliers[c.supplier].min_order;
            return Reason::LeastOrderNotReached { supplier: c.supplier, date: c.date, least, reachable };
        }
        Reason::MostPacksTooFew { available }
    }

    fn would_do_with_banned(&self, r: usize) -> bool {
        let with: Vec<usize> = self.active.iter().copied().chain([r]).collect();
        let demands: Vec<i64> = with.iter().map(|&r| self.problem.requirements[r].stems).collect();
        self.transport(&with, true).assign(&demands).is_ok()
    }

    fn left_out(&self, r: usize, reason: Reason) -> Unmet {
        let lots = (0..self.problem.stock.len()).filter(|&lot| stock_serves(self.problem, r, lot));
        let stock: i64 = lots.map(|lot| self.problem.stock[lot].stems).sum();
        let stems = self.problem.requirements[r].stems;
        Unmet { requirement: r, stems, stock: stock.min(stems), reason }
    }

    /// Leaves a requirement out, which may make room for one that was left out beside it.
    pub(super) fn leave_out(&mut self, r: usize, reason: Reason) {
        self.refused.push(self.left_out(r, reason));
        self.leave_out_what_cannot_be();
    }

    /// After a search that found nothing: leaves out the first requirement with which those before it cannot be
    /// planned. False if none is left to leave out, or if it is not known which.
    pub(super) fn leave_one_out(&mut self, may_go_on: &mut dyn FnMut() -> bool) -> bool {
        let (mut fine, mut failing) = (0, self.active.len());
        if failing == 0 {
            return false;
        }
        while failing - fine > 1 {
            let middle = fine.midpoint(failing);
            let blocks = self.blocks_of(self.problem, &self.active[..middle]);
            let Some(fits) = can_be_planned(&blocks, may_go_on) else { return false };
            *if fits { &mut fine } else { &mut failing } = middle;
        }
        let r = self.active[fine];
        let mut less = self.problem.clone();
        let (mut fits, mut fails) = (0, self.problem.requirements[r].stems);
        while fails - fits > 1 {
            less.requirements[r].stems = fits.midpoint(fails);
            let blocks = self.blocks_of(&less, &self.active[..=fine]);
            let Some(planned) = can_be_planned(&blocks, may_go_on) else { return false };
            *if planned { &mut fits } else { &mut fails } = less.requirements[r].stems;
        }
        let reason = self.whole_reason(r, fits);
        self.leave_out(r, reason);
        true
    }

    /// If a part could be had, the caps are at fault; if nothing, a least order that its supplier's caps hold down.
    fn whole_reason(&self, r: usize, available: i64) -> Reason {
        let mut tight = self.serving(r).filter_map(|c| {
            let least = self.problem.suppliers[c.supplier].min_order;
            let reachable = reachable(self.problem, &self.all, c.supplier, c.date);
            (least > 0 && reachable < PLENTY && self.usable(c)).then_some(Reason::LeastOrderNotReached {
                supplier: c.supplier,
                date: c.date,
                least,
                reachable,
            })
        });
        match tight.next() {
            Some(reason) if available == 0 => reason,
            _ => Reason::MostPacksTooFew { available },
        }
    }
}

fn banned(problem: &Problem, all: &[Chance]) -> Banned {
    let mut banned = Banned::new();
    for (supplier, terms) in problem.suppliers.iter().enumerate().filter(|(_, terms)| terms.min_order > 0) {
        for &date in &terms.dates {
            let reachable = reachable(problem, all, supplier, date);
            if reachable < terms.min_order {
                banned.insert((supplier, date), reachable);
            }
        }
    }
    banned
}

/// The most that can be spent on a delivery, with what is on its way already.
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
    let committed = problem.suppliers[supplier].committed_on(date).unwrap_or(0);
    most.fold(committed, i64::saturating_add).min(PLENTY)
}
