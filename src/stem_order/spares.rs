//! How many of a material are ordered above its need (C2), by which rule, and the working of it in words.
//!
//! May import `ground`, `price_list`, `studio` types and the room's own `allowance` and what was learned of `losses`.

use std::collections::BTreeMap;

use super::allowance::{flat, order_for, spare_whole};
use super::losses::learned::{Learned, LossBasis};
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::ground::quantity::Share;
use crate::price_list::Material;
use crate::studio::{AllowanceRule, Studio};

/// How the studio reckons spares.
#[derive(Debug, Clone)]
pub struct SpareRules {
    /// By assurance or flat.
    pub rule: AllowanceRule,
    /// Loss where a material says nothing of its own.
    pub loss: Share,
    /// The chance that enough stems are good.
    pub assurance: Share,
    /// What was counted of each material's losses, and what the studio fixed.
    pub learned: BTreeMap<MaterialId, Learned>,
    /// Stems of each material that were ordered for this need and counted in good: they need no spares any more.
    pub counted_good: BTreeMap<MaterialId, i64>,
}

impl SpareRules {
    /// From what the loss of a fresh material is reckoned.
    #[must_use]
    pub fn basis(&self, material: &Material) -> LossBasis {
        LossBasis::of(material.loss.unwrap_or(self.loss), self.learned.get(&material.id))
    }
}

impl From<&Studio> for SpareRules {
    fn from(studio: &Studio) -> SpareRules {
        SpareRules {
            rule: studio.allowance_rule,
            loss: studio.loss,
            assurance: studio.assurance,
            learned: BTreeMap::new(),
            counted_good: BTreeMap::new(),
        }
    }
}

/// Whole stems above the need, and why so many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spare {
    /// How many.
    pub count: i64,
    /// By which rule.
    pub reason: SpareReason,
    /// Stems of the need that were counted in good already: spares are reckoned for the others.
    pub counted_good: i64,
}

/// Why so many spares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpareReason {
    /// The smallest order of which enough are good with the studio's assurance.
    Assured {
        /// From what the loss is reckoned.
        basis: LossBasis,
        /// How sure.
        assurance: Share,
    },
    /// Need ÷ (1 − loss), rounded up.
    Flat {
        /// From what the loss is reckoned.
        basis: LossBasis,
    },
    /// One for each started so many; 0 is none.
    Started(i64),
    /// Loaned: counted on the shelf, no spares.
    Loaned,
    /// More than the rules reckon with: no spares.
    TooMany,
}

/// The spares for a whole-number need, pooled over the whole order.
///
/// Fresh: by the studio's rule, with what was learned of the material's loss on top of its own or the studio's usual
/// one, for what was not counted in good already. What is loaned has none.
/// Everything else: one for each started so many.
#[must_use]
pub fn spares(material: &Material, need: i64, rules: &SpareRules) -> Spare {
    let counted =
        if material.is_fresh() && !material.loaned { rules.counted_good.get(&material.id) } else { None };
    let counted_good = counted.copied().unwrap_or(0).clamp(0, need.max(0));
    let spare = |count, reason| Spare { count, reason, counted_good };
    let whole = u64::try_from(need - counted_good).unwrap_or(0);
    if material.loaned {
        return spare(0, SpareReason::Loaned);
    }
    if !material.is_fresh() {
        let per = material.spare_per.max(0);
        let count = spare_whole(whole, u64::try_from(per).unwrap_or(0));
        return spare(i64::try_from(count).unwrap_or(0), SpareReason::Started(per));
    }
    let basis = rules.basis(material);
    let order = match rules.rule {
        AllowanceRule::Assured => {
            order_for(whole, &basis.model(), rules.assurance.decimal()).map(|found| found.order)
        }
        AllowanceRule::Flat => flat(whole, basis.rate().decimal()),
    };
    let reason = match rules.rule {
        AllowanceRule::Assured => SpareReason::Assured { basis, assurance: rules.assurance },
        AllowanceRule::Flat => SpareReason::Flat { basis },
    };
    match order.map(|order| i64::try_from(order.saturating_sub(whole))) {
        Ok(Ok(count)) => spare(count, reason),
        _ => spare(0, SpareReason::TooMany),
    }
}

impl Spare {
    /// `107 = need 91 + 16 spare (95 % sure; 8.1 of 100 lost over 1,240 stems)`, or before anything was counted
    /// `103 = need 91 + 12 spare (95 % sure that enough are good, 5 % lost usually)`.
    #[must_use]
    pub fn working(&self, need: i64, formats: &Formats) -> String {
        let why = match self.reason {
            SpareReason::Assured { basis, assurance } => basis.assured_words(assurance, formats),
            SpareReason::Flat { basis } => basis.flat_words(formats),
            SpareReason::Started(0) => "no spares are kept of it".into(),
            SpareReason::Started(per) => format!("1 for each started {per}"),
            SpareReason::Loaned => "loaned: counted on the shelf".into(),
            SpareReason::TooMany => "too many to reckon spares for".into(),
        };
        let counted = match self.counted_good {
            0 => String::new(),
            all if all == need => "; all of it was counted in good, so no spare is wanted".into(),
            some => format!("; for the {} not yet counted in good", need - some),
        };
        format!("{} = need {need} + {} spare ({why}{counted})", need.saturating_add(self.count), self.count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stem_order::losses::learned::Counted;
    use crate::stem_order::samples::{flower, vessel};

    fn rules(rule: AllowanceRule) -> SpareRules {
        let (learned, counted_good) = (BTreeMap::new(), BTreeMap::new());
        let (loss, assurance) = (Share::from_raw(50_000), Share::from_raw(950_000));
        SpareRules { rule, loss, assurance, learned, counted_good }
    }

    #[test]
    fn flowers_follow_the_studios_rule_and_their_own_loss() {
        let mut rose = flower(1, "Rose");
        assert_eq!(spares(&rose, 91, &rules(AllowanceRule::Assured)).count, 12);
        rose.loss = Some(Share::from_raw(100_000));
        assert_eq!(spares(&rose, 90, &rules(AllowanceRule::Flat)).count, 10);
        let formats = Studio::new_book().formats;
        assert_eq!(
            spares(&rose, 90, &rules(AllowanceRule::Flat)).working(90, &formats),
            "100 = need 90 + 10 spare (flat rule: need ÷ (1 − 10\u{a0}% usual loss), rounded up)"
        );
    }

    #[test]
    fn what_was_counted_changes_the_spares_of_its_material_only() {
        let mut rules = rules(AllowanceRule::Assured);
        let counted = Counted { good: 460, lost: 40 };
        rules.learned.insert(MaterialId(1), Learned { counted, overruled: None });
        let formats = Studio::new_book().formats;
        assert_eq!(
            spares(&flower(1, "Rose"), 91, &rules).working(91, &formats),
            "104 = need 91 + 13 spare (95\u{a0}% sure; 8 of 100 lost over 500 stems)"
        );
        assert_eq!(spares(&flower(2, "Stock"), 91, &rules).count, 12);
        rules.rule = AllowanceRule::Flat;
        assert_eq!(spares(&flower(1, "Rose"), 91, &rules).count, 8, "91 ÷ (1 − 0.0768) = 98.57");
    }

    #[test]
    fn stems_counted_in_good_need_no_spares_any_more() {
        let rose = flower(1, "Rose");
        let mut rules = rules(AllowanceRule::Assured);
        let spare_of = |rules: &SpareRules| spares(&rose, 91, rules);
        assert_eq!(spare_of(&rules).count, 12);
        rules.counted_good = [(rose.id, 81)].into();
        let rest = spare_of(&rules);
        assert_eq!(rest.count, spares(&rose, 10, &self::rules(AllowanceRule::Assured)).count);
        assert!(rest.working(91, &Studio::new_book().formats).contains("for the 10 not yet counted in good"));
        rules.counted_good = [(rose.id, 95)].into();
        let none = spare_of(&rules);
        assert_eq!(none.count, 0);
        assert!(none.working(91, &Studio::new_book().formats).contains("all of it was counted in good"));
    }

    #[test]
    fn a_loss_of_nothing_needs_no_spares() {
        let mut rose = flower(1, "Rose");
        rose.loss = Some(Share::from_raw(0));
        assert_eq!(spares(&rose, 91, &rules(AllowanceRule::Assured)).count, 0);
    }

    #[test]
    fn hard_goods_have_whole_spares_and_loaned_ones_none() {
        let mut cylinder = vessel(1, "Cylinder");
        assert_eq!(spares(&cylinder, 21, &rules(AllowanceRule::Assured)).count, 2);
        cylinder.loaned = true;
        assert_eq!(spares(&cylinder, 21, &rules(AllowanceRule::Assured)).count, 0);
    }

    #[test]
    fn a_need_beyond_reckoning_says_so() {
        let spare = spares(&flower(1, "Rose"), 1_000_000_000, &rules(AllowanceRule::Assured));
        assert_eq!(spare.reason, SpareReason::TooMany);
    }
}
