//! The least cost of a tiny buying plan by trying every number of packs: shares nothing with the calculation.

use std::collections::BTreeSet;

use trug::stem_order::buying_plan::Problem;

/// The problem without some of its requirements.
pub(crate) fn without(problem: &Problem, left_out: &[usize]) -> Problem {
    let mut rest = problem.clone();
    let kept = problem.requirements.iter().enumerate().filter(|(at, _)| !left_out.contains(at));
    rest.requirements = kept.map(|(_, requirement)| requirement.clone()).collect();
    rest
}

/// None if no purchase meets every requirement.
pub(crate) fn least_cost(problem: &Problem) -> Option<i64> {
    let mut search = Trial { problem, buys: buys(problem), packs: Vec::new(), best: None };
    search.packs = vec![0; search.buys.len()];
    search.try_from(0, 0);
    search.best
}

/// An offer on a date, with the supplier it comes from.
struct Buy {
    offer: usize,
    supplier: usize,
    date: i32,
}

struct Trial<'a> {
    problem: &'a Problem,
    buys: Vec<Buy>,
    packs: Vec<i64>,
    best: Option<i64>,
}

fn buys(problem: &Problem) -> Vec<Buy> {
    let mut buys = Vec::new();
    for (offer, terms) in problem.offers.iter().enumerate() {
        let Some(supplier) = problem.suppliers.iter().position(|s| s.id == terms.supplier) else { continue };
        for &date in &problem.suppliers[supplier].dates {
            if terms.dates.as_ref().is_none_or(|dates| dates.contains(&date)) {
                buys.push(Buy { offer, supplier, date });
            }
        }
    }
    buys
}

impl Trial<'_> {
    fn try_from(&mut self, at: usize, goods: i64) {
        if at == self.buys.len() {
            return self.judge();
        }
        let offer = &self.problem.offers[self.buys[at].offer];
        let terms = &self.problem.suppliers[self.buys[at].supplier];
        let need: i64 = self.problem.requirements.iter().map(|r| r.stems).sum();
        let worth = terms.min_order.max(terms.free_over.unwrap_or(0));
        let enough = need / offer.size + 1 + worth / offer.price + 1 + offer.min_packs.unwrap_or(1);
        let earlier = (0..at).filter(|&b| self.buys[b].offer == self.buys[at].offer);
        let left =
            offer.max_packs.map_or(i64::MAX, |most| most - earlier.map(|b| self.packs[b]).sum::<i64>());
        let (least, price) = (offer.min_packs.unwrap_or(1), offer.price);
        for packs in std::iter::once(0).chain(least..=enough.min(left)) {
            if self.best.is_some_and(|best| goods + packs * price >= best) {
                break;
            }
            self.packs[at] = packs;
            self.try_from(at + 1, goods + packs * price);
        }
        self.packs[at] = 0;
    }

    fn judge(&mut self) {
        let mut cost = 0;
        for (number, supplier) in self.problem.suppliers.iter().enumerate() {
            let coming = supplier.committed.iter().map(|committed| committed.date);
            let dates: BTreeSet<i32> = supplier.dates.iter().copied().chain(coming).collect();
            for date in dates {
                let here =
                    self.buys.iter().zip(&self.packs).filter(|(b, _)| b.supplier == number && b.date == date);
                let goods: i64 = here.map(|(b, packs)| packs * self.problem.offers[b.offer].price).sum();
                let here: Vec<i64> =
                    supplier.committed.iter().filter(|c| c.date == date).map(|c| c.goods).collect();
                let value = goods + here.iter().sum::<i64>();
                if goods > 0 && value < supplier.min_order {
                    return;
                }
                let waived = supplier.free_over.is_some_and(|over| value >= over);
                cost += goods + if (goods > 0 || !here.is_empty()) && !waived { supplier.fee } else { 0 };
            }
        }
        if self.best.is_none_or(|best| cost < best) && self.serves_all() {
            self.best = Some(cost);
        }
    }

    /// Hall's condition, for every set of requirements.
    fn serves_all(&self) -> bool {
        let wanted = &self.problem.requirements;
        (1_u32..1 << wanted.len()).all(|set| {
            let chosen: Vec<_> =
                (0..wanted.len()).filter(|r| set & (1 << r) != 0).map(|r| &wanted[r]).collect();
            let bought = self.buys.iter().zip(&self.packs).filter(|(buy, _)| {
                let material = &self.problem.offers[buy.offer].material;
                chosen
                    .iter()
                    .any(|r| r.accepts.contains(material) && (r.earliest..=r.latest).contains(&buy.date))
            });
            let bought: i64 = bought.map(|(buy, packs)| packs * self.problem.offers[buy.offer].size).sum();
            let stock = self.problem.stock.iter().filter(|lot| {
                chosen.iter().any(|r| {
                    r.accepts.contains(&lot.material) && lot.from <= r.latest && r.earliest <= lot.until
                })
            });
            bought + stock.map(|lot| lot.stems).sum::<i64>() >= chosen.iter().map(|r| r.stems).sum()
        })
    }
}
