//! The independent check of a plan: looks at the problem and the plan only, in whole numbers, and shares no code
//! with the search. Imports the plain values.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use super::{Day, Plan, Problem, Source};

/// What is wrong with a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// The line names an offer that cannot be had on its date, twice, or with no packs.
    Line {
        offer: usize,
        date: Day,
    },
    LeastPacks {
        offer: usize,
        date: Day,
    },
    MostPacks {
        offer: usize,
    },
    /// A delivery is missing, listed without goods, or its goods or fee are not what its lines come to.
    Delivery {
        supplier: usize,
        date: Day,
    },
    LeastOrder {
        supplier: usize,
        date: Day,
    },
    /// Goods, cost, bound and proof do not agree with the lines.
    Cost,
    /// The requirement is served by stems that it does not accept or that arrive outside its window.
    Share {
        requirement: usize,
    },
    /// The requirement is served with more or fewer stems than it asks for.
    Served {
        requirement: usize,
        stems: i64,
    },
    /// More stems are handed out than the source has.
    Source {
        source: Source,
        material: String,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Line { offer, date } => write!(f, "offer {offer} cannot be had like that on day {date}"),
            Self::LeastPacks { offer, date } => write!(f, "offer {offer} has too few packs on day {date}"),
            Self::MostPacks { offer } => write!(f, "offer {offer} has too many packs"),
            Self::Delivery { supplier, date } => {
                write!(f, "the delivery of supplier {supplier} on day {date} does not add up")
            }
            Self::LeastOrder { supplier, date } => {
                write!(f, "the delivery of supplier {supplier} on day {date} is under the least order")
            }
            Self::Cost => write!(f, "the cost does not add up"),
            Self::Share { requirement } => {
                write!(f, "requirement {requirement} is served by what it does not accept")
            }
            Self::Served { requirement, stems } => {
                write!(f, "requirement {requirement} is served with {stems} stems")
            }
            Self::Source { source, material } => write!(f, "too many stems of {material} from {source:?}"),
        }
    }
}

/// Verifies cover, windows, least and most packs, least orders, fees and cost.
pub fn check(problem: &Problem, plan: &Plan) -> Result<(), Fault> {
    lines(problem, plan)?;
    caps(problem, plan)?;
    deliveries(problem, plan)?;
    cost(plan)?;
    shares(problem, plan)?;
    sources(problem, plan)
}

fn lines(problem: &Problem, plan: &Plan) -> Result<(), Fault> {
    let mut seen = BTreeSet::new();
    for line in &plan.packs {
        let fault = Fault::Line { offer: line.offer, date: line.date };
        let Some(offer) = problem.offers.get(line.offer) else { return Err(fault) };
        let supplier = problem.suppliers.iter().find(|s| s.id == offer.supplier);
        let delivered = supplier.is_some_and(|s| s.dates.contains(&line.date));
        let offered = offer.dates.as_ref().is_none_or(|dates| dates.contains(&line.date));
        if line.packs < 1 || !delivered || !offered || !seen.insert((line.offer, line.date)) {
            return Err(fault);
        }
        if line.packs < offer.min_packs.unwrap_or(1) {
            return Err(Fault::LeastPacks { offer: line.offer, date: line.date });
        }
    }
    Ok(())
}

fn caps(problem: &Problem, plan: &Plan) -> Result<(), Fault> {
    for (number, offer) in problem.offers.iter().enumerate() {
        let packs: i64 = plan.packs.iter().filter(|line| line.offer == number).map(|line| line.packs).sum();
        if offer.max_packs.is_some_and(|most| packs > most) {
            return Err(Fault::MostPacks { offer: number });
        }
    }
    Ok(())
}

fn deliveries(problem: &Problem, plan: &Plan) -> Result<(), Fault> {
    let mut goods: BTreeMap<(usize, Day), i64> = BTreeMap::new();
    for line in &plan.packs {
        let offer = &problem.offers[line.offer];
        let supplier = problem.suppliers.iter().position(|s| s.id == offer.supplier).unwrap_or(usize::MAX);
        *goods.entry((supplier, line.date)).or_default() += line.packs * offer.price;
    }
    // What comes anyway must be listed as well.
    let mut coming: BTreeMap<(usize, Day), i64> = BTreeMap::new();
    for (supplier, terms) in problem.suppliers.iter().enumerate() {
        for committed in &terms.committed {
            *coming.entry((supplier, committed.date)).or_default() += committed.goods;
            goods.entry((supplier, committed.date)).or_default();
        }
    }
    for planned in &plan.deliveries {
        let key = (planned.supplier, planned.date);
        let fault = Fault::Delivery { supplier: key.0, date: key.1 };
        let Some(spent) = goods.remove(&key) else { return Err(fault) };
        let terms = &problem.suppliers[planned.supplier];
        let value = spent + coming.get(&key).copied().unwrap_or(0);
        let fee = if terms.free_over.is_some_and(|over| value >= over) { 0 } else { terms.fee };
        if planned.goods != spent || planned.fee != fee {
            return Err(fault);
        }
        if value < terms.min_order && (spent > 0 || !coming.contains_key(&key)) {
            return Err(Fault::LeastOrder { supplier: key.0, date: key.1 });
        }
    }
    match goods.keys().next() {
        Some(&(supplier, date)) => Err(Fault::Delivery { supplier, date }),
        None => Ok(()),
    }
}

fn cost(plan: &Plan) -> Result<(), Fault> {
    let goods: i64 = plan.deliveries.iter().map(|d| d.goods).sum();
    let fees: i64 = plan.deliveries.iter().map(|d| d.fee).sum();
    let proof = plan.lower_bound <= plan.cost
        && plan.proven == (plan.lower_bound == plan.cost)
        && (plan.proven || !plan.ties_settled);
    if plan.goods == goods && plan.cost == goods + fees && proof { Ok(()) } else { Err(Fault::Cost) }
}

fn shares(problem: &Problem, plan: &Plan) -> Result<(), Fault> {
    let mut served = vec![0; problem.requirements.len()];
    for share in &plan.allocation {
        let fault = Fault::Share { requirement: share.requirement };
        let Some(wanted) = problem.requirements.get(share.requirement) else { return Err(fault) };
        let in_window = match share.source {
            Source::Delivery(_, date) => (wanted.earliest..=wanted.latest).contains(&date),
            Source::Stock(lot) => problem.stock.get(lot).is_some_and(|stock| {
                stock.material == share.material
                    && stock.from <= wanted.latest
                    && stock.until >= wanted.earliest
            }),
        };
        if share.stems < 1 || !in_window || !wanted.accepts.contains(&share.material) {
            return Err(fault);
        }
        served[share.requirement] += share.stems;
    }
    for (requirement, &stems) in served.iter().enumerate() {
        let left_out = plan.unmet.iter().any(|u| u.requirement == requirement);
        let wanted = if left_out { 0 } else { problem.requirements[requirement].stems.max(0) };
        if stems != wanted {
            return Err(Fault::Served { requirement, stems });
        }
    }
    Ok(())
}

fn sources(problem: &Problem, plan: &Plan) -> Result<(), Fault> {
    let mut left: BTreeMap<(Source, &str), i64> = BTreeMap::new();
    for (lot, stock) in problem.stock.iter().enumerate() {
        left.insert((Source::Stock(lot), stock.material.as_str()), stock.stems);
    }
    for line in &plan.packs {
        let offer = &problem.offers[line.offer];
        let supplier = problem.suppliers.iter().position(|s| s.id == offer.supplier).unwrap_or(usize::MAX);
        let source = Source::Delivery(supplier, line.date);
        *left.entry((source, offer.material.as_str())).or_default() += line.packs * offer.size;
    }
    for share in &plan.allocation {
        let spare = left.entry((share.source, share.material.as_str())).or_default();
        *spare -= share.stems;
        if *spare < 0 {
            return Err(Fault::Source { source: share.source, material: share.material.clone() });
        }
    }
    Ok(())
}
