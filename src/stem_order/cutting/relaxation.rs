//! The Gilmore-Gomory relaxation: patterns in fractions of stock pieces, by column generation with a dense inverse.
//!
//! Minimise the sum of amounts so that every size is covered. Its dual prices say what a piece is worth in stock pieces;
//! the next pattern to enter is the one worth most at those prices. The simplex steps are in floating point and only
//! *propose*: the bound is computed from the prices in whole numbers (see [`Relaxed::bound`]), so it holds whatever the
//! rounding did.
#![expect(
    clippy::float_arithmetic,
    reason = "the simplex method; every bound it suggests is checked again in whole numbers"
)]

use super::effort::Effort;
use super::job::{Job, weigh};
use super::knapsack::{Item, best_fill};

/// Whole-number prices a stock piece.
const SCALE: i64 = 1 << 40;
/// Amounts this close to a whole number count as whole.
const NEAR: f64 = 1e-6;

/// The relaxation's answer for one demand.
pub(super) struct Relaxed {
    /// No whole-number layout needs fewer: Σ price × demand ÷ the dearest pattern's worth, rounded up.
    pub(super) bound: u32,
    /// What a piece of each size is worth.
    pub(super) prices: Vec<i64>,
    /// What the dearest possible pattern is worth at these prices.
    pub(super) dearest: i64,
    /// Patterns used, with their amounts, greatest first.
    pub(super) patterns: Vec<(Vec<u32>, f64)>,
}

/// A pattern, or a piece of a size made without need (index of the size).
#[derive(PartialEq)]
enum Column {
    Cuts(Vec<u32>),
    Surplus(usize),
}

/// A simplex basis: one column a size, the inverse of their matrix, and the amounts of the columns.
struct Basis {
    columns: Vec<Column>,
    inverse: Vec<Vec<f64>>,
    amounts: Vec<f64>,
}

/// Solves the relaxation for `left` pieces a size; broken off when the effort is spent, with a lower bound.
pub(super) fn relax(job: &Job, left: &[u32], effort: &mut Effort) -> Relaxed {
    let mut basis = Basis::start(job, left);
    let mut best = Relaxed { bound: 0, prices: vec![0; left.len()], dearest: SCALE, patterns: Vec::new() };
    while effort.spend_states(left.len() * left.len()) {
        let prices = basis.prices();
        if let Some(cheap) = prices.iter().position(|price| *price < -1e-9) {
            if basis.enter(Column::Surplus(cheap)) {
                continue;
            }
            break;
        }
        let prices: Vec<i64> = prices.into_iter().map(whole_price).collect();
        let items = priced_items(job, left, &prices);
        let Some((dearest, cuts)) = best_fill(job.capacity, &items, effort) else {
            break;
        };
        best.improve(left, prices, dearest);
        // Worth no more than a stock piece but for the rounding of the prices.
        let done = dearest <= SCALE + (SCALE >> 30);
        if done || !basis.enter(Column::Cuts(cuts)) {
            break;
        }
    }
    best.patterns = basis.patterns();
    best
}

fn priced_items(job: &Job, left: &[u32], prices: &[i64]) -> Vec<Item> {
    (0..left.len()).map(|i| Item { size: job.sizes[i], value: prices[i], most: job.most(i, left) }).collect()
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a price lies between 0 and about 1; any price at all gives a valid bound"
)]
fn whole_price(price: f64) -> i64 {
    const SCALE_AS_FLOAT: f64 = 1_099_511_627_776.0;
    (price.clamp(0.0, 2.0) * SCALE_AS_FLOAT).round() as i64
}

impl Relaxed {
    /// Keeps these prices if their bound is higher. A pattern is worth at most `dearest`, so that many stock pieces at
    /// least are needed to hold the whole demand's worth.
    fn improve(&mut self, left: &[u32], prices: Vec<i64>, dearest: i64) {
        let worth = weigh(&prices, left);
        let dearest = dearest.max(1);
        let whole = (worth + i128::from(dearest) - 1) / i128::from(dearest);
        let bound = u32::try_from(whole).unwrap_or(0);
        let tighter = worth * i128::from(self.dearest) > weigh(&self.prices, left) * i128::from(dearest);
        if tighter {
            self.bound = self.bound.max(bound);
            self.prices = prices;
            self.dearest = dearest;
        }
    }

    /// Each pattern's amount rounded down, a little less for those that are nearly whole from below.
    pub(super) fn rounded_down(&self) -> Vec<(&[u32], u32)> {
        self.patterns
            .iter()
            .map(|(cuts, amount)| (cuts.as_slice(), floor(*amount)))
            .filter(|(_, times)| *times > 0)
            .collect()
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "amounts are between 0 and the number of pieces, which fits"
)]
fn floor(amount: f64) -> u32 {
    (amount + NEAR).floor().max(0.0) as u32
}

impl Basis {
    /// Each size cut by itself.
    fn start(job: &Job, left: &[u32]) -> Self {
        let sizes = left.len();
        let mut start = Self {
            columns: Vec::with_capacity(sizes),
            inverse: vec![vec![0.0; sizes]; sizes],
            amounts: Vec::with_capacity(sizes),
        };
        for (i, count) in left.iter().enumerate() {
            let most = job.most(i, left).max(1);
            let mut cuts = vec![0; sizes];
            cuts[i] = most;
            start.columns.push(Column::Cuts(cuts));
            start.inverse[i][i] = 1.0 / f64::from(most);
            start.amounts.push(f64::from(*count) / f64::from(most));
        }
        start
    }

    /// Dual prices: the patterns' rows of the inverse added up (a pattern costs one stock piece, a surplus nothing).
    fn prices(&self) -> Vec<f64> {
        let mut prices = vec![0.0; self.amounts.len()];
        for (column, row) in self.columns.iter().zip(&self.inverse) {
            if matches!(column, Column::Cuts(_)) {
                for (price, entry) in prices.iter_mut().zip(row) {
                    *price += entry;
                }
            }
        }
        prices
    }

    /// Lets a column enter in place of the one that runs out first; false if nothing changes by it.
    fn enter(&mut self, column: Column) -> bool {
        if self.columns.contains(&column) {
            return false;
        }
        let direction = self.direction(&column);
        let Some(leaving) = self.leaving(&direction) else {
            return false;
        };
        self.pivot(leaving, &direction);
        self.columns[leaving] = column;
        true
    }

    fn direction(&self, column: &Column) -> Vec<f64> {
        let along = |row: &Vec<f64>| match column {
            Column::Surplus(size) => -row[*size],
            Column::Cuts(cuts) => row
                .iter()
                .zip(cuts)
                .filter(|(_, count)| **count > 0)
                .map(|(entry, count)| entry * f64::from(*count))
                .sum(),
        };
        self.inverse.iter().map(along).collect()
    }

    /// The row with the smallest amount ÷ direction; among equals the greatest direction, which is the safest to divide by.
    fn leaving(&self, direction: &[f64]) -> Option<usize> {
        let ratio = |row: usize| self.amounts[row].max(0.0) / direction[row];
        (0..direction.len()).filter(|row| direction[*row] > 1e-9).min_by(|&a, &b| {
            let tie = direction[b].total_cmp(&direction[a]);
            if (ratio(a) - ratio(b)).abs() < 1e-12 {
                return tie;
            }
            ratio(a).total_cmp(&ratio(b))
        })
    }

    fn pivot(&mut self, leaving: usize, direction: &[f64]) {
        let pivot = direction[leaving];
        for entry in &mut self.inverse[leaving] {
            *entry /= pivot;
        }
        self.amounts[leaving] /= pivot;
        let (row, amount) = (self.inverse[leaving].clone(), self.amounts[leaving]);
        for other in (0..direction.len()).filter(|other| *other != leaving) {
            let factor = direction[other];
            if factor == 0.0 {
                continue;
            }
            for (entry, by) in self.inverse[other].iter_mut().zip(&row) {
                *entry -= factor * by;
            }
            self.amounts[other] -= factor * amount;
        }
    }

    fn patterns(self) -> Vec<(Vec<u32>, f64)> {
        let mut patterns: Vec<_> = self
            .columns
            .into_iter()
            .zip(self.amounts)
            .filter_map(|(column, amount)| match column {
                Column::Cuts(cuts) if amount > NEAR => Some((cuts, amount)),
                _ => None,
            })
            .collect();
        patterns.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| b.0.cmp(&a.0)));
        patterns
    }
}
