//! Problems read from a file and answers written to one: a problem, or a list of problems, as an object with
//! `suppliers`, `offers`, `requirements` and, where there is any, `stock`; an `id` or a `name` is handed back with the
//! answer. Imports the plain values.

use std::collections::BTreeSet;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::{Day, Plan, Problem, Reason};

/// The most stems of one requirement, and of a stock lot.
const MOST_STEMS: i64 = 1_000_000;
/// The largest amount of money, in minor units.
const MOST_MONEY: i64 = 10_000_000_000;

/// A problem with its name and, in a file of check values, what its optimum is known to be.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Case {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<serde_json::Value>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    #[serde(flatten)]
    pub problem: Problem,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub optimum: Option<i64>,
}

/// A plan in the words of its file: supplier ids and materials in the place of numbers.
#[derive(Clone, Debug, Serialize)]
pub struct Answer {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<serde_json::Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    pub cost: i64,
    pub goods: i64,
    pub fees: i64,
    pub proven: bool,
    /// No plan of the same cost ranks before it.
    pub ties_settled: bool,
    pub lower_bound: i64,
    /// What a better plan could save at most.
    pub gap: i64,
    pub deliveries: Vec<AnsweredDelivery>,
    pub unmet: Vec<AnsweredUnmet>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fault: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
pub struct AnsweredDelivery {
    pub supplier: String,
    pub date: Day,
    pub goods: i64,
    pub fee: i64,
    pub lines: Vec<AnsweredLine>,
}

#[derive(Clone, Debug, Serialize)]
pub struct AnsweredLine {
    /// Index into the problem's offers.
    pub offer: usize,
    pub material: String,
    pub size: i64,
    pub price: i64,
    pub packs: i64,
}

/// A requirement that is not met.
#[derive(Clone, Debug, Serialize)]
pub struct AnsweredUnmet {
    /// Index into the problem's requirements.
    pub requirement: usize,
    pub event: String,
    pub accepts: Vec<String>,
    pub stems: i64,
    /// Stems on hand that could serve a part of it.
    pub stock: i64,
    pub reason: Reason,
}

/// Why a problem is not planned.
#[derive(Debug)]
pub enum Unreadable {
    Json(serde_json::Error),
    /// What makes no sense, as a sentence.
    Senseless(String),
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Json(error) => write!(f, "This is not a problem in the form expected: {error}."),
            Self::Senseless(sentence) => write!(f, "{sentence}"),
        }
    }
}

impl std::error::Error for Unreadable {}

/// One problem, or a list of problems.
pub fn read(text: &str) -> Result<Vec<Case>, Unreadable> {
    let cases: Vec<Case> = if text.trim_start().starts_with('[') {
        serde_json::from_str(text).map_err(Unreadable::Json)?
    } else {
        vec![serde_json::from_str(text).map_err(Unreadable::Json)?]
    };
    for (number, case) in cases.iter().enumerate() {
        let name = case.name.clone().unwrap_or_else(|| format!("Problem {}", number + 1));
        senseless(&case.problem)
            .map_or(Ok(()), |what| Err(Unreadable::Senseless(format!("{name}: {what}."))))?;
    }
    Ok(cases)
}

/// What no order can say: numbers out of range, and names of nobody.
fn senseless(problem: &Problem) -> Option<String> {
    let mut known = BTreeSet::new();
    for supplier in &problem.suppliers {
        let committed = supplier.committed.iter().map(|committed| committed.goods);
        let money = [supplier.fee, supplier.min_order, supplier.free_over.unwrap_or(0)];
        if money.into_iter().chain(committed).any(|amount| !(0..=MOST_MONEY).contains(&amount)) {
            return Some(format!(
                "an amount of supplier \"{}\" is below 0 or over {MOST_MONEY}",
                supplier.id
            ));
        }
        if !known.insert(supplier.id.as_str()) {
            return Some(format!("supplier \"{}\" is there twice", supplier.id));
        }
    }
    for (number, offer) in problem.offers.iter().enumerate() {
        let packs = [offer.min_packs.unwrap_or(1), offer.max_packs.unwrap_or(1)];
        if !known.contains(offer.supplier.as_str()) {
            return Some(format!("offer {number} names supplier \"{}\", which is not there", offer.supplier));
        }
        if !(1..=MOST_STEMS).contains(&offer.size) || !(0..=MOST_MONEY).contains(&offer.price) {
            return Some(format!(
                "offer {number} has a size below 1, a price below 0, or too large a number"
            ));
        }
        if packs.iter().any(|packs| !(0..=MOST_STEMS).contains(packs)) {
            return Some(format!("offer {number} has least or most packs below 0 or over {MOST_STEMS}"));
        }
    }
    let wanted = problem.requirements.iter().position(|r| !(0..=MOST_STEMS).contains(&r.stems));
    let stock = problem.stock.iter().position(|lot| !(0..=MOST_STEMS).contains(&lot.stems));
    wanted
        .map(|number| format!("requirement {number} has stems below 0 or over {MOST_STEMS}"))
        .or_else(|| stock.map(|number| format!("stock lot {number} has stems below 0 or over {MOST_STEMS}")))
}

/// The plan by delivery.
#[must_use]
pub fn answer(case: &Case, plan: &Plan) -> Answer {
    let problem = &case.problem;
    let deliveries = plan.deliveries.iter().map(|delivery| {
        let supplier = problem.suppliers[delivery.supplier].id.clone();
        let here = plan
            .packs
            .iter()
            .filter(|line| line.date == delivery.date && problem.offers[line.offer].supplier == supplier);
        let lines = here.map(|line| {
            let offer = &problem.offers[line.offer];
            AnsweredLine {
                offer: line.offer,
                material: offer.material.clone(),
                size: offer.size,
                price: offer.price,
                packs: line.packs,
            }
        });
        let lines = lines.collect();
        AnsweredDelivery { supplier, date: delivery.date, goods: delivery.goods, fee: delivery.fee, lines }
    });
    let unmet = plan.unmet.iter().map(|unmet| {
        let wanted = &problem.requirements[unmet.requirement];
        AnsweredUnmet {
            requirement: unmet.requirement,
            event: wanted.event.clone(),
            accepts: wanted.accepts.clone(),
            stems: unmet.stems,
            stock: unmet.stock,
            reason: unmet.reason.clone(),
        }
    });
    Answer {
        id: case.id.clone(),
        name: case.name.clone(),
        cost: plan.cost,
        goods: plan.goods,
        fees: plan.cost - plan.goods,
        proven: plan.proven,
        ties_settled: plan.ties_settled,
        lower_bound: plan.lower_bound,
        gap: plan.cost - plan.lower_bound,
        deliveries: deliveries.collect(),
        unmet: unmet.collect(),
        fault: plan.fault.clone(),
    }
}
