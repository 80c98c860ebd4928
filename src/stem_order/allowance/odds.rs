//! The odds that an order is enough: a tail of the binomial or beta-binomial distribution, without logarithms.
//!
//! An order of n is enough for N if at most n − N stems are lost. The probabilities of k lost stems follow one another by a
//! ratio of plain numbers; they are added up outwards from the most likely k, in units of its own probability, over the
//! tail and over everything. The quotient of the two sums is the answer: nothing overflows, nothing is subtracted.
#![expect(clippy::float_arithmetic, reason = "probabilities of losses in nature; no money")]

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::LossModel;

/// How far below the assurance a probability may lie and still count as reaching it: rounding of the sums.
const TOLERANCE: f64 = 1e-12;
/// A term this small against its sum changes it no more.
const NOTHING: f64 = 1e-20;

/// A loss model in floating point.
pub(super) enum Odds {
    Known { loss: f64 },
    Learned { good: f64, lost: f64 },
}

impl Odds {
    pub(super) fn of(model: &LossModel) -> Self {
        let float = |value: Decimal| value.to_f64().unwrap_or(0.0);
        match *model {
            LossModel::Known { loss } => Self::Known { loss: float(loss) },
            LossModel::Learned { good, lost } => Self::Learned { good: float(good), lost: float(lost) },
        }
    }

    /// Whether `order` is enough for `need` with the assurance.
    pub(super) fn reach(&self, need: u64, order: u64, assurance: f64) -> bool {
        self.enough(need, order) + TOLERANCE >= assurance
    }

    /// P(at most order − need lost among `order`).
    pub(super) fn enough(&self, need: u64, order: u64) -> f64 {
        let (Ok(order), Ok(need)) = (u32::try_from(order), u32::try_from(need)) else {
            return 0.0;
        };
        let Some(spares) = order.checked_sub(need) else {
            return 0.0;
        };
        let peak = self.likeliest(order);
        let up = self.add_upwards(order, peak, spares);
        let down = self.add_downwards(order, peak, spares);
        let peak_within = if peak <= spares { 1.0 } else { 0.0 };
        (up.within + down.within + peak_within) / (up.all + down.all + 1.0)
    }

    /// P(k + 1 lost) ÷ P(k lost) among `order` stems.
    fn ratio(&self, order: u32, k: u32) -> f64 {
        let (n, k) = (f64::from(order), f64::from(k));
        match self {
            Self::Known { loss } => (n - k) / (k + 1.0) * (loss / (1.0 - loss)),
            Self::Learned { good, lost } => (n - k) / (k + 1.0) * ((k + lost) / (n - k - 1.0 + good)),
        }
    }

    /// Where the ratio falls below 1 (found by halving; with one turning point, that is the most likely loss).
    fn likeliest(&self, order: u32) -> u32 {
        let nothing_is_lost = order > 0 && self.ratio(order, 0) <= 0.0;
        if nothing_is_lost {
            return 0;
        }
        let (mut low, mut high) = (0, order);
        while low < high {
            let middle = low + (high - low) / 2;
            if self.ratio(order, middle) > 1.0 {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low
    }

    /// Terms only fall away from the peak, unless so little is known that the extremes are likeliest.
    fn one_peak(&self) -> bool {
        match self {
            Self::Known { .. } => true,
            Self::Learned { good, lost } => good + lost >= 2.0,
        }
    }

    fn add_upwards(&self, order: u32, peak: u32, spares: u32) -> Sums {
        let mut sums = Sums::default();
        let mut term = 1.0;
        for k in peak..order {
            term *= self.ratio(order, k);
            sums.add(term, k < spares);
            if self.one_peak() && term < NOTHING {
                break;
            }
        }
        sums
    }

    fn add_downwards(&self, order: u32, peak: u32, spares: u32) -> Sums {
        let mut sums = Sums::default();
        let mut term = 1.0;
        for k in (0..peak).rev() {
            term /= self.ratio(order, k);
            sums.add(term, k <= spares);
            if self.one_peak() && term < NOTHING {
                break;
            }
        }
        sums
    }
}

/// Sums of terms: those within the spares, and all.
#[derive(Default)]
struct Sums {
    within: f64,
    all: f64,
}

impl Sums {
    fn add(&mut self, term: f64, within: bool) {
        self.all += term;
        if within {
            self.within += term;
        }
    }
}
