//! The steps around the best choice as a small chart: total along, worth up, the budget as a line across.

use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::quotes::budget::fit::{Fit, Step};

/// The room in which steps are drawn, and the margin around it.
const WIDTH: i64 = 560;
const HEIGHT: i64 = 180;
const MARGIN: i64 = 20;

/// What is drawn.
#[derive(Debug, Clone)]
pub(super) struct Chart {
    /// Corners of the stair.
    pub stair: String,
    /// One a step: across, down, whether it is the best.
    pub points: Vec<(i64, i64, bool)>,
    /// Where the budget is.
    pub budget: i64,
    /// What it shows, for those who do not see it.
    pub words: String,
}

/// A chart of at least two steps.
pub(super) fn chart(steps: &[&Step], fit: &Fit, budget: Money, formats: Formats) -> Option<Chart> {
    let (first, last) = (steps.first()?, steps.last()?);
    if steps.len() < 2 {
        return None;
    }
    let from = first.total.min(budget).minor();
    let until = last.total.max(budget).minor();
    let (low, high) = (first.worth, last.worth);
    let across = |total: i64| MARGIN + part(total - from, until - from, WIDTH);
    let down = |worth: i64| MARGIN + HEIGHT - part(worth - low, high - low, HEIGHT);
    let best = fit.best.and_then(|best| fit.steps.get(best));
    let points: Vec<(i64, i64, bool)> = steps
        .iter()
        .map(|step| (across(step.total.minor()), down(step.worth), best.is_some_and(|best| best == *step)))
        .collect();
    let share = |step: &Step| fit.worth_share(step).unwrap_or(0) / 10;
    let words = format!(
        "From {} worth {} % to {} worth {} %; the budget is {}",
        formats.money(first.total),
        share(first),
        formats.money(last.total),
        share(last),
        formats.money(budget)
    );
    Some(Chart { stair: stair(&points), points, budget: across(budget.minor()), words })
}

/// A part of a length; the whole of it where there is nothing to divide.
fn part(of: i64, whole: i64, length: i64) -> i64 {
    if whole <= 0 { length } else { of.saturating_mul(length) / whole }
}

/// Each step holds until the next total: across, then up.
fn stair(points: &[(i64, i64, bool)]) -> String {
    let mut corners: Vec<String> = Vec::new();
    let mut before: Option<i64> = None;
    for (across, down, _) in points {
        corners.extend(before.map(|before| format!("{across},{before}")));
        corners.push(format!("{across},{down}"));
        before = Some(*down);
    }
    corners.join(" ")
}
