//! Which stems of an event cover which of its needs: each need its own material first, then what is over of an allowed
//! substitute; and where nothing is over, by a chain: a need that has another way gives its stems up for one that has
//! none. So as little is missing as can be, and a plan whose substitutes stand in for one another covers all it promised.
//!
//! (Augmenting paths for a maximum flow, Ford and Fulkerson 1956.) May import `ground`.

use std::collections::{BTreeMap, BTreeSet};

use crate::ground::ids::MaterialId;
use crate::ground::largest_remainder::split_by;

/// What one part of an event needs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted<'a> {
    /// Of which material.
    pub(super) material: MaterialId,
    /// How many stems, without spares.
    pub(super) stems: i64,
    /// What may stand in for it.
    pub(super) substitutes: &'a [MaterialId],
}

/// What is missing of each part, in their order. `have` is what the event may count on of a material, `spares` what of it
/// is kept as spare for its own parts.
pub(super) fn missing(
    wanted: &[Wanted<'_>],
    have: &BTreeMap<MaterialId, i64>,
    spares: &BTreeMap<MaterialId, i64>,
) -> Vec<i64> {
    let mut cover = Cover::by_own(wanted, have, spares);
    for part in 0..wanted.len() {
        while cover.missing[part] > 0 && cover.give(part) {}
    }
    cover.missing
}

/// How the stems are given to the parts.
struct Cover<'a> {
    wanted: &'a [Wanted<'a>],
    /// Stems of a material that a part has.
    given: BTreeMap<(usize, MaterialId), i64>,
    /// What nobody has and no spare holds.
    over: BTreeMap<MaterialId, i64>,
    missing: Vec<i64>,
}

/// A part takes stems of a material: from another part, or from what is over.
struct Step {
    part: usize,
    material: MaterialId,
    from: Option<usize>,
}

impl<'a> Cover<'a> {
    /// Every part has its own material, where that is short in proportion to what each needs.
    fn by_own(
        wanted: &'a [Wanted<'a>],
        have: &BTreeMap<MaterialId, i64>,
        spares: &BTreeMap<MaterialId, i64>,
    ) -> Cover<'a> {
        let mut cover =
            Cover { wanted, given: BTreeMap::new(), over: have.clone(), missing: vec![0; wanted.len()] };
        let materials: BTreeSet<MaterialId> = wanted.iter().map(|part| part.material).collect();
        for material in materials {
            let parts: Vec<usize> =
                (0..wanted.len()).filter(|part| wanted[*part].material == material).collect();
            let stems: Vec<u64> =
                parts.iter().map(|part| u64::try_from(wanted[*part].stems).unwrap_or(0)).collect();
            let need: i64 = parts.iter().map(|part| wanted[*part].stems).sum();
            let there = have.get(&material).copied().unwrap_or(0);
            for (part, short) in parts.iter().zip(split_by((need - there).max(0), &stems)) {
                cover.given.insert((*part, material), wanted[*part].stems - short);
                cover.missing[*part] = short;
            }
            let kept = need + spares.get(&material).copied().unwrap_or(0);
            cover.over.insert(material, (there - kept).max(0));
        }
        cover
    }

    /// Gives a part more stems; false where there is no way.
    fn give(&mut self, part: usize) -> bool {
        let Some(steps) = self.way(part, &mut BTreeSet::new()) else { return false };
        let most = |step: &Step| match step.from {
            Some(other) => self.given.get(&(other, step.material)).copied().unwrap_or(0),
            None => self.over.get(&step.material).copied().unwrap_or(0),
        };
        let many = steps.iter().map(most).min().unwrap_or(0).min(self.missing[part]);
        for step in steps {
            let source = match step.from {
                Some(other) => self.given.entry((other, step.material)).or_default(),
                None => self.over.entry(step.material).or_default(),
            };
            *source -= many;
            *self.given.entry((step.part, step.material)).or_default() += many;
        }
        self.missing[part] -= many;
        many > 0
    }

    /// A chain at whose end something is over.
    fn way(&self, part: usize, seen: &mut BTreeSet<MaterialId>) -> Option<Vec<Step>> {
        let wanted = &self.wanted[part];
        let accepted = || std::iter::once(wanted.material).chain(wanted.substitutes.iter().copied());
        let over = |material: &MaterialId| self.over.get(material).is_some_and(|over| *over > 0);
        if let Some(material) = accepted().find(over) {
            return Some(vec![Step { part, material, from: None }]);
        }
        for material in accepted() {
            if !seen.insert(material) {
                continue;
            }
            let holders = (0..self.wanted.len()).filter(|other| {
                *other != part && self.given.get(&(*other, material)).is_some_and(|stems| *stems > 0)
            });
            for other in holders {
                if let Some(mut steps) = self.way(other, seen) {
                    steps.push(Step { part, material, from: Some(other) });
                    return Some(steps);
                }
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const ROSE: MaterialId = MaterialId(1);
    const GARDEN_ROSE: MaterialId = MaterialId(2);
    const LISIANTHUS: MaterialId = MaterialId(3);

    fn wanted(material: MaterialId, stems: i64, substitutes: &[MaterialId]) -> Wanted<'_> {
        Wanted { material, stems, substitutes }
    }

    #[test]
    fn substitutes_that_stand_in_for_one_another_cover_by_a_chain() {
        // 20 lisianthus over stand in for garden roses, whose stems then stand in for roses.
        let parts = [wanted(ROSE, 60, &[GARDEN_ROSE]), wanted(GARDEN_ROSE, 50, &[LISIANTHUS])];
        let have = BTreeMap::from([(ROSE, 40), (GARDEN_ROSE, 50), (LISIANTHUS, 20)]);
        assert_eq!(missing(&parts, &have, &BTreeMap::new()), [0, 0]);
        let less = BTreeMap::from([(ROSE, 40), (GARDEN_ROSE, 50), (LISIANTHUS, 15)]);
        assert_eq!(missing(&parts, &less, &BTreeMap::new()), [5, 0]);
        let kept = BTreeMap::from([(LISIANTHUS, 8)]);
        assert_eq!(missing(&parts, &have, &kept), [0, 0], "no part needs lisianthus, so none is kept of it");
    }

    #[test]
    fn a_part_that_has_another_way_gives_up_its_own() {
        // The bouquet takes roses only; the low arrangements may have garden roses.
        let parts = [wanted(ROSE, 6, &[]), wanted(ROSE, 84, &[GARDEN_ROSE])];
        let have = BTreeMap::from([(ROSE, 80), (GARDEN_ROSE, 10)]);
        assert_eq!(missing(&parts, &have, &BTreeMap::new()), [0, 0]);
        assert_eq!(missing(&parts, &BTreeMap::from([(ROSE, 80)]), &BTreeMap::new()), [1, 9]);
    }

    #[test]
    fn a_substitutes_own_spares_stay_its_own() {
        let parts = [wanted(ROSE, 10, &[GARDEN_ROSE]), wanted(GARDEN_ROSE, 10, &[])];
        let have = BTreeMap::from([(ROSE, 4), (GARDEN_ROSE, 14)]);
        assert_eq!(missing(&parts, &have, &BTreeMap::from([(GARDEN_ROSE, 3)])), [5, 0]);
    }

    proptest! {
        /// As little is missing as can be: over every set of parts, what they need less all that any of them may take
        /// (Hall's condition), at its worst.
        #[test]
        fn no_more_is_missing_than_must_be(
            rows in prop::collection::vec((0_i64..4, 0_i64..20, prop::collection::vec(0_i64..4, 0..3)), 1..6),
            have in prop::array::uniform4(0_i64..30),
        ) {
            let substitutes: Vec<Vec<MaterialId>> =
                rows.iter().map(|(_, _, more)| more.iter().map(|id| MaterialId(*id)).collect()).collect();
            let parts: Vec<Wanted<'_>> = rows.iter().zip(&substitutes)
                .map(|((id, stems, _), more)| wanted(MaterialId(*id), *stems, more)).collect();
            let stock: BTreeMap<MaterialId, i64> = (0..).map(MaterialId).zip(have).collect();
            let found = missing(&parts, &stock, &BTreeMap::new());
            let worst = (0_u32..1 << parts.len()).map(|set| {
                let chosen: Vec<_> = parts.iter().enumerate().filter(|(at, _)| set >> at & 1 == 1).map(|(_, part)| part).collect();
                let accepted: BTreeSet<MaterialId> = chosen.iter()
                    .flat_map(|part| part.substitutes.iter().copied().chain([part.material])).collect();
                chosen.iter().map(|part| part.stems).sum::<i64>() - accepted.iter().map(|id| stock[id]).sum::<i64>()
            }).max().unwrap();
            prop_assert_eq!(found.iter().sum::<i64>(), worst);
            prop_assert!(found.iter().zip(&parts).all(|(missing, part)| (0..=part.stems).contains(missing)));
        }
    }
}
