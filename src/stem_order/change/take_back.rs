//! What may be taken back before the cut-off, and whether that pays: everything ordered whose cut-off has not passed is put
//! to the plan again as packs that can be had at their price, beside everything else that can be bought. Where that comes
//! cheaper than keeping all of it and topping it up, the difference is what to take back and what to order instead.
//!
//! Both plans cover the same needs and hold to the same least packs, least orders and fees, so the difference is what is
//! saved: exact, if both are proven and nothing is ordered instead.
//!
//! What is to be ordered instead is ordered afterwards, and may then come cheaper still: the saving is called the least. Where what is left of a delivery would not come to its least order
//! without it, only taking back is looked at for these deliveries, and that saving too is called the least.
//!
//! May import `ground`, types of earlier rooms, and the stage's own need and plan.

use std::collections::BTreeMap;

use super::beside::beside;
use super::coming::Coming;
use crate::ground::dates::Day;
use crate::ground::ids::{OfferId, PlacedLineId};
use crate::ground::money::Money;
use crate::price_list::Offer;
use crate::stem_order::buying_plan::{self, Plan, Problem};
use crate::stem_order::calendar::Deliveries;
use crate::stem_order::choices::pins::offer;
use crate::stem_order::choices::space::{Space, missing, undecided};
use crate::stem_order::placing::PlacedDelivery;
use crate::stem_order::posed::{Posed, day, number};

/// What to take back and what to order instead.
#[derive(Debug, Clone)]
pub struct TakeBack {
    /// Packs to take back, by line.
    pub packs: BTreeMap<PlacedLineId, i64>,
    /// What those packs cost.
    pub worth: Money,
    /// Packs to order instead.
    pub order: Vec<Instead>,
    /// What all of it saves against keeping everything and topping it up.
    pub saves: Money,
    /// Whether it saves just that and not more: both plans are proven and nothing is ordered instead.
    pub exact: bool,
}

/// Packs to order once others are taken back.
#[derive(Debug, Clone)]
pub struct Instead {
    /// Which offer.
    pub offer: Offer,
    /// On which day.
    pub day: Day,
    /// How many packs.
    pub packs: i64,
}

/// The cheapest way with taking back, where it is cheaper than `keep`, the plan beside all that was ordered with the problem
/// it answers (it costs `keep.cost`, committed fees included). `deliveries` are all that come; `lines` are those of the events' own orders.
#[must_use]
pub fn take_back(
    space: &Space<'_>,
    posed: &Posed,
    (lines, deliveries): (&[Coming], &[PlacedDelivery]),
    (topped, keep): (&Posed, &Plan),
    solve: &mut dyn FnMut(&Problem) -> Plan,
) -> Option<TakeBack> {
    let (open, fixed): (Vec<&Coming>, Vec<&Coming>) = lines.iter().partition(|line| line.open);
    if open.is_empty() || space.asked != Deliveries::ByCalendar {
        return None;
    }
    let stay = staying(deliveries, &open);
    let beside = beside(space, posed.clone(), &fixed, &stay);
    let search = Search { space, open: &open, stay: &stay, keep };
    let all = with_packs_back(space, beside.clone(), &open);
    let best = search.run(all.clone(), solve)?;
    // Of ways that save as much, the one that only takes back.
    let plain = search.run(only_ordered(all, (&topped.offers, keep)), solve);
    if let Some(plain) = plain.filter(|plain| plain.saves >= best.saves && search.is_safe(plain)) {
        let order = if only_tops_up(&plain.order, (&topped.offers, keep)) { Vec::new() } else { plain.order };
        return Some(TakeBack { exact: best.exact && order.is_empty(), order, ..plain });
    }
    if search.is_safe(&best) {
        return Some(TakeBack { exact: best.exact && best.order.is_empty(), ..best });
    }
    // Only fewer packs on these deliveries, nothing else on them instead.
    let fewer = with_packs_back(space, without_others(beside, &open), &open);
    let best = search.run(fewer, solve).filter(|found| search.is_safe(found))?;
    Some(TakeBack { exact: false, ..best })
}

/// A problem with open lines' packs as offers, and those offers' places.
type PutBack = (Posed, Vec<(usize, OfferId, Day)>);

struct Search<'a> {
    space: &'a Space<'a>,
    open: &'a [&'a Coming],
    stay: &'a [PlacedDelivery],
    keep: &'a Plan,
}

impl Search<'_> {
    fn run(&self, (posed, kept): PutBack, solve: &mut dyn FnMut(&Problem) -> Plan) -> Option<TakeBack> {
        let plan = solve(&posed.problem);
        let goods: Money = self.open.iter().map(|line| line.price.times(line.packs)).sum();
        let saves = goods + Money::from_minor(self.keep.cost) - Money::from_minor(plan.cost);
        if undecided(&plan) || missing(&plan) > missing(self.keep) || saves <= Money::ZERO {
            return None;
        }
        let (packs, order) = difference(&posed, &plan, self.open, &kept);
        let taken = |line: &Coming| packs.get(&line.line).copied().unwrap_or(0);
        let worth = self.open.iter().map(|line| line.price.times(taken(line))).sum();
        let exact = plan.proven && self.keep.proven;
        (!packs.is_empty()).then_some(TakeBack { packs, worth, order, saves, exact })
    }

    /// Whether what is left of each delivery from which something is taken still comes to the least order by itself: what is
    /// to be ordered instead is ordered afterwards, and may not be.
    fn is_safe(&self, found: &TakeBack) -> bool {
        let touched = self.open.iter().filter(|line| found.packs.contains_key(&line.line));
        touched.into_iter().all(|line| {
            let same = |other: &&&Coming| other.supplier == line.supplier && other.day == line.day;
            let left: Money = self
                .open
                .iter()
                .filter(same)
                .map(|other| {
                    other.price.times(other.packs - found.packs.get(&other.line).copied().unwrap_or(0))
                })
                .sum();
            let stays = self.stay.iter().filter(|d| d.supplier_id == line.supplier && d.day == line.day);
            let all = left + stays.map(PlacedDelivery::expected_goods).sum::<Money>();
            let terms = self.space.market.suppliers.iter().find(|supplier| supplier.id == line.supplier);
            all.is_zero() || terms.is_none_or(|terms| all >= terms.least_order)
        })
    }
}

/// The problem without anything else on the deliveries from which something could be taken back.
fn without_others(mut posed: Posed, open: &[&Coming]) -> Posed {
    for (offer, sold) in posed.problem.offers.iter_mut().zip(&posed.offers) {
        if let Some(dates) = &mut offer.dates {
            dates.retain(|date| {
                !open.iter().any(|line| line.supplier == sold.supplier_id && number(line.day) == *date)
            });
        }
    }
    posed
}

/// The problem with nothing to be had but what was ordered, and what the plan that keeps all of it tops it up with.
fn only_ordered((mut posed, kept): PutBack, (sold, keep): (&[Offer], &Plan)) -> PutBack {
    for (at, offer) in posed.offers.iter().enumerate() {
        let Some(dates) = &mut posed.problem.offers[at].dates else { continue };
        dates.retain(|date| {
            let ordered = kept.iter().any(|(place, _, on)| *place == at && number(*on) == *date);
            ordered
                || keep.packs.iter().any(|line| {
                    let topped = &sold[line.offer];
                    line.date == *date && topped.id == offer.id && topped.price == offer.price
                })
        });
    }
    (posed, kept)
}

/// Whether what is to be ordered is just what the plan that keeps all of it orders too.
fn only_tops_up(order: &[Instead], (sold, keep): (&[Offer], &Plan)) -> bool {
    let mut ours: Vec<_> =
        order.iter().map(|one| (one.offer.id, one.offer.price, one.day, one.packs)).collect();
    let mut theirs: Vec<_> = keep
        .packs
        .iter()
        .map(|line| (sold[line.offer].id, sold[line.offer].price, day(line.date), line.packs))
        .collect();
    ours.sort_unstable();
    theirs.sort_unstable();
    ours == theirs
}

/// The deliveries with the lines that cannot be taken back.
fn staying(deliveries: &[PlacedDelivery], open: &[&Coming]) -> Vec<PlacedDelivery> {
    let mut stay = deliveries.to_vec();
    for delivery in &mut stay {
        delivery.lines.retain(|line| !open.iter().any(|open| open.line == line.id));
    }
    stay
}

/// The problem with the open lines' packs as offers at their price; with those offers' places. Packs of an offer that can
/// still be had at the same price are that offer's: there is nothing to tell them apart.
fn with_packs_back(space: &Space<'_>, mut posed: Posed, open: &[&Coming]) -> PutBack {
    let mut kept = Vec::new();
    for line in open {
        let same = |at: &usize| {
            posed.offers[*at].id == line.offer
                && posed.offers[*at].price == line.price
                && posed.problem.offers[*at]
                    .dates
                    .as_ref()
                    .is_some_and(|days| days.contains(&number(line.day)))
        };
        let there = (0..posed.offers.len()).find(same);
        if let Some(at) =
            there.filter(|at| posed.problem.offers[*at].max_packs.is_none_or(|most| most >= line.packs))
        {
            kept.push((at, line.offer, line.day));
            continue;
        }
        let Some(supplier) = space.market.suppliers.iter().position(|supplier| supplier.id == line.supplier)
        else {
            continue;
        };
        let dates = &mut posed.problem.suppliers[supplier].dates;
        if !dates.contains(&number(line.day)) {
            dates.push(number(line.day));
            dates.sort_unstable();
        }
        let name = format!("{} as ordered for {}", line.material, line.day);
        for at in 0..posed.wants.len() {
            let accepts = &mut posed.problem.requirements[at].accepts;
            if !accepts.contains(&name)
                && super::beside::serves(space, &posed.wants[at], line.material, line.day)
            {
                accepts.push(name.clone());
            }
        }
        posed.materials.insert(name.clone(), line.material);
        kept.push((posed.problem.offers.len(), line.offer, line.day));
        posed.problem.offers.push(buying_plan::Offer {
            supplier: line.supplier.to_string(),
            material: name,
            size: line.pack_size,
            price: line.price.minor(),
            min_packs: Some(least_packs(space, line)),
            max_packs: Some(line.packs),
            dates: Some(vec![number(line.day)]),
        });
        posed.offers.push(as_ordered(line));
    }
    (posed, kept)
}

/// The least packs of a line's offer, as far as it is still on the price list.
fn least_packs(space: &Space<'_>, line: &Coming) -> i64 {
    offer(space.market, line.offer).map_or(1, |offer| offer.least_packs).min(line.packs)
}

/// The offer as it was when it was ordered.
fn as_ordered(line: &Coming) -> Offer {
    Offer {
        id: line.offer,
        supplier_id: line.supplier,
        material_id: line.material,
        pack_name: line.pack_name.clone(),
        pack_size: line.pack_size,
        least_packs: 1,
        most_packs: Some(line.packs),
        season: crate::ground::dates::Season::ALL_YEAR,
        price: line.price,
        from_day: line.day,
    }
}

/// What the plan keeps of the open lines, and what it buys beside them.
fn difference(
    posed: &Posed,
    plan: &Plan,
    open: &[&Coming],
    kept: &[(usize, OfferId, Day)],
) -> (BTreeMap<PlacedLineId, i64>, Vec<Instead>) {
    let mut bought: Vec<(usize, Day, i64)> =
        plan.packs.iter().map(|line| (line.offer, day(line.date), line.packs)).collect();
    let mut back = BTreeMap::new();
    for line in open {
        let mut left = line.packs;
        // First what the plan buys as ordered, then the same packs bought anew at the same price.
        let as_ordered = kept.iter().filter(|(_, id, on)| *id == line.offer && *on == line.day);
        let places: Vec<usize> = as_ordered.map(|(at, ..)| *at).collect();
        let same = |at: usize| {
            places.contains(&at)
                || (posed.offers[at].id == line.offer && posed.offers[at].price == line.price)
        };
        for (_, _, packs) in bought.iter_mut().filter(|(at, on, _)| *on == line.day && same(*at)) {
            let keeps = left.min(*packs);
            left -= keeps;
            *packs -= keeps;
        }
        if left > 0 {
            back.insert(line.line, left);
        }
    }
    let order = bought.into_iter().filter(|(_, _, packs)| *packs > 0);
    let instead =
        |(at, day, packs): (usize, Day, i64)| Instead { offer: posed.offers[at].clone(), day, packs };
    (back, order.map(instead).collect())
}
