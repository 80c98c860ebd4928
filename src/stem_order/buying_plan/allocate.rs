//! From what was found to the plan that is handed out: lines, deliveries with their fees, and which stems serve
//! which requirement. Imports the plain values, the screen, the transport of stems and the check.

use std::collections::BTreeMap;

use super::check::check;
use super::model::{serves, stock_serves};
use super::screen::Screened;
use super::search::Found;
use super::transport::Transport;
use super::{Day, PackLine, Plan, PlannedDelivery, Problem, Share, Source};

pub(super) fn finish(problem: &Problem, screened: &Screened, found: &Found, lower_bound: i64) -> Plan {
    let packs = lines(screened, found);
    let deliveries = deliveries(problem, screened, &packs);
    let goods: i64 = deliveries.iter().map(|d| d.goods).sum();
    let cost = goods + deliveries.iter().map(|d| d.fee).sum::<i64>();
    let mut plan = Plan {
        allocation: allocation(problem, screened, &packs),
        packs,
        cost,
        goods,
        deliveries,
        lower_bound,
        proven: lower_bound == cost,
        unmet: screened.unmet.clone(),
        fault: None,
    };
    if let Err(fault) = check(problem, &plan) {
        plan.proven = false;
        plan.fault = Some(fault.to_string());
    }
    plan
}

fn lines(screened: &Screened, found: &Found) -> Vec<PackLine> {
    let mut lines: BTreeMap<(usize, Day), i64> = BTreeMap::new();
    for &(component, choice, packs) in &found.packs {
        let choice = &screened.model.components[component].choices[choice];
        *lines.entry((choice.offer, choice.date)).or_default() += packs;
    }
    lines.into_iter().map(|((offer, date), packs)| PackLine { offer, date, packs }).collect()
}

fn deliveries(problem: &Problem, screened: &Screened, lines: &[PackLine]) -> Vec<PlannedDelivery> {
    let mut planned = Vec::new();
    for delivery in &screened.model.deliveries {
        let terms = &problem.suppliers[delivery.supplier];
        let here = lines
            .iter()
            .filter(|line| line.date == delivery.date && problem.offers[line.offer].supplier == terms.id);
        let values: Vec<i64> = here.map(|line| line.packs * problem.offers[line.offer].price).collect();
        if values.is_empty() {
            continue;
        }
        let goods = values.iter().sum();
        let waived = terms.free_over.is_some_and(|over| goods >= over);
        let fee = if waived { 0 } else { terms.fee };
        planned.push(PlannedDelivery { supplier: delivery.supplier, date: delivery.date, goods, fee });
    }
    planned.sort_by_key(|d| (d.date, d.supplier));
    planned
}

/// Stock first, then the latest stems.
fn allocation(problem: &Problem, screened: &Screened, lines: &[PackLine]) -> Vec<Share> {
    let mut bought: BTreeMap<(Source, &str), i64> = BTreeMap::new();
    for line in lines {
        let offer = &problem.offers[line.offer];
        let Some(supplier) = problem.suppliers.iter().position(|s| s.id == offer.supplier) else { continue };
        let source = Source::Delivery(supplier, line.date);
        *bought.entry((source, offer.material.as_str())).or_default() += line.packs * offer.size;
    }
    let mut supplies: Vec<((Source, &str), i64)> = problem
        .stock
        .iter()
        .enumerate()
        .map(|(lot, stock)| ((Source::Stock(lot), stock.material.as_str()), stock.stems))
        .chain(bought)
        .collect();
    supplies.sort_by_key(|&((source, _), _)| match source {
        Source::Stock(_) => (0, 0),
        Source::Delivery(_, date) => (1, -i64::from(date)),
    });
    let may = |r: usize, source: Source, material: &str| match source {
        Source::Stock(lot) => stock_serves(problem, r, lot),
        Source::Delivery(_, date) => serves(problem, r, material, date),
    };
    let allowed = screened.active.iter().map(|&r| {
        (0..supplies.len()).filter(|&s| may(r, supplies[s].0.0, supplies[s].0.1)).collect::<Vec<usize>>()
    });
    let transport = Transport {
        demand: screened.active.iter().map(|&r| problem.requirements[r].stems).collect(),
        supply: supplies.iter().map(|s| s.1).collect(),
        links: allowed.collect(),
    };
    // Should stems be short after all, the check says so: there are no shares then.
    let flow = transport.assign().unwrap_or_default();
    let mut shares = Vec::new();
    for (&requirement, served) in screened.active.iter().zip(&flow) {
        for &(supply, stems) in served {
            let (source, material) = supplies[supply].0;
            shares.push(Share { requirement, source, material: material.to_owned(), stems });
        }
    }
    shares
}
