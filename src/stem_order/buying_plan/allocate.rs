//! From what was found to the plan that is handed out: lines, deliveries with their fees, and which stems serve
//! which requirement. Imports the plain values, the model, what was found, the transport of stems and the check.

use std::collections::BTreeMap;

use super::check::check;
use super::model::{Model, Wanted, stock_serves};
use super::search::Found;
use super::transport::Transport;
use super::{Day, PackLine, Plan, PlannedDelivery, Problem, Share, Source, Unmet};

/// What is said of a plan beside its packs.
pub(super) struct Outline<'a> {
    /// Requirements that are met.
    pub(super) active: &'a [usize],
    pub(super) unmet: &'a [Unmet],
    pub(super) lower_bound: i64,
    pub(super) ties_settled: bool,
}

pub(super) fn finish(problem: &Problem, outline: &Outline, blocks: &[Model], found: &[Found]) -> Plan {
    let packs = lines(blocks, found);
    let deliveries = deliveries(problem, &packs);
    let goods: i64 = deliveries.iter().map(|d| d.goods).sum();
    let cost = goods + deliveries.iter().map(|d| d.fee).sum::<i64>();
    let mut plan = Plan {
        allocation: allocation(problem, outline.active, &packs),
        packs,
        cost,
        goods,
        deliveries,
        lower_bound: outline.lower_bound,
        proven: outline.lower_bound == cost,
        ties_settled: outline.ties_settled,
        unmet: outline.unmet.to_vec(),
        fault: None,
    };
    if let Err(fault) = check(problem, &plan) {
        plan.proven = false;
        plan.ties_settled = false;
        plan.fault = Some(fault.to_string());
    }
    plan
}

fn lines(blocks: &[Model], found: &[Found]) -> Vec<PackLine> {
    let mut lines: BTreeMap<(usize, Day), i64> = BTreeMap::new();
    for (model, found) in blocks.iter().zip(found) {
        for &(component, choice, packs) in &found.packs {
            let choice = &model.components[component].choices[choice];
            *lines.entry((choice.offer, choice.date)).or_default() += packs;
        }
    }
    lines.into_iter().map(|((offer, date), packs)| PackLine { offer, date, packs }).collect()
}

/// The deliveries with new goods, and those that come anyway.
fn deliveries(problem: &Problem, lines: &[PackLine]) -> Vec<PlannedDelivery> {
    let mut goods: BTreeMap<(Day, usize), i64> = BTreeMap::new();
    for (supplier, terms) in problem.suppliers.iter().enumerate() {
        goods.extend(terms.committed.iter().map(|committed| ((committed.date, supplier), 0)));
    }
    for line in lines {
        let offer = &problem.offers[line.offer];
        let Some(supplier) = problem.suppliers.iter().position(|s| s.id == offer.supplier) else { continue };
        *goods.entry((line.date, supplier)).or_default() += line.packs * offer.price;
    }
    let planned = goods.into_iter().map(|((date, supplier), goods)| {
        let terms = &problem.suppliers[supplier];
        let value = goods.saturating_add(terms.committed_on(date).unwrap_or(0));
        let waived = terms.free_over.is_some_and(|over| value >= over);
        PlannedDelivery { supplier, date, goods, fee: if waived { 0 } else { terms.fee } }
    });
    planned.collect()
}

/// Stock first, then the latest stems.
fn allocation(problem: &Problem, active: &[usize], lines: &[PackLine]) -> Vec<Share> {
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
    let mut sources_of: Vec<Vec<usize>> = vec![Vec::new(); problem.requirements.len()];
    let wanted = Wanted::new(problem, active);
    for (at, &((source, material), _)) in supplies.iter().enumerate() {
        match source {
            Source::Stock(lot) => {
                let takers = active.iter().filter(|&&r| stock_serves(problem, r, lot));
                takers.for_each(|&r| sources_of[r].push(at));
            }
            Source::Delivery(_, date) => wanted.served(material, date).for_each(|r| sources_of[r].push(at)),
        }
    }
    let allowed = active.iter().map(|&r| std::mem::take(&mut sources_of[r])).collect();
    let demands: Vec<i64> = active.iter().map(|&r| problem.requirements[r].stems).collect();
    // Should stems be short after all, the check says so: there are no shares then.
    let flow =
        Transport::new(supplies.iter().map(|s| s.1).collect(), allowed).assign(&demands).unwrap_or_default();
    let mut shares = Vec::new();
    for (&requirement, served) in active.iter().zip(&flow) {
        for &(supply, stems) in served {
            let (source, material) = supplies[supply].0;
            shares.push(Share { requirement, source, material: material.to_owned(), stems });
        }
    }
    shares
}
