//! The order put as a problem to the buying plan: what each event wants, from when to when, and what may be bought
//! on which delivery.
//!
//! - A requirement is one event's part of one material's need. What is loaned, what has no window and what is too
//!   much to plan is left out here, with the reason.
//! - A substitute is accepted where the designer allowed it, it is counted in the same unit, is not loaned, and,
//!   where pieces are cut, yields at least the same usable length. Each accepted material has its own window: where
//!   these differ, the materials are told apart by delivery day, so that nothing is bought too early or too late.
//! - Stock on hand serves every part that it still keeps for. Lots that keep for the same parts are one to the plan;
//!   which of them is taken is told afterwards, the oldest first.
//! - "At most so many packs" holds for each delivery.
//!
//! May import `ground`, types of earlier rooms, and the room's own calculations.

mod shelves;

pub use shelves::{Shelf, shelves, stock_uses};

use std::collections::{BTreeMap, BTreeSet};

use super::buying_plan::{self, Problem, Requirement, Stock};
use super::calendar::{Deliveries, LocalTime, delivery_days, first_day};
use super::closed_days::ClosedDays;
use super::weekend::{MaterialNeed, NeedPart, Weekend};
use super::windows::{ArrivalWindow, EmptyWindow, arrival};
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, OfferId};
use crate::ground::money::Money;
use crate::price_list::{Material, Offer, Supplier};

/// Who sells what on which delivery day.
#[derive(Debug, Clone, Default)]
pub struct Market {
    /// All suppliers.
    pub suppliers: Vec<Supplier>,
    /// What can be had on a delivery day, with the price and in the season of that day.
    pub offers: BTreeMap<Day, Vec<Offer>>,
    /// When they are closed.
    pub closed: ClosedDays,
}

/// What an event wants of one material.
#[derive(Debug, Clone)]
pub struct Want {
    /// Which need of the weekend.
    pub need: usize,
    /// Which part of it.
    pub part: usize,
    /// Each accepted material with its window; the first is the one asked for.
    pub accepts: Vec<(MaterialId, ArrivalWindow)>,
    /// Whole stems, spares included.
    pub stems: i64,
}

/// A part that is not put to the plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Which need of the weekend.
    pub need: usize,
    /// Which part of it.
    pub part: usize,
    /// Why.
    pub cause: LeftOutCause,
}

/// More stems of one material than this are not planned: the plan weighs every number of stems, so its time grows faster than
/// they do. Ten thousand boxes are not bought from a price list.
const MOST_PLANNED: i64 = 50_000;

/// Why a part is not put to the plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LeftOutCause {
    /// No day on which it could arrive.
    EmptyWindow(EmptyWindow),
    /// More stems than are planned.
    TooMany,
}

/// The problem with what its numbers stand for.
#[derive(Debug, Clone)]
pub struct Posed {
    /// For the buying plan. Its suppliers are the market's, its requirements are `wants`.
    pub problem: Problem,
    /// What each requirement stands for.
    pub wants: Vec<Want>,
    /// What each of the problem's offers stands for.
    pub offers: Vec<Offer>,
    /// The material behind each of the problem's material names.
    pub materials: BTreeMap<String, MaterialId>,
    /// The lots behind each of the problem's stocks.
    pub shelves: Vec<Shelf>,
    /// What is not put to the plan.
    pub left_out: Vec<LeftOut>,
    /// What was ordered before and serves now: the problem's stocks from `placed_from` on.
    pub placed: Vec<PlacedLot>,
    /// The first of the problem's stocks that does not lie on hand but was ordered.
    pub placed_from: usize,
}

/// Stems of one material that were ordered for one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlacedLot {
    /// Of what.
    pub material: MaterialId,
    /// When they come.
    pub day: Day,
    /// How many.
    pub stems: i64,
    /// From whom, and on which order, in words.
    pub from: String,
}

impl Posed {
    /// What was ordered before, where a stock of the problem is that.
    #[must_use]
    pub fn placed_lot(&self, stock: usize) -> Option<&PlacedLot> {
        self.placed.get(stock.checked_sub(self.placed_from)?)
    }

    /// Whether something was ordered before, so that the plan is a top-up.
    #[must_use]
    pub fn tops_up(&self) -> bool {
        !self.placed.is_empty()
            || self.problem.suppliers.iter().any(|supplier| !supplier.committed.is_empty())
    }
}

/// What each event wants of what is bought; and what cannot be put to the plan.
#[must_use]
pub fn wants(weekend: &Weekend, asked: Deliveries) -> (Vec<Want>, Vec<LeftOut>) {
    let (mut wants, mut left_out) = (Vec::new(), Vec::new());
    for (need_at, need) in weekend.needs.iter().enumerate() {
        let Some(material) = weekend.material(need.material).filter(|material| !material.loaned) else {
            continue;
        };
        for (part_at, part) in need.parts.iter().enumerate().filter(|(_, part)| part.stems > 0) {
            match want(weekend, material, need, part, asked) {
                Ok(accepts) => {
                    wants.push(Want { need: need_at, part: part_at, accepts, stems: part.stems });
                }
                Err(cause) => left_out.push(LeftOut { need: need_at, part: part_at, cause }),
            }
        }
    }
    // By event, so that where not everything can be had, the earlier event is served first.
    wants.sort_by_key(|want| weekend.needs[want.need].parts[want.part].event);
    (wants, left_out)
}

fn want(
    weekend: &Weekend,
    material: &Material,
    need: &MaterialNeed,
    part: &NeedPart,
    asked: Deliveries,
) -> Result<Vec<(MaterialId, ArrivalWindow)>, LeftOutCause> {
    if need.total() > MOST_PLANNED {
        return Err(LeftOutCause::TooMany);
    }
    let event_day = weekend.events[part.event].event.day;
    let own = match (&part.window, asked) {
        (_, Deliveries::On(day)) => chosen(day),
        (Ok(window), Deliveries::ByCalendar) => *window,
        (Err(empty), Deliveries::ByCalendar) => return Err(LeftOutCause::EmptyWindow(empty.clone())),
    };
    let mut accepts = vec![(material.id, own)];
    for substitute in part.substitutes.iter().filter_map(|id| weekend.material(*id)) {
        let window = match asked {
            Deliveries::On(day) => Ok(chosen(day)),
            Deliveries::ByCalendar => arrival(substitute, event_day, own.make_day),
        };
        let known = accepts.iter().any(|(id, _)| *id == substitute.id);
        if let (Ok(window), false, true) = (window, known, may_stand_in(material, substitute, part)) {
            accepts.push((substitute.id, window));
        }
    }
    Ok(accepts)
}

/// A window of one chosen day, whatever the flowers keep.
fn chosen(day: Day) -> ArrivalWindow {
    ArrivalWindow {
        earliest: Some(day),
        latest: day,
        make_day: day,
        conditioning_days: 0,
        holding_days: None,
        assumed: false,
    }
}

fn may_stand_in(material: &Material, substitute: &Material, part: &NeedPart) -> bool {
    let long_enough = part.need.cuts.is_empty() || substitute.usable_length >= material.usable_length;
    substitute.unit == material.unit && !substitute.loaned && long_enough
}

/// Every day on which some supplier could deliver something that is wanted: the days whose offers are to be read.
#[must_use]
pub fn days_to_read(
    wants: &[Want],
    (suppliers, closed): (&[Supplier], &ClosedDays),
    asked: Deliveries,
    now: LocalTime,
) -> BTreeSet<Day> {
    let windows = windows(wants);
    suppliers.iter().flat_map(|supplier| delivery_days(supplier, &windows, asked, now, closed)).collect()
}

fn windows(wants: &[Want]) -> Vec<ArrivalWindow> {
    wants.iter().flat_map(|want| &want.accepts).map(|(_, window)| *window).collect()
}

/// Puts the order as a problem.
#[must_use]
pub fn pose(weekend: &Weekend, market: &Market, asked: Deliveries, now: LocalTime) -> Posed {
    let (wants, left_out) = wants(weekend, asked);
    let windows = windows(&wants);
    let suppliers: Vec<_> = market
        .suppliers
        .iter()
        .map(|supplier| buying_plan::Supplier {
            id: supplier.id.to_string(),
            fee: supplier.delivery_fee.minor(),
            min_order: supplier.least_order.minor(),
            free_over: supplier.fee_waived_over.map(Money::minor),
            dates: delivery_days(supplier, &windows, asked, now, &market.closed)
                .into_iter()
                .map(number)
                .collect(),
            committed: Vec::new(),
        })
        .collect();
    let days: BTreeSet<Day> = market.offers.keys().copied().collect();
    let mut names = Names { by_day: told_apart(&wants, &days), known: BTreeMap::new() };
    let (offers, sold) = offers(market, &mut names);
    let shelves = shelves(weekend, &wants);
    let requirements = (0..wants.len())
        .map(|at| requirement(weekend, (at, &wants[at]), (&days, &shelves), &mut names))
        .collect();
    let stock = shelves.iter().map(|shelf| stock(shelf, &mut names)).collect();
    let problem = Problem { suppliers, offers, requirements, stock };
    let placed_from = problem.stock.len();
    let (materials, placed) = (names.known, Vec::new());
    Posed { problem, wants, offers: sold, materials, shelves, left_out, placed, placed_from }
}

/// A day as the plan counts it: days since the first of January 2000.
#[must_use]
pub fn number(day: Day) -> buying_plan::Day {
    let first = Day(jiff::civil::date(2000, 1, 1));
    buying_plan::Day::try_from(day.days_after(first)).unwrap_or(buying_plan::Day::MAX)
}

/// The day behind the plan's number.
#[must_use]
pub fn day(number: buying_plan::Day) -> Day {
    Day(jiff::civil::date(2000, 1, 1)).plus(i64::from(number))
}

/// Materials that must be told apart by delivery day: some want accepts them on other days than its other materials.
fn told_apart(wants: &[Want], days: &BTreeSet<Day>) -> BTreeSet<MaterialId> {
    let mut apart = BTreeSet::new();
    for want in wants {
        let (first, last) = hull(want);
        for (material, window) in &want.accepts {
            let mut between = days.range(first..=last);
            if between.any(|day| *day < first_day(window) || window.latest < *day) {
                apart.insert(*material);
            }
        }
    }
    apart
}

fn hull(want: &Want) -> (Day, Day) {
    let first = want.accepts.iter().map(|(_, window)| first_day(window)).min();
    let last = want.accepts.iter().map(|(_, window)| window.latest).max();
    let none = Day(jiff::civil::date(2000, 1, 1));
    (first.unwrap_or(none), last.unwrap_or(none))
}

/// Names under which materials go into the problem.
struct Names {
    by_day: BTreeSet<MaterialId>,
    known: BTreeMap<String, MaterialId>,
}

impl Names {
    fn delivered(&mut self, material: MaterialId, day: Day) -> String {
        let apart = self.by_day.contains(&material);
        self.keep(if apart { format!("{material} on {day}") } else { material.to_string() }, material)
    }

    fn on_hand(&mut self, lots: &Shelf) -> String {
        self.keep(format!("{} on hand {}", lots.material, lots.number), lots.material)
    }

    fn keep(&mut self, name: String, material: MaterialId) -> String {
        self.known.insert(name.clone(), material);
        name
    }
}

/// Packs with the same price on several days are one offer, unless their number is limited (for each delivery)
/// or the material is told apart by day.
fn offers(market: &Market, names: &mut Names) -> (Vec<buying_plan::Offer>, Vec<Offer>) {
    let mut posed: Vec<buying_plan::Offer> = Vec::new();
    let mut sold: Vec<Offer> = Vec::new();
    let mut known: BTreeMap<(OfferId, i64, String), usize> = BTreeMap::new();
    for (day, offers) in &market.offers {
        for offer in offers {
            let material = names.delivered(offer.material_id, *day);
            if offer.most_packs.is_none() {
                let same =
                    *known.entry((offer.id, offer.price.minor(), material.clone())).or_insert(posed.len());
                if let Some(dates) = posed.get_mut(same).and_then(|same| same.dates.as_mut()) {
                    dates.push(number(*day));
                    continue;
                }
            }
            posed.push(buying_plan::Offer {
                supplier: offer.supplier_id.to_string(),
                material,
                size: offer.pack_size,
                price: offer.price.minor(),
                min_packs: Some(offer.least_packs),
                max_packs: offer.most_packs,
                dates: Some(vec![number(*day)]),
            });
            sold.push(offer.clone());
        }
    }
    (posed, sold)
}

fn requirement(
    weekend: &Weekend,
    (at, want): (usize, &Want),
    (days, shelves): (&BTreeSet<Day>, &[Shelf]),
    names: &mut Names,
) -> Requirement {
    let event = &weekend.events[weekend.needs[want.need].parts[want.part].event].event;
    let mut accepts = Vec::new();
    for (material, window) in &want.accepts {
        let first = first_day(window);
        if names.by_day.contains(material) {
            accepts.extend(days.range(first..=window.latest).map(|day| names.delivered(*material, *day)));
        } else {
            accepts.push(names.delivered(*material, first));
        }
        let keep = shelves.iter().filter(|shelf| shelf.material == *material && shelf.serves.contains(&at));
        accepts.extend(keep.map(|shelf| names.on_hand(shelf)));
    }
    let (first, last) = hull(want);
    Requirement {
        event: event.id.to_string(),
        accepts,
        stems: want.stems,
        earliest: number(first),
        latest: number(last),
    }
}

fn stock(shelf: &Shelf, names: &mut Names) -> Stock {
    Stock {
        material: names.on_hand(shelf),
        stems: shelf.free(),
        from: buying_plan::Day::MIN,
        until: buying_plan::Day::MAX,
    }
}

#[cfg(test)]
mod tests;
