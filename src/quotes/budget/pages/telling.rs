//! A choice in words: what it comes to, what differs from another.

use rust_decimal::Decimal;

use super::fitting::Choosing;
use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::quotes::budget::alternatives::{By, Group, Row, Way};
use crate::quotes::budget::fit::{Fit, Step, taken};

/// So many steps are shown below the best choice, and above it.
const BELOW: usize = 3;
const ABOVE: usize = 5;

/// A step of the frontier as it is shown.
#[derive(Debug, Clone)]
pub(super) struct StepRow {
    pub total: String,
    /// `€120.00 left`, `€35.00 over`.
    pub against: String,
    pub over: bool,
    /// `96.4 %` of everything as designed.
    pub worth: String,
    /// What differs.
    pub changes: Vec<String>,
    /// Whether it is the best within the budget.
    pub is_best: bool,
}

/// A row of the best choice.
#[derive(Debug, Clone)]
pub(super) struct ChosenRow {
    pub what: String,
    pub count: i64,
    pub now: String,
    pub now_price: String,
    pub then: String,
    pub then_price: String,
    pub changes: bool,
    pub working: String,
}

pub(super) struct Words<'a> {
    pub choosing: &'a Choosing,
    pub fit: &'a Fit,
    pub budget: Money,
    pub formats: Formats,
}

/// The steps around the best choice.
pub(super) fn near(fit: &Fit) -> Vec<&Step> {
    let best = fit.best.map_or(0, |best| best + 1);
    let from = best.saturating_sub(BELOW + 1);
    fit.steps.iter().skip(from).take(best - from + ABOVE).collect()
}

impl Words<'_> {
    pub(super) fn step(&self, step: &Step, beside: Option<&Step>) -> StepRow {
        let over = step.total > self.budget;
        let apart = if over { step.total - self.budget } else { self.budget - step.total };
        let apart = self.formats.money(apart);
        let best = self.fit.best.and_then(|best| self.fit.steps.get(best));
        StepRow {
            total: self.formats.money(step.total),
            against: if over { format!("{apart} over") } else { format!("{apart} left") },
            over,
            worth: self.worth(step),
            changes: beside.map(|beside| self.changes(beside, step)).unwrap_or_default(),
            is_best: best.is_some_and(|best| best == step),
        }
    }

    fn worth(&self, step: &Step) -> String {
        let share = self.fit.worth_share(step).map(|tenths| Decimal::new(tenths, 1));
        share.map_or_else(String::new, |share| format!("{}\u{a0}%", self.formats.number(share, 1)))
    }

    /// `Low bowl × 14, Long room: Low bowl, lush`.
    fn changes(&self, from: &Step, to: &Step) -> Vec<String> {
        let groups = self.choosing.offered.groups.iter().zip(from.picks.iter().zip(&to.picks));
        let differing = groups.filter(|(_, (from, to))| from != to);
        differing.flat_map(|(group, (_, to))| self.change(group, *to)).collect()
    }

    fn change(&self, group: &Group, to: usize) -> Vec<String> {
        let Some(way) = group.ways.get(to) else { return Vec::new() };
        let rows = group.rows.iter().zip(&way.rows);
        rows.map(|(row, made)| format!("{} × {}: {}", self.name(row), row.count, made.name)).collect()
    }

    /// Where and what a row is: `Long room, Low bowl`.
    fn name(&self, row: &Row) -> String {
        let Some(line) = self.choosing.draft.lines.get(row.line) else { return String::new() };
        if line.place.is_empty() { line.name.clone() } else { format!("{}, {}", line.place, line.name) }
    }

    pub(super) fn chosen(&self, step: &Step) -> Vec<ChosenRow> {
        let groups = taken(&self.choosing.offered.groups, &step.picks);
        groups.flat_map(|(group, way)| self.chosen_rows(group, way)).collect()
    }

    fn chosen_rows(&self, group: &Group, way: &Way) -> Vec<ChosenRow> {
        let Some(now) = group.ways.first() else { return Vec::new() };
        let rows = group.rows.iter().enumerate().zip(now.rows.iter().zip(&way.rows));
        rows.map(|((place, row), (before, after))| ChosenRow {
            what: self.name(row),
            count: row.count,
            now: before.name.clone(),
            now_price: self.formats.money(before.price),
            then: if after.by == By::AsTheyStand { "stays".into() } else { after.name.clone() },
            then_price: self.formats.money(after.price),
            changes: after.by != By::AsTheyStand,
            working: working(group, row, place),
        })
        .collect()
    }
}

/// What each way of a row is worth.
fn working(group: &Group, row: &Row, place: usize) -> String {
    let mut ways: Vec<String> = Vec::new();
    for made in group.ways.iter().filter_map(|way| way.rows.get(place)) {
        let worth = format!("{} {}", made.name, row.weight.saturating_mul(made.worth));
        if !ways.contains(&worth) {
            ways.push(worth);
        }
    }
    format!("importance × size is {}; times the worth in per cent: {}", row.weight, ways.join(", "))
}
