//! The cutting job in its smallest whole numbers: lengths divided by their common divisor, equal lengths pooled.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use super::plan::Plan;
use super::{CuttingError, Layout, MOST_LENGTHS, MOST_PIECES, Pattern};

/// What is to be cut. Sizes are distinct and descending; `demand[i]` pieces of `sizes[i]`.
pub(super) struct Job {
    pub(super) capacity: i64,
    pub(super) sizes: Vec<i64>,
    pub(super) demand: Vec<u32>,
    stock_length: i64,
    unit: i64,
}

impl Job {
    pub(super) fn read(stock_length: i64, pieces: &[(i64, u64)]) -> Result<Self, CuttingError> {
        let pooled = pool(stock_length, pieces)?;
        let unit = pooled.keys().fold(0, |a, b| gcd(a, b.0)).max(1);
        Ok(Self {
            // Every piece is a multiple of the unit, so a fraction of it at the stock's end is waste in any case.
            capacity: stock_length / unit,
            sizes: pooled.keys().map(|length| length.0 / unit).collect(),
            demand: pooled.into_values().collect(),
            stock_length,
            unit,
        })
    }

    /// Total length divided by the stock's, rounded up.
    pub(super) fn length_bound(&self, demand: &[u32]) -> u32 {
        let total: i128 = self.total(demand);
        let whole =
            total.div_euclid(self.capacity.into()) + i128::from(total.rem_euclid(self.capacity.into()) > 0);
        u32::try_from(whole).unwrap_or(u32::MAX)
    }

    /// Total length of the pieces.
    pub(super) fn total(&self, demand: &[u32]) -> i128 {
        weigh(&self.sizes, demand)
    }

    /// Most copies of size `i` in one stock piece, given what is left to cut.
    pub(super) fn most(&self, i: usize, left: &[u32]) -> u32 {
        u32::try_from(self.capacity / self.sizes[i]).map_or(left[i], |fit| fit.min(left[i]))
    }

    /// The plan in the caller's unit, most repeated pattern first.
    pub(super) fn layout(&self, plan: &Plan, lower_bound: u32) -> Layout {
        let mut patterns: Vec<Pattern> =
            plan.patterns().iter().map(|(cuts, &times)| self.pattern(cuts, times)).collect();
        patterns.sort_by(|a, b| (b.times, &b.cuts).cmp(&(a.times, &a.cuts)));
        Layout {
            stock_pieces: plan.stock().into(),
            patterns,
            lower_bound: lower_bound.into(),
            proven: plan.stock() == lower_bound,
        }
    }

    fn pattern(&self, cuts: &[u32], times: u32) -> Pattern {
        let counted = || self.sizes.iter().zip(cuts).filter(|(_, count)| **count > 0);
        let used: i64 = counted().map(|(size, count)| size * i64::from(*count)).sum();
        Pattern {
            times: times.into(),
            cuts: counted().map(|(size, count)| (size * self.unit, u64::from(*count))).collect(),
            waste: self.stock_length - used * self.unit,
        }
    }
}

/// Sum of weight × count.
pub(super) fn weigh(weights: &[i64], counts: &[u32]) -> i128 {
    weights.iter().zip(counts).map(|(weight, count)| i128::from(*weight) * i128::from(*count)).sum()
}

fn pool(stock_length: i64, pieces: &[(i64, u64)]) -> Result<BTreeMap<Reverse<i64>, u32>, CuttingError> {
    if stock_length <= 0 {
        return Err(CuttingError::StockNotPositive(stock_length));
    }
    let mut pooled = BTreeMap::new();
    let mut all = 0_u64;
    for &(length, count) in pieces.iter().filter(|piece| piece.1 > 0) {
        if length <= 0 {
            return Err(CuttingError::PieceNotPositive(length));
        }
        if length > stock_length {
            return Err(CuttingError::PieceTooLong { length, stock_length });
        }
        all = all.saturating_add(count);
        let count = u32::try_from(count).map_err(|_| CuttingError::TooManyPieces(count))?;
        if all > MOST_PIECES {
            return Err(CuttingError::TooManyPieces(all));
        }
        *pooled.entry(Reverse(length)).or_insert(0) += count;
    }
    if pooled.len() > MOST_LENGTHS {
        return Err(CuttingError::TooManyLengths(pooled.len()));
    }
    Ok(pooled)
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
