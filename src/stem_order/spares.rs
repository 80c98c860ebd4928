//! How many of a material are ordered above its need (C2), by which rule, and the working of it in words.
//!
//! May import `ground`, `price_list`, `studio` types and the room's own `allowance`.

use super::allowance::{self, AllowanceError, DEFAULT_WORTH, flat, order_for, prior, spare_whole};
use crate::ground::formats::Formats;
use crate::ground::quantity::Share;
use crate::price_list::Material;
use crate::studio::{AllowanceRule, Studio};

/// How the studio reckons spares.
#[derive(Debug, Clone, Copy)]
pub struct SpareRules {
    /// By assurance or flat.
    pub rule: AllowanceRule,
    /// Loss where a material says nothing of its own.
    pub loss: Share,
    /// The chance that enough stems are good.
    pub assurance: Share,
}

impl From<&Studio> for SpareRules {
    fn from(studio: &Studio) -> SpareRules {
        SpareRules { rule: studio.allowance_rule, loss: studio.loss, assurance: studio.assurance }
    }
}

/// Whole stems above the need, and why so many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spare {
    /// How many.
    pub count: i64,
    /// By which rule.
    pub reason: SpareReason,
}

/// Why so many spares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpareReason {
    /// The smallest order of which enough are good with the studio's assurance.
    Assured {
        /// What is usually lost.
        loss: Share,
        /// How sure.
        assurance: Share,
    },
    /// Need ÷ (1 − loss), rounded up.
    Flat {
        /// What is usually lost.
        loss: Share,
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
/// Fresh: by the studio's rule, with the material's loss or the studio's usual one. What is loaned has none.
/// Everything else: one for each started so many.
#[must_use]
pub fn spares(material: &Material, need: i64, rules: &SpareRules) -> Spare {
    let whole = u64::try_from(need).unwrap_or(0);
    if material.loaned {
        return Spare { count: 0, reason: SpareReason::Loaned };
    }
    if !material.is_fresh() {
        let per = material.spare_per.max(0);
        let count = spare_whole(whole, u64::try_from(per).unwrap_or(0));
        return Spare { count: i64::try_from(count).unwrap_or(0), reason: SpareReason::Started(per) };
    }
    let loss = material.loss.unwrap_or(rules.loss);
    let order = match rules.rule {
        AllowanceRule::Assured => assured(whole, loss, rules.assurance),
        AllowanceRule::Flat => flat(whole, loss.decimal()),
    };
    let reason = match rules.rule {
        AllowanceRule::Assured => SpareReason::Assured { loss, assurance: rules.assurance },
        AllowanceRule::Flat => SpareReason::Flat { loss },
    };
    match order.map(|order| i64::try_from(order.saturating_sub(whole))) {
        Ok(Ok(count)) => Spare { count, reason },
        _ => Spare { count: 0, reason: SpareReason::TooMany },
    }
}

fn assured(need: u64, loss: Share, assurance: Share) -> Result<u64, AllowanceError> {
    // A loss of nothing leaves no room for doubt, and so no prior to learn from.
    let model = match loss.raw() {
        0 => allowance::LossModel::Known { loss: loss.decimal() },
        _ => prior(loss.decimal(), DEFAULT_WORTH),
    };
    Ok(order_for(need, &model, assurance.decimal())?.order)
}

impl Spare {
    /// `107 = need 91 + 16 spare (95 % sure that enough are good, 5 % lost usually)`.
    #[must_use]
    pub fn working(&self, need: i64, formats: &Formats) -> String {
        let why = match self.reason {
            SpareReason::Assured { loss, assurance } => {
                format!(
                    "{} sure that enough are good, {} lost usually",
                    formats.share(assurance),
                    formats.share(loss)
                )
            }
            SpareReason::Flat { loss } => {
                format!("flat rule: need ÷ (1 − {} usual loss), rounded up", formats.share(loss))
            }
            SpareReason::Started(0) => "no spares are kept of it".into(),
            SpareReason::Started(per) => format!("1 for each started {per}"),
            SpareReason::Loaned => "loaned: counted on the shelf".into(),
            SpareReason::TooMany => "too many to reckon spares for".into(),
        };
        format!("{} = need {need} + {} spare ({why})", need.saturating_add(self.count), self.count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stem_order::samples::{flower, vessel};

    fn rules(rule: AllowanceRule) -> SpareRules {
        SpareRules { rule, loss: Share::from_raw(50_000), assurance: Share::from_raw(950_000) }
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
