//! Problems read from a file and answers written to one: a problem, or a list of problems, as an object with
//! `suppliers`, `offers`, `requirements` and, where there is any, `stock`; a `name` is handed back with the
//! answer. Imports the plain values.

use serde::{Deserialize, Serialize};

use super::{Day, Plan, Problem, Unmet};

/// A problem with its name and, in a file of check values, what its optimum is known to be.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Case {
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
    pub name: Option<String>,
    pub cost: i64,
    pub goods: i64,
    pub fees: i64,
    pub proven: bool,
    pub lower_bound: i64,
    pub deliveries: Vec<AnsweredDelivery>,
    pub unmet: Vec<Unmet>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fault: Option<String>,
}

#[derive(Clone, Debug, Serialize)]
pub struct AnsweredDelivery {
    pub supplier: String,
    pub date: Day,
    pub goods: i64,
    pub fee: i64,
    pub packs: Vec<AnsweredLine>,
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

/// One problem, or a list of problems.
pub fn read(text: &str) -> Result<Vec<Case>, serde_json::Error> {
    if text.trim_start().starts_with('[') {
        return serde_json::from_str(text);
    }
    serde_json::from_str(text).map(|case| vec![case])
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
        let packs = here.map(|line| {
            let offer = &problem.offers[line.offer];
            AnsweredLine {
                offer: line.offer,
                material: offer.material.clone(),
                size: offer.size,
                price: offer.price,
                packs: line.packs,
            }
        });
        let packs = packs.collect();
        AnsweredDelivery { supplier, date: delivery.date, goods: delivery.goods, fee: delivery.fee, packs }
    });
    Answer {
        name: case.name.clone(),
        cost: plan.cost,
        goods: plan.goods,
        fees: plan.cost - plan.goods,
        proven: plan.proven,
        lower_bound: plan.lower_bound,
        deliveries: deliveries.collect(),
        unmet: plan.unmet.clone(),
        fault: plan.fault.clone(),
    }
}
