//! The buying plan: which packs to buy, from whom, for which delivery, so that every event has its stems
//! inside its arrival window at the least total cost (calculation C3).
//!
//! Pure: knows no database, page, clock or floating-point number. Imports nothing but `serde` for the form of
//! its plain values. Money is whole minor units, stems and packs are whole numbers, days are plain day numbers.
//!
//! **What is decided.** A *delivery* is a supplier on a date. A delivery that is used costs the supplier's fee,
//! unless the goods on it come to `free_over` or more, and its goods must come to the least order. An offer is
//! bought in whole packs: on a delivery that uses it at least `min_packs`, over all its dates together at most
//! `max_packs`. A stem serves one requirement that accepts its material and whose window holds the date.
//!
//! **Cost** = sum of packs × price + sum of fees, in minor units, never rounded since all parts are whole.
//!
//! **How.** With the usable deliveries given, materials that no requirement ties together are bought
//! independently: small covering problems (`cover`), solved exactly and remembered. Around them a branch and
//! bound decides which deliveries are used (`search`). Where a least order binds, materials are tied by the
//! money spent on a delivery: prices for reaching it give a bound, tables of near-best purchases the exact
//! answer (`close`). With the least cost known, the same search settles which of the plans that cost it is taken
//! (`ties`). Every plan is re-verified (`check`) before it is handed out.
//!
//! # Example
//! ```
//! # use trug::stem_order::buying_plan::{json, plan};
//! let problem = json::read(r#"{"suppliers":[{"id":"A","fee":500,"min_order":0,"dates":[3]}],
//!   "offers":[{"supplier":"A","material":"rose","size":10,"price":650},
//!             {"supplier":"A","material":"rose","size":25,"price":1500}],
//!   "requirements":[{"event":"Friday","accepts":["rose"],"stems":43,"earliest":2,"latest":3}]}"#)
//!   .unwrap().remove(0).problem;
//! let plan = plan(&problem, &mut || true);
//! assert_eq!((plan.cost, plan.proven), (3300, true)); // 2 × 10 and 1 × 25, and the fee
//! ```

mod allocate;
mod ask;
mod canon;
mod cell;
pub mod check;
mod close;
mod component;
mod cover;
mod days;
mod dual;
mod fill;
mod first;
mod hall;
pub mod json;
mod known;
mod labels;
mod measure;
mod model;
mod options;
mod price;
mod reduce;
mod screen;
mod search;
mod set;
mod smooth;
mod split;
mod ties;
mod transport;

use serde::{Deserialize, Serialize};

use allocate::Outline;
use ask::Answer;
use canon::Canon;
use model::Model;
use screen::Screened;
use search::Found;

/// A civil day as a plain number; the caller chooses day 0.
pub type Day = i32;

/// A supplier with its terms. All money in minor units.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Supplier {
    pub id: String,
    /// Paid once for each delivery that is used.
    #[serde(default)]
    pub fee: i64,
    /// The least goods value of a delivery.
    #[serde(default)]
    pub min_order: i64,
    /// Goods value of a delivery from which its fee is waived.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub free_over: Option<i64>,
    pub dates: Vec<Day>,
    /// What is ordered and paid for already.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub committed: Vec<Committed>,
}

/// Goods that come on a date in any case. They are no part of the plan's cost; the delivery's fee is, unless they
/// and what is bought beside them come to `free_over`. They count towards the least order. New packs can only come
/// with them if the date is one of the supplier's `dates`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Committed {
    pub date: Day,
    pub goods: i64,
}

/// A pack of one material at one supplier.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Offer {
    pub supplier: String,
    pub material: String,
    /// Stems a pack.
    pub size: i64,
    /// Minor units a pack.
    pub price: i64,
    /// Least packs on a delivery that has any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub min_packs: Option<i64>,
    /// Most packs over all the dates of this offer together. (Where a price list limits each delivery, every date is
    /// an offer of its own.)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_packs: Option<i64>,
    /// The supplier's dates on which this offer may be had; all of them when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dates: Option<Vec<Day>>,
}

/// Stems that an event needs, of any accepted material, arriving from `earliest` to `latest`, both included.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Requirement {
    pub event: String,
    pub accepts: Vec<String>,
    pub stems: i64,
    pub earliest: Day,
    pub latest: Day,
}

/// Usable stock on hand: free, and served first. It serves a requirement whose window meets `from..=until`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Stock {
    pub material: String,
    pub stems: i64,
    pub from: Day,
    pub until: Day,
}

/// One order to plan.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Problem {
    pub suppliers: Vec<Supplier>,
    pub offers: Vec<Offer>,
    pub requirements: Vec<Requirement>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stock: Vec<Stock>,
}

/// Packs of one offer on one date.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PackLine {
    /// Index into [`Problem::offers`].
    pub offer: usize,
    pub date: Day,
    pub packs: i64,
}

/// A delivery that the plan uses, or that comes anyway.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlannedDelivery {
    /// Index into [`Problem::suppliers`].
    pub supplier: usize,
    pub date: Day,
    /// What the plan buys on it, without goods ordered earlier.
    pub goods: i64,
    /// Zero where it is waived.
    pub fee: i64,
}

/// Where stems come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// Index into [`Problem::stock`].
    Stock(usize),
    /// Supplier (index) and date.
    Delivery(usize, Day),
}

/// Stems of one material from one source that serve one requirement.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Share {
    /// Index into [`Problem::requirements`].
    pub requirement: usize,
    pub source: Source,
    pub material: String,
    pub stems: i64,
}

/// Why a requirement cannot be met.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reason {
    /// Nobody offers an accepted material.
    NoOffer,
    /// It is offered, but no date of an offer falls in the window; `nearest` is the date that misses it least.
    NoneDeliveredInWindow { nearest: Day },
    /// The most packs allow no more than `available` stems for it beside the requirements before it.
    MostPacksTooFew { available: i64 },
    /// The delivery that would be needed cannot come to its least order: of `least` only `reachable`.
    LeastOrderNotReached { supplier: usize, date: Day, least: i64, reachable: i64 },
    /// The calculation was cut short before it had any plan.
    NotDecidedInTime,
}

/// A requirement left out of the plan. `stock` stems on hand could serve a part of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unmet {
    /// Index into [`Problem::requirements`].
    pub requirement: usize,
    pub stems: i64,
    pub stock: i64,
    pub reason: Reason,
}

/// The answer. The plan covers every requirement that is not in `unmet`.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plan {
    pub packs: Vec<PackLine>,
    /// Goods and fees together.
    pub cost: i64,
    pub goods: i64,
    pub deliveries: Vec<PlannedDelivery>,
    /// No plan for the same requirements costs less.
    pub lower_bound: i64,
    /// `lower_bound == cost`: proven optimal.
    pub proven: bool,
    /// It is proven optimal, and no plan of the same cost ranks before it (see [`plan`]).
    #[serde(default)]
    pub ties_settled: bool,
    pub allocation: Vec<Share>,
    pub unmet: Vec<Unmet>,
    /// What the check found wrong with the plan; never set unless this module is at fault.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fault: Option<String>,
}

/// The least-cost plan. `may_go_on` is asked now and then; once it says no, the best plan found so far is
/// returned with the bound proven so far. A first plan is made before it is asked at all.
///
/// Of the plans of least cost the one is taken that ranks first by, in this order:
/// 1. **leftover stems**, of which fewer are better: stems bought and on hand beyond what is met. Since what is met and
///    what is on hand is given, this is the sum of packs × size over all that is bought, fill-ups included;
/// 2. **lateness**, of which more is better: the sum of packs × size × day of arrival over all that is bought;
/// 3. **suppliers**, of whom fewer are better: those of whom the plan buys at least one pack.
///
/// That is exact where [`Plan::ties_settled`] says so, and always is unless time ran out or numbers are so large that
/// the measures do not fit beside one another. What is equal in all of this is taken as the names come, so that the
/// answer depends on the problem only and not on the order in which it lists suppliers, offers, stock and (as long as
/// all can be met) requirements. Of requirements that cannot all be met, the earlier ones are.
#[must_use]
pub fn plan(problem: &Problem, may_go_on: &mut dyn FnMut() -> bool) -> Plan {
    let mut over = false;
    let mut may_go_on = || {
        over = over || !may_go_on();
        !over
    };
    let canon = Canon::new(problem);
    let found = cheapest(&days::fewest(&canon.problem), &canon.priority, &mut may_go_on);
    let found = days::moved_later(&canon.problem, found);
    canon.back(ties::settle(&days::of_use(&canon.problem), found, &mut may_go_on))
}

/// A plan of least cost, whichever is met first.
fn cheapest(problem: &Problem, priority: &[usize], may_go_on: &mut dyn FnMut() -> bool) -> Plan {
    let mut screened = screen::screen_by(problem, priority.to_vec());
    loop {
        let blocks = screened.blocks();
        match answers(&blocks, may_go_on) {
            Ok(answers) => return finished(problem, &screened, &blocks, answers),
            Err(Unplanned::Impossible) if screened.leave_one_out(may_go_on) => {}
            Err(Unplanned::Impossible | Unplanned::Unknown) => break,
        }
    }
    plan_a_part(problem, screened)
}

fn finished(problem: &Problem, screened: &Screened, blocks: &[Model], answers: Vec<Answer>) -> Plan {
    let least =
        |(model, answer): (&Model, &Answer)| model.measure.whole(answer.lower_bound) / model.measure.unit;
    let lower_bound = blocks.iter().zip(&answers).map(least).sum::<i64>() + model::owed(problem);
    let mut active = screened.active.clone();
    active.sort_unstable();
    let unmet = &screened.unmet;
    let found: Vec<Found> = answers.into_iter().filter_map(|answer| answer.best).collect();
    let outline = Outline { active: &active, unmet, lower_bound, ties_settled: false };
    allocate::finish(problem, &outline, blocks, &found)
}

/// Why a block has no plan.
enum Unplanned {
    Impossible,
    /// There may be one.
    Unknown,
}

/// The best plan of each block.
fn answers(blocks: &[Model], may_go_on: &mut dyn FnMut() -> bool) -> Result<Vec<Answer>, Unplanned> {
    let firsts: Vec<Option<Found>> = blocks.iter().map(first::first_plan).collect();
    let mut answers: Vec<Option<Answer>> = blocks.iter().map(|_| None).collect();
    // Small blocks first, so that one that takes all the time takes it from none of them.
    let mut order: Vec<usize> = (0..blocks.len()).collect();
    order.sort_by_key(|&at| (blocks[at].deliveries.len(), blocks[at].components.len()));
    for at in order {
        let answer = ask::search(&blocks[at], firsts[at].clone(), may_go_on);
        if answer.best.is_none() {
            return Err(if answer.undecided { Unplanned::Unknown } else { Unplanned::Impossible });
        }
        answers[at] = Some(answer);
    }
    Ok(answers.into_iter().flatten().collect())
}

/// When time ran out before there was a plan for everything: a plan for the requirements of which one is found at
/// once, one after the other.
fn plan_a_part(problem: &Problem, mut screened: Screened) -> Plan {
    loop {
        let blocks = screened.blocks();
        if let Ok(answers) = answers(&blocks, &mut || false) {
            return finished(problem, &screened, &blocks, answers);
        }
        let (mut fine, mut failing) = (0, screened.active.len());
        while failing - fine > 1 {
            let middle = fine.midpoint(failing);
            let some = screened.blocks_of(problem, &screened.active[..middle]);
            let fits = some.iter().all(|model| first::first_plan(model).is_some());
            *if fits { &mut fine } else { &mut failing } = middle;
        }
        screened.leave_out(screened.active[fine], Reason::NotDecidedInTime);
    }
}
