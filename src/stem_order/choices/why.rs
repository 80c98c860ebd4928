//! Why a line of the order is as it is: what the next best would be without its pack, its supplier or its day, and what
//! each other pack and day would cost, each planned anew with everything else free.
//!
//! The buyer's choices for other materials stand; those for this one are replaced by the one that is tried.
//!
//! May import `ground`, types of earlier rooms, and the room's own need and plan.

use std::collections::BTreeSet;

use super::changes::changes;
use super::pinned::{supplier_name, words};
use super::pins::{Pin, material_of, offer};
use super::space::{Space, missing, undecided};
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, OfferId, SupplierId};
use crate::ground::money::Money;
use crate::price_list::Supplier;
use crate::price_list::calendar_words::weekdays;
use crate::stem_order::buying_plan::{Plan, Problem};
use crate::stem_order::calendar::{Deliveries, first_day, order_by};
use crate::stem_order::change::beside::top_up_cost;
use crate::stem_order::posed::{Posed, day};
use crate::stem_order::windows::ArrivalWindow;

/// So many other packs are tried, the cheapest a stem first.
const MOST_PACKS: usize = 8;

/// So many other days are tried, the latest first.
const MOST_DAYS: usize = 6;

/// A line of the order, seen against what else it could be.
#[derive(Debug, Clone)]
pub struct Why {
    /// Of what.
    pub material: MaterialId,
    /// In which pack.
    pub offer: OfferId,
    /// From whom.
    pub supplier: SupplierId,
    /// On which day.
    pub on: Day,
    /// How many packs.
    pub packs: i64,
    /// What the order costs as it is.
    pub total: Money,
    /// What else it could be.
    pub others: Vec<Other>,
    /// The days around it, and why it is not one of those.
    pub days: Vec<DayWords>,
    /// The choices made for this material, which another one would replace.
    pub own_pins: Vec<Pin>,
}

/// Something else that the line could be.
#[derive(Debug, Clone)]
pub struct Other {
    /// The choice that would make it so; none for the plan without the choices made for this material.
    pub pin: Option<Pin>,
    /// In words.
    pub words: String,
    /// What comes of it.
    pub found: Found,
}

/// What comes of another choice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// Another plan.
    Plan {
        /// Goods and fees of the whole order.
        total: Money,
        /// Against the order as it is.
        more: Money,
        /// Whether both are proven, so that the difference is exact.
        exact: bool,
        /// What is bought otherwise.
        changes: Vec<String>,
    },
    /// So many stems could not be had.
    Lacks(i64),
    /// The time was over before there was a plan.
    NotInTime,
}

/// A day on which the material might come, and what is to be said of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayWords {
    /// Which.
    pub day: Day,
    /// Whether a delivery of this supplier on it would do.
    pub would_do: bool,
    /// In words.
    pub words: String,
}

/// Why the line of an offer on a day is so; none where the plan has no such line.
#[must_use]
pub fn why(
    space: &Space<'_>,
    pins: &[Pin],
    plan: (&Posed, &Plan),
    (id, on): (OfferId, Day),
    solve: &mut dyn FnMut(&Problem) -> Plan,
) -> Option<Why> {
    let (posed, found) = plan;
    let lines = found.packs.iter().filter(|line| posed.offers[line.offer].id == id && day(line.date) == on);
    let packs: i64 = lines.map(|line| line.packs).sum();
    let sold = offer(space.market, id).filter(|_| packs > 0)?;
    let material = sold.material_id;
    let of_it = |pin: &Pin| material_of(*pin, space.market) == Some(material);
    let (own_pins, elsewhere): (Vec<Pin>, Vec<Pin>) = pins.iter().copied().partition(of_it);
    let mut others = Vec::new();
    if !own_pins.is_empty() {
        let other = tried(space, &elsewhere, plan, solve);
        others.push(Other { pin: None, words: "Without your choices for it".into(), found: other });
    }
    for pin in to_try(space, id, sold.supplier_id, material, on) {
        let with: Vec<Pin> = elsewhere.iter().copied().chain([pin]).collect();
        others.push(Other {
            pin: Some(pin),
            words: words(space, pin),
            found: tried(space, &with, plan, solve),
        });
    }
    Some(Why {
        material,
        offer: id,
        supplier: sold.supplier_id,
        on,
        packs,
        total: top_up_cost(&posed.problem, found),
        others,
        days: days(space, posed, material, sold.supplier_id, on),
        own_pins,
    })
}

fn tried(
    space: &Space<'_>,
    pins: &[Pin],
    plan: (&Posed, &Plan),
    solve: &mut dyn FnMut(&Problem) -> Plan,
) -> Found {
    let posed = space.posed(pins);
    let other = solve(&posed.problem);
    if undecided(&other) {
        return Found::NotInTime;
    }
    let lacks = missing(&other) - missing(plan.1);
    if lacks > 0 {
        return Found::Lacks(lacks);
    }
    Found::Plan {
        total: top_up_cost(&posed.problem, &other),
        more: Money::from_minor(other.cost - plan.1.cost),
        exact: other.proven && plan.1.proven,
        changes: changes(space, plan, (&posed, &other)),
    }
}

/// Without this pack, without this supplier, then every other pack and every other day by itself.
fn to_try(space: &Space<'_>, id: OfferId, supplier: SupplierId, material: MaterialId, on: Day) -> Vec<Pin> {
    let mut pins = vec![Pin::NotOffer(id)];
    let sold = || space.market.offers.values().flatten().filter(|offer| offer.material_id == material);
    if sold().any(|offer| offer.supplier_id != supplier) {
        pins.push(Pin::NotSupplier(material, supplier));
    }
    pins.push(Pin::Without(supplier));
    let mut packs: Vec<_> = sold().filter(|offer| offer.id != id).collect();
    packs.sort_by_key(|offer| {
        (offer.price.decimal() / rust_decimal::Decimal::from(offer.pack_size.max(1)), offer.id)
    });
    for offer in packs {
        if !pins.contains(&Pin::OnlyOffer(offer.id)) && pins.len() < MOST_PACKS + 3 {
            pins.push(Pin::OnlyOffer(offer.id));
        }
    }
    if space.asked == Deliveries::ByCalendar {
        pins.push(Pin::NotDay(material, on));
        let has =
            |offers: &[crate::price_list::Offer]| offers.iter().any(|offer| offer.material_id == material);
        let days = space.market.offers.iter().rev().filter(|(day, offers)| **day != on && has(offers));
        pins.extend(days.take(MOST_DAYS).map(|(day, _)| Pin::OnlyDay(material, *day)));
    }
    pins
}

/// Every day from the first to the last on which the material may arrive for anybody.
fn days(
    space: &Space<'_>,
    posed: &Posed,
    material: MaterialId,
    supplier: SupplierId,
    on: Day,
) -> Vec<DayWords> {
    let windows: Vec<(usize, ArrivalWindow)> = posed
        .wants
        .iter()
        .flat_map(|want| {
            let event = space.weekend.needs[want.need].parts[want.part].event;
            let of_it = want.accepts.iter().filter(|(accepted, _)| *accepted == material);
            of_it.map(move |(_, window)| (event, *window))
        })
        .collect();
    let first = windows.iter().map(|(_, window)| first_day(window)).min().unwrap_or(on).min(on);
    let last = windows.iter().map(|(_, window)| window.latest).max().unwrap_or(on).max(on);
    let Some(terms) = space.market.suppliers.iter().find(|known| known.id == supplier) else {
        return Vec::new();
    };
    (0..=last.days_after(first))
        .map(|later| day_words(space, terms, &windows, material, first.plus(later), on))
        .collect()
}

fn day_words(
    space: &Space<'_>,
    terms: &Supplier,
    windows: &[(usize, ArrivalWindow)],
    material: MaterialId,
    day: Day,
    on: Day,
) -> DayWords {
    let closed = order_by(terms, day, &space.market.closed);
    let sells = |offers: &Vec<crate::price_list::Offer>| {
        offers.iter().any(|offer| offer.material_id == material && offer.supplier_id == terms.id)
    };
    let (would_do, said) = if day == on {
        (true, "this line's day".to_owned())
    } else if !terms.delivery_weekdays.has(day) {
        (false, format!("{} delivers {}", supplier_name(space, terms.id), weekdays(terms.delivery_weekdays)))
    } else if let Some(shut) = space.market.closed.closing(terms.id, day) {
        (false, format!("closed: {}", shut.name))
    } else if closed < space.now {
        (false, format!("orders for it closed on {} {}", space.formats.weekday(closed.day), closed.time))
    } else if !space.market.offers.get(&day).is_some_and(sells) {
        (false, "not offered then: out of season, or no price holds".to_owned())
    } else {
        (true, "would do".to_owned())
    };
    let misses: BTreeSet<&str> = windows
        .iter()
        .filter(|(_, window)| day < first_day(window) || window.latest < day)
        .map(|(event, _)| space.weekend.events[*event].event.name.as_str())
        .collect();
    let misses = if misses.is_empty() {
        String::new()
    } else {
        format!(", but not for {}", misses.into_iter().collect::<Vec<_>>().join(", "))
    };
    DayWords { day, would_do, words: if would_do { format!("{said}{misses}") } else { said } }
}
