//! The best choice within a budget, and what a little more or less would buy (C6).
//!
//! A choice is judged by the total that the quote would have, with discounts, charges and tax, reckoned by the same
//! function as the quote itself. The undominated choices come from [`super::frontier`] by what they cost under each tax rate;
//! of those the ones stay for which a higher total is worth more.
//!
//! **Exact**: with one tax rate among the pieces the total never falls when the sum of the lines rises, so no better choice is
//! missed. With several rates a discount on the whole is split over the lines to the minor unit, and tax is rounded once a
//! rate, so a choice that costs as much could differ by [`slack`] minor units; [`Fit::sure`] says whether that could matter.
//!
//! May import: plain values, the quote's draft, prices and totals.

use super::alternatives::{AS_DESIGNED, By, Group, Way};
use super::frontier::{Cost, TooMany, frontier};
use crate::ground::ids::TaxRateId;
use crate::ground::money::Money;
use crate::quotes::draft::Draft;
use crate::quotes::pricing::Priced;
use crate::quotes::totals::{Charge, Discount, Line, Terms, reckon};

/// Choices by their total, and the best within the budget.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fit {
    /// Each dearer one is worth more.
    pub steps: Vec<Step>,
    /// As the quote stands.
    pub as_it_stands: Step,
    /// The best within the budget, by its place among the steps; none fits.
    pub best: Option<usize>,
    /// Whether no better one could be hidden by rounding.
    pub sure: bool,
    /// What everything as designed is worth.
    pub full_worth: i64,
}

/// A choice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// What the quote comes to.
    pub total: Money,
    /// The sum of weighted worth.
    pub worth: i64,
    /// Which way each group is made.
    pub picks: Vec<usize>,
}

/// Finds the best choice within a budget.
///
/// # Errors
/// Too many choices worth having.
pub fn fit(draft: &Draft, priced: &Priced, groups: &[Group], budget: Money) -> Result<Fit, TooMany> {
    let rates = rates(priced, groups);
    let costs: Vec<Vec<Cost>> = groups.iter().map(|group| costs(priced, group, &rates)).collect();
    let total = |picks: &[usize]| reckon(&terms(draft, priced, groups, picks)).sums.total;
    let choices = frontier(&costs)?.into_iter();
    let steps: Vec<Step> = choices
        .map(|choice| Step { total: total(&choice.picks), worth: choice.worth, picks: choice.picks })
        .collect();
    let slack = slack(draft, priced, rates.len());
    let steps = rising(steps);
    let best = steps.iter().rposition(|step| step.total <= budget);
    let next = steps.get(best.map_or(0, |best| best + 1));
    let sure = slack == Money::ZERO || next.is_none_or(|next| next.total > budget + slack);
    let as_it_stands = as_it_stands(groups, &total);
    let weight = |group: &Group| group.rows.iter().map(|row| row.weight).sum::<i64>();
    let full_worth = groups.iter().map(weight).sum::<i64>() * AS_DESIGNED;
    Ok(Fit { steps, as_it_stands, best, sure, full_worth })
}

impl Fit {
    /// What a step is worth, in tenths of a per cent of everything as designed; none where nothing matters.
    #[must_use]
    pub fn worth_share(&self, step: &Step) -> Option<i64> {
        (self.full_worth > 0).then(|| step.worth.saturating_mul(1000) / self.full_worth)
    }
}

/// By how much two quotes with the same sums by rate can differ, in minor units: nothing with one rate; else a unit of tax
/// for each rate, and a unit for each line where a discount on the whole is split over them.
#[must_use]
pub fn slack(draft: &Draft, priced: &Priced, rates: usize) -> Money {
    let split = draft.discount != Discount::None;
    let mut all: Vec<TaxRateId> = priced.lines.iter().map(|line| line.line.tax.id).collect();
    all.sort_unstable();
    all.dedup();
    let units = match (split, all.len(), rates) {
        (true, 2.., _) => all.len() + priced.lines.len(),
        (false, _, 2..) => rates,
        _ => 0,
    };
    Money::from_minor(i64::try_from(units).unwrap_or(i64::MAX))
}

/// The tax rates of the rows in which there is something to choose.
fn rates(priced: &Priced, groups: &[Group]) -> Vec<TaxRateId> {
    let rows = groups.iter().flat_map(|group| &group.rows);
    let mut rates: Vec<TaxRateId> =
        rows.filter_map(|row| Some(priced.lines.get(row.line)?.line.tax.id)).collect();
    rates.sort_unstable();
    rates.dedup();
    rates
}

fn costs(priced: &Priced, group: &Group, rates: &[TaxRateId]) -> Vec<Cost> {
    let cost = |way: &Way| {
        let mut nets = vec![0; rates.len()];
        for (row, made) in group.rows.iter().zip(&way.rows) {
            let Some(line) = priced.lines.get(row.line) else { continue };
            let Some(rate) = rates.iter().position(|rate| *rate == line.line.tax.id) else { continue };
            let one = Line {
                count: row.count.into(),
                price: made.price,
                discount: line.line.discount,
                tax: line.line.tax,
            };
            nets[rate] += reckon(&Terms { lines: vec![one], ..Terms::default() }).sums.lines.minor();
        }
        Cost { nets, worth: group.worth(way) }
    };
    group.ways.iter().map(cost).collect()
}

/// The quote with a choice taken.
fn terms(draft: &Draft, priced: &Priced, groups: &[Group], picks: &[usize]) -> Terms {
    let mut chosen: Vec<Option<Money>> = priced.lines.iter().map(|line| line.price).collect();
    for (group, way) in taken(groups, picks) {
        for (row, made) in group.rows.iter().zip(&way.rows) {
            if let Some(slot) = chosen.get_mut(row.line) {
                *slot = Some(made.price).filter(|_| made.by != By::LeftOut);
            }
        }
    }
    let lines = priced.lines.iter().zip(chosen).filter_map(|(line, price)| {
        let (discount, tax) = (line.line.discount, line.line.tax);
        Some(Line { count: line.line.made.count?.into(), price: price?, discount, tax })
    });
    Terms {
        lines: lines.collect(),
        discount: draft.discount,
        charges: draft.charges.iter().map(|(_, rule, tax)| Charge { rule: *rule, tax: *tax }).collect(),
        inclusive: draft.inclusive,
    }
}

/// Each group with the way that was picked.
pub fn taken<'a>(groups: &'a [Group], picks: &'a [usize]) -> impl Iterator<Item = (&'a Group, &'a Way)> {
    groups.iter().zip(picks).filter_map(|(group, pick)| Some((group, group.ways.get(*pick)?)))
}

/// By total; only those that are worth more than every cheaper one.
fn rising(mut steps: Vec<Step>) -> Vec<Step> {
    steps.sort_by(|a, b| (a.total, -a.worth, &a.picks).cmp(&(b.total, -b.worth, &b.picks)));
    let mut most = i64::MIN;
    steps.retain(|step| {
        let more = step.worth > most;
        most = most.max(step.worth);
        more
    });
    steps
}

fn as_it_stands(groups: &[Group], total: &impl Fn(&[usize]) -> Money) -> Step {
    let picks = vec![0; groups.len()];
    let worth = |group: &Group| group.ways.first().map_or(0, |way| group.worth(way));
    Step { total: total(&picks), worth: groups.iter().map(worth).sum(), picks }
}

#[cfg(test)]
mod tests;
