//! Which of two plans that cost the same is taken: fewer leftover stems, then later arrival, then fewer suppliers.
//! Imports the search.

use std::collections::BTreeSet;

use super::search::{Found, Search};
use super::set::Set;

impl Search<'_> {
    /// Keeps the cheaper plan; of two that cost the same the one that ranks first.
    pub(super) fn keep(&mut self, found: Found) {
        let better = self.best.as_ref().is_none_or(|best| {
            found.cost < best.cost || (found.cost == best.cost && self.rank(&found) < self.rank(best))
        });
        if better {
            self.best = Some(found);
        }
    }

    /// Stems bought, how early they come, and suppliers: of less, each time, is better.
    fn rank(&self, found: &Found) -> (i64, i64, usize) {
        let (mut stems, mut early, mut suppliers) = (0, 0, BTreeSet::new());
        for &(part, choice, packs) in &found.packs {
            let choice = &self.parts[part].component.choices[choice];
            stems += packs * choice.size;
            early -= packs * choice.size * i64::from(choice.date);
            suppliers.insert(self.deliveries[choice.delivery].supplier);
        }
        (stems, early, suppliers.len())
    }

    /// Looks among plans of the same cost for one that ranks before: without one delivery or one supplier, or with those
    /// that are used only.
    pub(super) fn break_ties(&mut self) -> Option<()> {
        let best = self.best.clone()?;
        let of = |search: &Self, &(part, choice, _): &(usize, usize, i64)| {
            search.parts[part].component.choices[choice].delivery
        };
        let used = best.packs.iter().fold(Set::none(), |used, line| used.with(of(self, line)));
        let all = Set::first(self.deliveries.len());
        self.worth(used)?;
        for d in used.members() {
            self.worth(all.without(d))?;
            let supplier = self.deliveries[d].supplier;
            let own = (0..self.deliveries.len()).filter(|&other| self.deliveries[other].supplier == supplier);
            let own = own.fold(Set::none(), Set::with);
            self.worth(all.less(own))?;
            self.worth(used.less(own))?;
        }
        Some(())
    }
}
