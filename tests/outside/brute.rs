//! The first in rank of all plans of a tiny order by trying every number of packs: shares nothing with the calculation.

use std::collections::BTreeSet;

use trug::stem_order::buying_plan::Problem;

/// The problem without some of its requirements.
pub(crate) fn without(problem: &Problem, left_out: &[usize]) -> Problem {
    let mut rest = problem.clone();
    let kept = problem.requirements.iter().enumerate().filter(|(at, _)| !left_out.contains(at));
    rest.requirements = kept.map(|(_, requirement)| requirement.clone()).collect();
    rest
}

/// Cost, stems bought, days of arrival over all stems (negative: later is better), suppliers bought from.
pub(crate) type Rank = (i64, i64, i64, usize);

/// None if no purchase meets every requirement.
pub(crate) fn least_cost(problem: &Problem) -> Option<i64> {
    first_in_rank(problem, i64::MAX).map(|rank| rank.0)
}

/// Of the purchases whose goods come to no more than `most`; none if none of them meets every requirement.
pub(crate) fn first_in_rank(problem: &Problem, most: i64) -> Option<Rank> {
    let mut search = Trial { problem, buys: buys(problem), packs: Vec::new(), most, best: None };
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
    most: i64,
    best: Option<Rank>,
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
            if goods + packs * price > self.best.map_or(self.most, |best| best.0) {
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
        let rank = self.rank(cost);
        if self.best.is_none_or(|best| rank < best) && self.serves_all() {
            self.best = Some(rank);
        }
    }

    fn rank(&self, cost: i64) -> Rank {
        let bought = || self.buys.iter().zip(&self.packs).filter(|(_, packs)| **packs > 0);
        let stems = |(buy, packs): (&Buy, &i64)| packs * self.problem.offers[buy.offer].size;
        let days = bought().map(|(buy, packs)| stems((buy, packs)) * i64::from(buy.date)).sum::<i64>();
        let suppliers: BTreeSet<usize> = bought().map(|(buy, _)| buy.supplier).collect();
        (cost, bought().map(stems).sum(), -days, suppliers.len())
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
