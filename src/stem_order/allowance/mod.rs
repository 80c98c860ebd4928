//! The allowance: how many stems to order so that enough of them are good.
//!
//! Not a flat percentage. Each stem is good with some rate; the order is the smallest n for which
//! P(at least N good among n) is at least the studio's assurance, N being the pooled need in whole stems.
//! - [`LossModel::Known`]: the rate is taken as known, and the number of good stems is binomial.
//! - [`LossModel::Learned`]: what is known of the rate is Beta(good, lost), counted at receiving and at the bench on top of a
//!   [`prior`], and the number of good stems is beta-binomial.
//!
//! Hard goods get whole spares instead ([`spare_whole`]); a studio may still choose the [`flat`] gross-up.
//!
//! Source: the binomial and beta-binomial distributions as in N. L. Johnson, A. W. Kemp and S. Kotz, "Univariate Discrete
//! Distributions" (cited from memory); checked against scipy.stats.binom and .betabinom.
//!
//! May import: `rust_decimal` only. Probabilities are measured nature, so they are floating point inside; no money here.

mod odds;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use odds::Odds;

/// Needs and orders above this are refused.
pub const MOST_STEMS: u64 = 2_000_000;

/// Stems that a default loss rate is worth as experience, unless the studio says otherwise.
pub const DEFAULT_WORTH: u32 = 60;

/// What is known of a material's losses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LossModel {
    /// A rate between 0 and 1 that is taken as certain: 0.05 is 5 %.
    Known {
        /// Lost stems ÷ stems received.
        loss: Decimal,
    },
    /// Good and lost stems seen so far, prior included.
    Learned {
        /// Good stems.
        good: Decimal,
        /// Lost stems.
        lost: Decimal,
    },
}

impl LossModel {
    /// The model after more stems were counted. A rate taken as known does not learn.
    ///
    /// ```
    /// use trug::stem_order::allowance::{LossModel, prior};
    /// let before = prior("0.05".parse()?, 60);
    /// assert_eq!(before, LossModel::Learned { good: 57.into(), lost: 3.into() });
    /// let after = before.after(460, 40);
    /// assert_eq!(after, LossModel::Learned { good: 517.into(), lost: 43.into() });
    /// # Ok::<(), rust_decimal::Error>(())
    /// ```
    #[must_use]
    pub fn after(self, good_stems: u32, lost_stems: u32) -> Self {
        match self {
            Self::Known { .. } => self,
            Self::Learned { good, lost } => Self::Learned {
                good: good.saturating_add(good_stems.into()),
                lost: lost.saturating_add(lost_stems.into()),
            },
        }
    }

    /// The expected share of lost stems, for pricing: lost ÷ (good + lost), or the known rate.
    #[must_use]
    pub fn expected_loss(&self) -> Decimal {
        match *self {
            Self::Known { loss } => loss,
            Self::Learned { good, lost } => {
                lost.checked_div(good.saturating_add(lost)).unwrap_or(Decimal::ZERO)
            }
        }
    }

    fn check(&self) -> Result<(), AllowanceError> {
        match *self {
            Self::Known { loss } => check_loss(loss),
            Self::Learned { good, lost } if good <= Decimal::ZERO || lost < Decimal::ZERO => {
                Err(AllowanceError::NoExperience { good, lost })
            }
            Self::Learned { .. } => Ok(()),
        }
    }
}

/// What to order for a need, and how likely that is enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowance {
    /// Good stems needed.
    pub need: u64,
    /// Stems to order.
    pub order: u64,
    /// Probability that `order` stems hold `need` good ones.
    pub enough: f64,
}

impl Allowance {
    /// Stems ordered above the need.
    #[must_use]
    pub fn spares(&self) -> u64 {
        self.order - self.need
    }
}

/// Why there is no allowance.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AllowanceError {
    /// The loss rate is below 0, or everything would be lost.
    #[error("a loss rate must be at least 0 and less than 1, not {0}")]
    LossOutOfRange(Decimal),
    /// Certainty cannot be bought, and no assurance needs no order.
    #[error("the assurance must lie between 0 and 1, not {0}")]
    AssuranceOutOfRange(Decimal),
    /// No good stem has ever been seen, or a count is negative.
    #[error("{good} good and {lost} lost stems say nothing about the loss")]
    NoExperience {
        /// Good stems given.
        good: Decimal,
        /// Lost stems given.
        lost: Decimal,
    },
    /// More than [`MOST_STEMS`] would be needed or ordered.
    #[error("more than {MOST_STEMS} stems would be needed for {0} good ones")]
    TooMany(u64),
}

/// The smallest order of which at least `need` stems are good with probability `assurance` or more.
///
/// Rounding: none; the order is a whole number by definition. A probability within 1e-12 of the assurance counts as
/// reaching it (one stem at 5 % is enough for one with an assurance of exactly 95 %). A need of 0 orders 0.
///
/// ```
/// use rust_decimal::Decimal;
/// use trug::stem_order::allowance::{LossModel, order_for, prior};
/// let five_percent = Decimal::new(5, 2);
/// let assurance = Decimal::new(95, 2);
/// let known = LossModel::Known { loss: five_percent };
/// assert_eq!(order_for(91, &known, assurance)?.order, 100);
/// assert_eq!(order_for(91, &prior(five_percent, 60), assurance)?.order, 103);
/// # Ok::<(), trug::stem_order::allowance::AllowanceError>(())
/// ```
///
/// # Errors
/// A loss rate or assurance out of range, no experience, or more than [`MOST_STEMS`].
pub fn order_for(need: u64, model: &LossModel, assurance: Decimal) -> Result<Allowance, AllowanceError> {
    if assurance <= Decimal::ZERO || assurance >= Decimal::ONE {
        return Err(AllowanceError::AssuranceOutOfRange(assurance));
    }
    model.check()?;
    if need > MOST_STEMS {
        return Err(AllowanceError::TooMany(need));
    }
    let odds = Odds::of(model);
    let enough = |order: u64| odds.reach(need, order, assurance.to_f64().unwrap_or(1.0));
    let (mut short, mut order) = (need, need);
    // Doubling steps up to an order that is enough, then halving the gap down to the smallest.
    while !enough(order) {
        if order >= MOST_STEMS {
            return Err(AllowanceError::TooMany(need));
        }
        short = order;
        order = MOST_STEMS.min(need + 2 * (order - need).max(2));
    }
    while order - short > 1 {
        let middle = short + (order - short) / 2;
        if enough(middle) {
            order = middle;
        } else {
            short = middle;
        }
    }
    Ok(Allowance { need, order, enough: odds.enough(need, order) })
}

/// The probability that an order holds at least `need` good stems.
///
/// ```
/// use rust_decimal::Decimal;
/// use trug::stem_order::allowance::{LossModel, probability_enough};
/// // One spare for ten stems at 5 %: 0.95^11 + 11 × 0.05 × 0.95^10.
/// let odds = probability_enough(11, 10, &LossModel::Known { loss: Decimal::new(5, 2) })?;
/// assert!((odds - 0.898_105).abs() < 1e-6);
/// # Ok::<(), trug::stem_order::allowance::AllowanceError>(())
/// ```
///
/// # Errors
/// A loss rate out of range, no experience, or an order over [`MOST_STEMS`].
pub fn probability_enough(order: u64, need: u64, model: &LossModel) -> Result<f64, AllowanceError> {
    model.check()?;
    if order > MOST_STEMS {
        return Err(AllowanceError::TooMany(need));
    }
    Ok(Odds::of(model).enough(need, order))
}

/// What a default loss rate says before anything was counted: as if `worth` stems had been seen
/// (0.05 worth 60 stems: 57 good, 3 lost).
#[must_use]
pub fn prior(default_loss: Decimal, worth: u32) -> LossModel {
    let worth = Decimal::from(worth);
    let lost = worth.saturating_mul(default_loss);
    LossModel::Learned { good: worth.saturating_sub(lost), lost }
}

/// The flat rule: need ÷ (1 − loss), rounded up. Never need × (1 + loss), which is too few.
///
/// ```
/// use rust_decimal::Decimal;
/// use trug::stem_order::allowance::flat;
/// assert_eq!(flat(90, Decimal::new(10, 2))?, 100); // and not 99
/// # Ok::<(), trug::stem_order::allowance::AllowanceError>(())
/// ```
///
/// # Errors
/// A loss rate out of range, or more than [`MOST_STEMS`].
pub fn flat(need: u64, loss: Decimal) -> Result<u64, AllowanceError> {
    check_loss(loss)?;
    let order = Decimal::from(need).checked_div(Decimal::ONE - loss);
    match order.and_then(|order| order.ceil().to_u64()) {
        Some(order) if order <= MOST_STEMS => Ok(order),
        _ => Err(AllowanceError::TooMany(need)),
    }
}

/// Spares of hard goods: one for each started `one_per` pieces (common practice: 20; no published source).
/// With 0 there are no spares: loaned vessels are counted on the shelf.
///
/// ```
/// use trug::stem_order::allowance::spare_whole;
/// assert_eq!((spare_whole(20, 20), spare_whole(21, 20), spare_whole(21, 0)), (1, 2, 0));
/// ```
#[must_use]
pub fn spare_whole(need: u64, one_per: u64) -> u64 {
    if one_per == 0 { 0 } else { need.div_ceil(one_per) }
}

fn check_loss(loss: Decimal) -> Result<(), AllowanceError> {
    if loss < Decimal::ZERO || loss >= Decimal::ONE {
        return Err(AllowanceError::LossOutOfRange(loss));
    }
    Ok(())
}

#[cfg(test)]
mod tests;
