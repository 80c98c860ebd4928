//! Twelve months as bars: up to three a month, side by side, on one baseline.
//!
//! May import: `ground`.

use crate::ground::dates::MONTHS_SHORT;

/// The drawing's height; the bars' room within it; the first month's left edge and each month's width.
const HEIGHT: i64 = 180;
const TOP: i64 = 24;
const LEFT: i64 = 12;
const MONTH: i64 = 48;
const GAP: i64 = 8;

/// What is drawn, in a view box of 600 × 240.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chart {
    /// The bars that are not nothing.
    pub bars: Vec<Bar>,
    /// Where nothing is.
    pub baseline: i64,
    /// Months: across, name.
    pub months: Vec<(i64, &'static str)>,
    /// Where the highest bar of a month's names its figure: across, down, figure.
    pub figures: Vec<(i64, i64, i64)>,
}

/// One bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bar {
    /// Its left edge.
    pub x: i64,
    /// Its upper edge.
    pub y: i64,
    /// How wide.
    pub width: i64,
    /// How high, at least 1.
    pub height: i64,
    /// Which of the month's, from 0.
    pub series: usize,
}

/// Bars for twelve months; `series` are their heights, each of twelve figures. All are drawn to one scale, what is below
/// nothing hangs from the baseline. None where all is nothing.
#[must_use]
pub fn chart(series: &[[i64; 12]]) -> Option<Chart> {
    let all = || series.iter().flatten().copied();
    let (high, low) = (all().max().unwrap_or(0).max(0), all().min().unwrap_or(0).min(0));
    let span = high.saturating_sub(low);
    if span == 0 {
        return None;
    }
    let tall = |figure: i64| scaled(figure.saturating_abs(), span);
    let baseline = TOP + tall(high);
    let width = (MONTH - GAP) / i64::try_from(series.len().max(1)).unwrap_or(1);
    let mut bars = Vec::new();
    let mut figures = Vec::new();
    for (month, at) in (0_usize..12).zip(0_i64..) {
        let left = LEFT + at * MONTH + GAP / 2;
        for (place, (row, across)) in series.iter().zip(0_i64..).enumerate() {
            let figure = row[month];
            if figure == 0 {
                continue;
            }
            let height = tall(figure).max(1);
            let y = if figure > 0 { baseline - height } else { baseline };
            bars.push(Bar { x: left + across * width, y, width, height, series: place });
        }
        if let Some(most) = series.iter().map(|row| row[month]).max().filter(|most| *most > 0) {
            figures.push((LEFT + at * MONTH + MONTH / 2, baseline - tall(most).max(1) - 6, most));
        }
    }
    let months = MONTHS_SHORT.iter().zip(0_i64..).map(|(name, at)| (LEFT + at * MONTH + MONTH / 2, *name));
    Some(Chart { bars, baseline, months: months.collect(), figures })
}

/// figure ÷ span of the height, whatever the figures' size.
fn scaled(figure: i64, span: i64) -> i64 {
    let part = i128::from(figure) * i128::from(HEIGHT) / i128::from(span.max(1));
    i64::try_from(part).unwrap_or(HEIGHT)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_loss_hangs_below_the_line() {
        let mut figures = [0; 12];
        (figures[0], figures[1]) = (30, -10);
        let chart = chart(&[figures]).unwrap();
        assert_eq!(chart.baseline, TOP + 135);
        let told: Vec<_> = chart.bars.iter().map(|bar| (bar.y, bar.height)).collect();
        assert_eq!(told, [(TOP, 135), (TOP + 135, 45)]);
        assert_eq!(super::chart(&[[0; 12]]), None);
    }

    proptest! {
        /// Whatever is drawn stays within its room.
        #[test]
        fn bars_stay_within(series in prop::collection::vec(prop::array::uniform12(any::<i32>().prop_map(i64::from)), 1..4)) {
            for bar in chart(&series).iter().flat_map(|chart| &chart.bars) {
                prop_assert!(bar.x >= LEFT && bar.x + bar.width <= 600);
                prop_assert!(bar.y >= TOP - 1 && bar.y + bar.height <= TOP + HEIGHT + 1, "{bar:?}");
            }
        }
    }
}
