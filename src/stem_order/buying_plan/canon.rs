//! A problem in an order of its own, whatever order it was put in: so that the plan does not depend on how suppliers,
//! offers and requirements happen to be listed. Imports the plain values.

use super::{Plan, Problem, Reason, Source};

/// The problem put in order, with where each thing stood.
pub(super) struct Canon {
    pub(super) problem: Problem,
    /// Requirements as they stood: of those that cannot all be met, the earlier ones are met first.
    pub(super) priority: Vec<usize>,
    suppliers: Vec<usize>,
    offers: Vec<usize>,
    requirements: Vec<usize>,
    stock: Vec<usize>,
}

impl Canon {
    pub(super) fn new(problem: &Problem) -> Self {
        let mut plain = problem.clone();
        for supplier in &mut plain.suppliers {
            supplier.dates.sort_unstable();
            supplier.dates.dedup();
            supplier.committed.sort_unstable();
        }
        for requirement in &mut plain.requirements {
            requirement.accepts.sort_unstable();
            requirement.accepts.dedup();
        }
        let (sorted, suppliers) = sorted(plain.suppliers);
        let (sorted_offers, offers) = self::sorted(plain.offers);
        let (sorted_requirements, requirements) = self::sorted(plain.requirements);
        let (sorted_stock, stock) = self::sorted(plain.stock);
        let problem = Problem {
            suppliers: sorted,
            offers: sorted_offers,
            requirements: sorted_requirements,
            stock: sorted_stock,
        };
        let mut priority: Vec<usize> = (0..requirements.len()).collect();
        priority.sort_by_key(|&at| requirements[at]);
        Self { problem, priority, suppliers, offers, requirements, stock }
    }

    /// The plan in the numbers of the problem as it was put.
    pub(super) fn back(&self, mut plan: Plan) -> Plan {
        for line in &mut plan.packs {
            line.offer = self.offers[line.offer];
        }
        plan.packs.sort_by_key(|line| (line.offer, line.date));
        for delivery in &mut plan.deliveries {
            delivery.supplier = self.suppliers[delivery.supplier];
        }
        plan.deliveries.sort_by_key(|delivery| (delivery.date, delivery.supplier));
        for share in &mut plan.allocation {
            share.requirement = self.requirements[share.requirement];
            share.source = match share.source {
                Source::Stock(lot) => Source::Stock(self.stock[lot]),
                Source::Delivery(supplier, date) => Source::Delivery(self.suppliers[supplier], date),
            };
        }
        plan.allocation.sort_by_key(|share| share.requirement);
        for unmet in &mut plan.unmet {
            unmet.requirement = self.requirements[unmet.requirement];
            if let Reason::LeastOrderNotReached { supplier, .. } = &mut unmet.reason {
                *supplier = self.suppliers[*supplier];
            }
        }
        plan.unmet.sort_by_key(|unmet| unmet.requirement);
        plan
    }
}

/// The things in order, and where each stood.
fn sorted<T: Ord>(things: Vec<T>) -> (Vec<T>, Vec<usize>) {
    let mut places: Vec<(T, usize)> = things.into_iter().zip(0..).collect();
    places.sort();
    places.into_iter().unzip()
}
