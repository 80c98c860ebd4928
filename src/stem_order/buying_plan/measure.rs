//! What a plan is judged by, as one whole number of *parts*, so that the search minds one kind of cost only: money
//! alone, or money first, then stems bought, then how early they come. Imports the plain day and the model.

use super::Day;
use super::cell::NEVER;
use super::component::{Choice, Component};
use super::model::Model;

/// Parts of a minor unit while only money counts: what money spent on a delivery is worth, and shares of fees, are
/// worked out in them.
const MONEY: i64 = 1 << 10;
/// No sum comes to more parts than this.
const LARGEST: i64 = 1 << 58;

/// How a purchase is turned into parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Measure {
    /// Parts of a minor unit.
    pub(super) unit: i64,
    /// What a plan comes to is a multiple of this.
    pub(super) grain: i64,
    /// Parts of a stem bought.
    stem: i64,
    /// Parts of a stem for each day that it comes before the last one.
    day: i64,
    last: Day,
}

/// What is known of a block's plans before its ties are looked at.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reached {
    /// The least cost, in minor units.
    pub(super) cost: i64,
    /// Stems bought by a plan that costs it.
    pub(super) stems: i64,
}

impl Measure {
    pub(super) const NONE: Self = Self { unit: 1, grain: 1, stem: 0, day: 0, last: 0 };

    /// Money only. Where sums are so large that they leave no room for parts, a minor unit is one.
    pub(super) fn money(model: &Model) -> Self {
        let (_, money) = largest(model);
        let unit = if money.saturating_mul(MONEY) < LARGEST { MONEY } else { 1 };
        Self { unit, grain: unit, stem: 0, day: 0, last: 0 }
    }

    /// Money, then stems, then days: a plan that costs what is `reached` and ranks first comes to the least parts.
    ///
    /// Such a plan has no more stems than the one known, S, and no fewer than are wanted beyond stock, m; each of its
    /// stems comes at most D days before the last day. So a stem is worth more than all days of S stems, S × D, and a
    /// minor unit more than all stems between m and S with all their days. Nothing if that leaves no room for sums.
    pub(super) fn with_ties(model: &Model, reached: Reached) -> Option<Self> {
        let choices = || model.components.iter().flat_map(|component| &component.choices);
        let last = choices().map(|choice| choice.date).max().unwrap_or(0);
        let days = choices().map(|choice| i64::from(last) - i64::from(choice.date)).max().unwrap_or(0);
        let all_days = reached.stems.checked_mul(days)?;
        let stem = all_days + 1;
        let spread = (reached.stems - least_stems(model)).max(0);
        let unit = spread.checked_mul(stem)?.checked_add(all_days)?.checked_add(1)?.max(MONEY);
        let measure = Self { unit, grain: 1, stem, day: 1, last };
        let (stems, money) = largest(model);
        let sum = money.saturating_mul(unit);
        (sum.saturating_add(stems.saturating_mul(stem + days)) < LARGEST).then_some(measure)
    }

    pub(super) fn is_money(&self) -> bool {
        self.stem == 0
    }

    /// A pack of a choice.
    pub(super) fn pack(&self, choice: &Choice) -> i64 {
        let early = i64::from(self.last) - i64::from(choice.date);
        choice.price * self.unit + choice.size * (self.stem + self.day * early)
    }

    /// What no plan of a model undercuts that costs `money` at least.
    pub(super) fn floor(&self, model: &Model, money: i64) -> i64 {
        money.saturating_mul(self.unit).saturating_add(self.stem * least_stems(model))
    }

    /// A bound rounded up to what a plan can come to.
    pub(super) fn whole(&self, bound: i64) -> i64 {
        if bound >= NEVER { NEVER } else { (bound + self.grain - 1).div_euclid(self.grain) * self.grain }
    }
}

/// Stems that must be bought, all stock being used.
fn least_stems(model: &Model) -> i64 {
    let wanted = |component: &Component| {
        let stock = component.hall.lots.iter().copied().fold(0, i64::saturating_add);
        (component.hall.all_stems() - stock).max(0)
    };
    model.components.iter().map(wanted).sum()
}

/// More stems, and more money, than any sensible purchase has.
fn largest(model: &Model) -> (i64, i64) {
    let (mut stems, mut money) = (1_i64, 1_i64);
    for component in &model.components {
        for cell in &component.cells {
            let packs = |choice: &Choice| cell.reach / choice.size + 1 + choice.least;
            let most = |value: &dyn Fn(&Choice) -> i64| {
                let all = cell.choices.iter().map(|&at| &component.choices[at]);
                all.map(|choice| packs(choice).saturating_mul(value(choice))).max().unwrap_or(0)
            };
            stems = stems.saturating_add(most(&|choice| choice.size).saturating_mul(2));
            money = money.saturating_add(most(&|choice| choice.price).saturating_mul(2));
        }
    }
    // Goods values may be reached by packs beside what is wanted.
    for (at, delivery) in model.deliveries.iter().enumerate() {
        let worth = delivery.least.max(delivery.free_over.unwrap_or(0));
        let all = model.components.iter().flat_map(|component| &component.choices);
        let here = all.filter(|choice| choice.delivery == at && choice.price > 0);
        let most = here.map(|choice| (worth / choice.price + 1).saturating_mul(choice.size)).max();
        stems = stems.saturating_add(most.unwrap_or(0));
        money = money.saturating_add(worth).saturating_add(delivery.fee);
    }
    (stems, money)
}
