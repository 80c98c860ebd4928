//! A price for each stem that a row needs, by which cells can be judged one by one: tells the building up of
//! labels which of them may still become cheap. Taken from the smoothed network; any price gives a bound.

use super::cell::NEVER;
use super::hall::{Hall, Row};
use super::labels::{Bundle, Stage};
use super::smooth::Network;

/// The rows with those that carry a price, each with its price, and the bound they give.
pub(super) struct Priced {
    pub(super) rows: Vec<Row>,
    pub(super) prices: Vec<i64>,
    pub(super) bound: i64,
}

pub(super) fn price(hall: &Hall, network: &Network, stages: &[Stage]) -> Priced {
    let mut priced = Priced { rows: hall.rows.clone(), prices: vec![0; hall.rows.len()], bound: 0 };
    if stages.len() > 1 {
        let mut bundles: Vec<&[Bundle]> = vec![&[]; network.cells()];
        for stage in stages {
            bundles[stage.cell] = &stage.bundles;
        }
        priced.nest(hall, &network.smooth(&bundles).class_prices());
    }
    priced.bound = priced.judge(stages);
    priced
}

/// What a stem in the cell is worth at these prices.
pub(super) fn reward(rows: &[Row], prices: &[i64], cell: usize) -> i64 {
    rows.iter().zip(prices).filter(|(row, _)| row.holds[cell]).map(|(_, price)| price).sum()
}

impl Priced {
    /// Turns prices of classes into prices of rows: each step up in price belongs to all classes from there on.
    fn nest(&mut self, hall: &Hall, worth: &[i64]) {
        let mut levels: Vec<i64> = worth.iter().copied().filter(|&w| w > 0).collect();
        levels.sort_unstable();
        levels.dedup();
        let mut below = 0;
        for level in levels {
            let above: Vec<usize> = (0..worth.len()).filter(|&class| worth[class] >= level).collect();
            for union in hall.connected(above) {
                let Some(row) = hall.row(&union) else { continue };
                if let Some(at) = self.rows.iter().position(|known| known.holds == row.holds) {
                    self.prices[at] += level - below;
                } else {
                    self.rows.push(row);
                    self.prices.push(level - below);
                }
            }
            below = level;
        }
    }

    fn judge(&self, stages: &[Stage]) -> i64 {
        let needs: i64 = self.rows.iter().zip(&self.prices).map(|(row, price)| row.need * price).sum();
        let cells = stages.iter().map(|stage| {
            let reward = reward(&self.rows, &self.prices, stage.cell);
            stage.bundles.iter().map(|b| b.cost - reward * b.stems).min().unwrap_or(NEVER)
        });
        cells.fold(needs, i64::saturating_add)
    }
}
