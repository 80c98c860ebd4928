//! What ordering together saves: the same stems in the same windows, ordered event by event, and from one supplier
//! only. What lies on hand serves each need as it does in the plan, so that nothing on hand is counted twice.

use std::collections::BTreeSet;

use rust_decimal::Decimal;

use super::build::Planned;
use super::{Alone, Pooling, SingleSupplier};
use crate::ground::largest_remainder::split;
use crate::ground::money::Money;
use crate::stem_order::buying_plan::{Plan, Problem, Source};
use crate::stem_order::posed::Posed;

pub(super) fn pooling(
    planned: &Planned<'_>,
    posed: &Posed,
    plan: &Plan,
    total: Money,
    solve: &mut dyn FnMut(&Problem) -> Plan,
) -> Pooling {
    let bought = bought(posed, plan);
    let mut alone: Vec<Alone> = Vec::new();
    if planned.weekend.events.len() > 1 {
        for (event, booked) in planned.weekend.events.iter().enumerate() {
            let id = booked.event.id.to_string();
            let mut only = bought.clone();
            only.requirements.retain(|requirement| requirement.event == id);
            alone.push(by_itself(event, &solve(&only)));
        }
    }
    let weights: Vec<Decimal> = alone.iter().map(|alone| alone.total.decimal()).collect();
    for (alone, share) in alone.iter_mut().zip(split(total.minor(), &weights)) {
        alone.by_alone = Money::from_minor(share);
    }
    let (single, no_single) = match single(planned, &bought, plan, solve) {
        Ok(single) => (single, String::new()),
        Err(why) => (None, why),
    };
    Pooling { alone, single, no_single }
}

/// The problem of what the plan buys: the stems it does not serve from hand, and no stock.
fn bought(posed: &Posed, plan: &Plan) -> Problem {
    let mut problem = posed.problem.clone();
    problem.stock.clear();
    for requirement in &mut problem.requirements {
        requirement.stems = 0;
    }
    for share in &plan.allocation {
        if matches!(share.source, Source::Delivery(..)) {
            problem.requirements[share.requirement].stems += share.stems;
        }
    }
    problem.requirements.retain(|requirement| requirement.stems > 0);
    problem
}

fn by_itself(event: usize, plan: &Plan) -> Alone {
    Alone {
        event,
        packs: plan.packs.iter().map(|line| line.packs).sum(),
        goods: Money::from_minor(plan.goods),
        fees: Money::from_minor(plan.cost - plan.goods),
        total: Money::from_minor(plan.cost),
        missing: plan.unmet.iter().map(|unmet| unmet.stems).sum(),
        proven: plan.proven,
        by_alone: Money::ZERO,
    }
}

/// The best order from one supplier who has everything; or in words why there is none.
fn single(
    planned: &Planned<'_>,
    bought: &Problem,
    plan: &Plan,
    solve: &mut dyn FnMut(&Problem) -> Plan,
) -> Result<Option<SingleSupplier>, String> {
    if bought.requirements.is_empty() {
        return Ok(None);
    }
    let used: BTreeSet<usize> = plan.deliveries.iter().map(|delivery| delivery.supplier).collect();
    let mut best: Option<SingleSupplier> = None;
    let mut nearest: Option<(i64, &str)> = None;
    for (at, supplier) in planned.market.suppliers.iter().enumerate() {
        let id = supplier.id.to_string();
        let found = if used.len() == 1 && used.contains(&at) {
            plan.clone()
        } else {
            let mut only = bought.clone();
            only.offers.retain(|offer| offer.supplier == id);
            if only.offers.is_empty() {
                continue;
            }
            solve(&only)
        };
        // Stems that the plan itself lacks do not count against a supplier.
        let lacks: i64 =
            if used.contains(&at) && used.len() == 1 { 0 } else { found.unmet.iter().map(|u| u.stems).sum() };
        if lacks > 0 {
            nearest = nearest.filter(|(least, _)| *least <= lacks).or(Some((lacks, &supplier.name)));
            continue;
        }
        let total = Money::from_minor(found.cost);
        if best.as_ref().is_none_or(|best| total < best.total) {
            let (name, proven) = (supplier.name.clone(), found.proven);
            best = Some(SingleSupplier { supplier: supplier.id, name, total, proven });
        }
    }
    match (best, nearest) {
        (Some(best), _) => Ok(Some(best)),
        (None, Some((lacks, name))) => {
            Err(format!("No supplier has everything; nearest is {name}, which lacks {lacks}."))
        }
        (None, None) => Err("No supplier has everything.".into()),
    }
}
