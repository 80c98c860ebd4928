//! From counts to a loss: what is known of a material's rate, how much is lost on average, and how it is said.
//!
//! What is known is Beta(g, b): the usual loss as a prior worth 60 stems, and on top of it every stem counted good or
//! lost (C2). A stem that is lost at the bench was counted good when it came, so it moves from good to lost and is not
//! counted twice. A loss that the studio fixed takes the place of the usual one, and the counts are left out.
//!
//! May import `ground` and the stem order's `allowance`.

use std::collections::BTreeMap;

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};

use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, SupplierId};
use crate::ground::quantity::Share;
use crate::stem_order::allowance::{DEFAULT_WORTH, LossModel, prior};

/// Stems of a material that were counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counted {
    /// Good when they came, and not lost since.
    pub good: i64,
    /// Dead or broken when they came, or lost at the bench.
    pub lost: i64,
}

/// One sum of counts: what receiving and the bench wrote down of a material from one supplier.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tally {
    /// Of what.
    pub material: MaterialId,
    /// From whom, as far as that is known.
    pub supplier: Option<SupplierId>,
    /// Good when they came.
    pub good: i64,
    /// Dead or broken when they came.
    pub lost: i64,
    /// Lost at the bench.
    pub at_bench: i64,
}

/// What is known of one material.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Learned {
    /// All counts that speak.
    pub counted: Counted,
    /// A loss fixed by the studio.
    pub overruled: Option<Share>,
}

impl Counted {
    /// The counts of some tallies together, in whichever order they stand. What the bench lost beyond the stems
    /// counted good is lost all the same: it came without a count.
    ///
    /// ```
    /// use trug::ground::ids::MaterialId;
    /// use trug::stem_order::losses::learned::{Counted, Tally};
    /// let tally = |good, lost, at_bench| Tally { material: MaterialId(1), supplier: None, good, lost, at_bench };
    /// assert_eq!(Counted::of(&[tally(96, 4, 0), tally(0, 0, 3)]), Counted { good: 93, lost: 7 });
    /// assert_eq!(Counted::of(&[tally(0, 0, 3)]), Counted { good: 0, lost: 3 });
    /// ```
    #[must_use]
    pub fn of(tallies: &[Tally]) -> Counted {
        let sum =
            |of: fn(&Tally) -> i64| tallies.iter().fold(0_i64, |sum, tally| sum.saturating_add(of(tally)));
        let at_bench = sum(|tally| tally.at_bench);
        Counted {
            good: sum(|tally| tally.good).saturating_sub(at_bench).max(0),
            lost: sum(|tally| tally.lost).saturating_add(at_bench),
        }
    }

    /// Good and lost together.
    #[must_use]
    pub fn total(self) -> i64 {
        self.good.saturating_add(self.lost)
    }

    /// `8.1 of 100 lost over 1,240 stems`.
    #[must_use]
    pub fn words(self, formats: &Formats) -> String {
        let total = Decimal::from(self.total());
        let of_hundred =
            (Decimal::from(self.lost) * Decimal::ONE_HUNDRED).checked_div(total).unwrap_or_default();
        let rounded = of_hundred.round_dp_with_strategy(1, RoundingStrategy::MidpointAwayFromZero);
        let stems = if self.total() == 1 { "stem" } else { "stems" };
        format!("{} of 100 lost over {} {stems}", formats.number(rounded, 1), formats.number(total, 0))
    }
}

/// From what a loss is reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LossBasis {
    /// Nothing was counted yet: what is usually lost.
    Usual(Share),
    /// What was counted, on top of what is usually lost.
    Counted {
        /// Usually.
        usual: Share,
        /// So far.
        counted: Counted,
    },
    /// What the studio fixed.
    Overruled(Share),
}

impl LossBasis {
    /// The basis for a material with this usual loss.
    #[must_use]
    pub fn of(usual: Share, learned: Option<&Learned>) -> LossBasis {
        match learned.copied().unwrap_or_default() {
            Learned { overruled: Some(fixed), .. } => LossBasis::Overruled(fixed),
            Learned { counted, .. } if counted.total() > 0 => LossBasis::Counted { usual, counted },
            Learned { .. } => LossBasis::Usual(usual),
        }
    }

    /// What is known of the rate.
    ///
    /// ```
    /// use trug::ground::quantity::Share;
    /// use trug::stem_order::allowance::LossModel;
    /// use trug::stem_order::losses::learned::{Counted, LossBasis};
    /// let usual = Share::from_raw(50_000);
    /// let counted = Counted { good: 460, lost: 40 };
    /// let known = LossBasis::Counted { usual, counted }.model();
    /// assert_eq!(known, LossModel::Learned { good: 517.into(), lost: 43.into() });
    /// ```
    #[must_use]
    pub fn model(&self) -> LossModel {
        match *self {
            // A loss of nothing leaves no room for doubt, and so no prior to learn from.
            LossBasis::Usual(loss) | LossBasis::Overruled(loss) if loss.raw() == 0 => {
                LossModel::Known { loss: loss.decimal() }
            }
            LossBasis::Usual(loss) | LossBasis::Overruled(loss) => prior(loss.decimal(), DEFAULT_WORTH),
            LossBasis::Counted { usual, counted } => {
                let stems = |count: i64| u32::try_from(count.max(0)).unwrap_or(u32::MAX);
                prior(usual.decimal(), DEFAULT_WORTH).after(stems(counted.good), stems(counted.lost))
            }
        }
    }

    /// The share lost on average: lost ÷ (good + lost) of what is known, rounded half up to a hundredth of a per cent.
    /// The flat rule and the price list reckon with it as rounded, so that what is shown is what was used.
    ///
    /// ```
    /// use trug::ground::quantity::Share;
    /// use trug::stem_order::losses::learned::{Counted, LossBasis};
    /// let basis = LossBasis::Counted { usual: Share::from_raw(50_000), counted: Counted { good: 460, lost: 40 } };
    /// assert_eq!(basis.rate(), Share::from_raw(76_800)); // 43 ÷ 560 = 7.678… %
    /// ```
    #[must_use]
    pub fn rate(&self) -> Share {
        match *self {
            LossBasis::Usual(loss) | LossBasis::Overruled(loss) => loss,
            LossBasis::Counted { .. } => {
                let mean = self.model().expected_loss();
                let rounded = mean.round_dp_with_strategy(4, RoundingStrategy::MidpointAwayFromZero);
                Share::from_raw((rounded * Decimal::from(1_000_000)).to_i64().unwrap_or(0))
            }
        }
    }

    /// The reason behind spares by assurance: `95 % sure; 8.1 of 100 lost over 1,240 stems`.
    #[must_use]
    pub fn assured_words(&self, assurance: Share, formats: &Formats) -> String {
        let sure = formats.share(assurance);
        match self {
            LossBasis::Usual(loss) => {
                format!("{sure} sure that enough are good, {} lost usually", formats.share(*loss))
            }
            LossBasis::Counted { counted, .. } => format!("{sure} sure; {}", counted.words(formats)),
            LossBasis::Overruled(loss) => {
                format!(
                    "{sure} sure that enough are good, {} lost as the studio fixed it",
                    formats.share(*loss)
                )
            }
        }
    }

    /// The reason behind spares by the flat rule: `flat rule: need ÷ (1 − 7.68 % learned loss), rounded up`.
    #[must_use]
    pub fn flat_words(&self, formats: &Formats) -> String {
        let rate = formats.share(self.rate());
        match self {
            LossBasis::Usual(_) => format!("flat rule: need ÷ (1 − {rate} usual loss), rounded up"),
            LossBasis::Overruled(_) => format!("flat rule: need ÷ (1 − {rate} fixed loss), rounded up"),
            LossBasis::Counted { counted, .. } => {
                let counted = counted.words(formats);
                format!("flat rule: need ÷ (1 − {rate} learned loss), rounded up; {counted}")
            }
        }
    }
}

/// What is known of each material, from all tallies and what the studio fixed. A material of which nothing is known
/// is not in it.
#[must_use]
pub fn learned(tallies: &[Tally], overruled: &[(MaterialId, Share)]) -> BTreeMap<MaterialId, Learned> {
    let mut by_material: BTreeMap<MaterialId, Vec<Tally>> = BTreeMap::new();
    for tally in tallies {
        by_material.entry(tally.material).or_default().push(*tally);
    }
    let mut known: BTreeMap<MaterialId, Learned> = by_material
        .into_iter()
        .map(|(material, tallies)| (material, Learned { counted: Counted::of(&tallies), overruled: None }))
        .collect();
    for (material, share) in overruled {
        known.entry(*material).or_default().overruled = Some(*share);
    }
    known
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::stem_order::allowance::order_for;
    use crate::studio::Studio;

    const FIVE: Share = Share::from_raw(50_000);

    fn tally(supplier: i64, good: i64, lost: i64, at_bench: i64) -> Tally {
        Tally { material: MaterialId(1), supplier: Some(SupplierId(supplier)), good, lost, at_bench }
    }

    fn order(basis: &LossBasis, need: u64, percent: i64) -> u64 {
        order_for(need, &basis.model(), Decimal::new(percent, 2)).unwrap().order
    }

    #[test]
    fn before_anything_was_counted_the_usual_loss_speaks() {
        assert_eq!(LossBasis::of(FIVE, None), LossBasis::Usual(FIVE));
        assert_eq!(LossBasis::of(FIVE, Some(&Learned::default())), LossBasis::Usual(FIVE));
        assert_eq!(order(&LossBasis::Usual(FIVE), 91, 95), 103);
    }

    #[test]
    fn counts_speak_in_words() {
        let formats = Studio::new_book().formats;
        let counted = Counted { good: 1140, lost: 100 };
        let basis = LossBasis::of(FIVE, Some(&Learned { counted, overruled: None }));
        let ninety_five = Share::from_raw(950_000);
        assert_eq!(
            basis.assured_words(ninety_five, &formats),
            "95\u{a0}% sure; 8.1 of 100 lost over 1,240 stems"
        );
        assert_eq!(
            basis.flat_words(&formats),
            "flat rule: need ÷ (1 − 7.92\u{a0}% learned loss), rounded up; 8.1 of 100 lost over 1,240 stems"
        );
        assert_eq!(Counted { good: 1, lost: 0 }.words(&formats), "0 of 100 lost over 1 stem");
    }

    #[test]
    fn what_the_studio_fixed_silences_the_counts() {
        let counted = Counted { good: 10, lost: 90 };
        let basis = LossBasis::of(FIVE, Some(&Learned { counted, overruled: Some(FIVE) }));
        assert_eq!((basis, order(&basis, 91, 95)), (LossBasis::Overruled(FIVE), 103));
        let nothing = LossBasis::Overruled(Share::from_raw(0));
        assert_eq!(order(&nothing, 91, 95), 91);
    }

    #[test]
    fn a_usual_loss_of_nothing_still_learns() {
        let counted = Counted { good: 0, lost: 40 };
        let basis = LossBasis::Counted { usual: Share::from_raw(0), counted };
        assert_eq!(basis.rate(), Share::from_raw(400_000));
        assert!(order(&basis, 10, 95) > 10);
    }

    #[test]
    fn suppliers_are_pooled_by_material() {
        let other = Tally { material: MaterialId(2), ..tally(1, 5, 5, 0) };
        let known = learned(&[tally(1, 50, 2, 1), other, tally(2, 30, 0, 0)], &[(MaterialId(3), FIVE)]);
        assert_eq!(known[&MaterialId(1)].counted, Counted { good: 79, lost: 3 });
        assert_eq!(known[&MaterialId(3)], Learned { counted: Counted::default(), overruled: Some(FIVE) });
        assert_eq!(known.len(), 3);
    }

    fn tallies() -> impl Strategy<Value = Vec<Tally>> {
        let one = (1_i64..4, 0_i64..500, 0_i64..80, 0_i64..40).prop_map(|(s, g, l, b)| tally(s, g, l, b));
        prop::collection::vec(one, 0..8)
    }

    proptest! {
        #[test]
        fn counts_do_not_ask_in_which_order_they_came(
            (tallies, mixed) in tallies().prop_flat_map(|all| (Just(all.clone()), Just(all).prop_shuffle())),
        ) {
            prop_assert_eq!(learned(&tallies, &[]), learned(&mixed, &[]));
        }

        #[test]
        fn a_stem_is_counted_once(tallies in tallies()) {
            let counted = Counted::of(&tallies);
            let came: i64 = tallies.iter().map(|tally| tally.good + tally.lost).sum();
            let at_bench: i64 = tallies.iter().map(|tally| tally.at_bench).sum();
            let good: i64 = tallies.iter().map(|tally| tally.good).sum();
            prop_assert_eq!(counted.total(), came + (at_bench - good).max(0));
        }

        #[test]
        fn more_needed_or_more_sure_is_never_fewer(
            need in 0_u64..800, good in 0_i64..2_000, lost in 0_i64..300, percent in 50_i64..99,
        ) {
            let basis = LossBasis::Counted { usual: FIVE, counted: Counted { good, lost } };
            prop_assert!(order(&basis, need + 1, percent) > order(&basis, need, percent));
            prop_assert!(order(&basis, need, percent + 1) >= order(&basis, need, percent));
        }

        #[test]
        fn more_lost_of_as_many_is_never_fewer(
            need in 0_u64..800, total in 1_i64..2_000, lost in 0_i64..2_000, percent in 50_i64..99,
        ) {
            let of = |lost: i64| LossBasis::Counted { usual: FIVE, counted: Counted { good: total - lost, lost } };
            let lost = lost % total;
            prop_assert!(order(&of(lost + 1), need, percent) >= order(&of(lost), need, percent));
            prop_assert!(of(lost + 1).rate() >= of(lost).rate());
        }
    }
}
