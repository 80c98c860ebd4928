//! What has changed since orders were placed, ready to be shown: the figures, whether what was ordered covers the need, and
//! what may be taken back.
//!
//! May import `ground`, types of earlier rooms, and the stage's own need, plan and placed orders.

use super::beside::fees_anyway;
use super::figures::{Row, figures};
use super::take_back::{TakeBack, take_back};
use super::{OrderedBefore, Standing};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, PlacedLineId, PlacedOrderId};
use crate::ground::money::Money;
use crate::stem_order::buying_plan::{Plan, Problem};
use crate::stem_order::choices::pins::Pin;
use crate::stem_order::choices::space::Space;
use crate::stem_order::order::StemOrder;
use crate::stem_order::placing::{PlacedDelivery, PlacedOrder};
use crate::stem_order::posed::Posed;

/// What has changed since orders were placed.
#[derive(Debug, Clone)]
pub struct Changed {
    /// The orders that were placed.
    pub orders: Vec<Placed>,
    /// Events that were not asked for but belong to these orders, and are planned with them.
    pub with: Vec<(EventId, String)>,
    /// Need now against what was ordered.
    pub rows: Vec<Row>,
    /// Whether what was ordered and lies in stock covers the need.
    pub covered: bool,
    /// Delivery fees that are waived once the top-up is on these deliveries.
    pub waived: Money,
    /// What may be taken back, with what it saves.
    pub back: Option<Back>,
    /// What serves nobody because of its day, in words.
    pub asides: Vec<String>,
}

/// An order that was placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed {
    /// Which.
    pub id: PlacedOrderId,
    /// Its number.
    pub number: i64,
    /// With whom.
    pub supplier: String,
    /// When.
    pub placed_on: Day,
    /// Goods, as far as is known.
    pub goods: Money,
}

/// What may be taken back.
#[derive(Debug, Clone)]
pub struct Back {
    /// Line by line.
    pub lines: Vec<BackLine>,
    /// What to order instead, in words.
    pub instead: Vec<String>,
    /// What those packs cost.
    pub worth: Money,
    /// What is saved in all.
    pub saves: Money,
    /// Whether that is the most that can be saved.
    pub exact: bool,
}

/// Packs of a line that may be taken back.
#[derive(Debug, Clone)]
pub struct BackLine {
    /// On which order.
    pub order: PlacedOrderId,
    /// Its number.
    pub number: i64,
    /// Which line.
    pub line: PlacedLineId,
    /// How many packs.
    pub packs: i64,
    /// In words: `2 of 5 × Bunch of 10, Rose, from Fenn Hall on Thu 14 May`.
    pub words: String,
    /// What they cost.
    pub worth: Money,
}

/// What has changed. `plan` is the top-up, `order` its order.
#[must_use]
pub fn changed(
    space: &Space<'_>,
    before: &OrderedBefore,
    asked: &[EventId],
    pins: &[Pin],
    (posed, plan, order): (&Posed, &Plan, &StemOrder),
    solve: &mut dyn FnMut(&Problem) -> Plan,
) -> Changed {
    let anew = space.posed_anew(pins);
    let found = take_back(space, &anew, (space.lines, space.deliveries), (posed, plan), solve);
    let with =
        before.events.iter().filter(|(id, named)| named.standing == Standing::Planned && !asked.contains(id));
    Changed {
        orders: before.orders.iter().map(placed).collect(),
        with: with.map(|(id, named)| (*id, named.name.clone())).collect(),
        rows: figures(before, space.lines, order, posed, plan),
        covered: order.deliveries.is_empty() && order.unmet.is_empty(),
        waived: order.total - (Money::from_minor(plan.cost) - fees_anyway(&posed.problem)),
        back: found.map(|found| back(space, &found)),
        asides: asides(space, posed),
    }
}

fn placed(order: &PlacedOrder) -> Placed {
    Placed {
        id: order.id,
        number: order.number,
        supplier: order.supplier.clone(),
        placed_on: order.placed_on,
        goods: order.deliveries.iter().map(PlacedDelivery::expected_goods).sum(),
    }
}

fn back(space: &Space<'_>, found: &TakeBack) -> Back {
    let lines = space.lines.iter().filter_map(|line| {
        let packs = *found.packs.get(&line.line)?;
        Some(BackLine {
            order: line.order,
            number: line.number,
            line: line.line,
            packs,
            words: format!(
                "{packs} of {} × {} of {}, {}, from {} on {}",
                line.packs,
                line.pack_name,
                line.pack_size,
                line.name,
                line.supplier_name,
                space.formats.weekday(line.day)
            ),
            worth: line.price.times(packs),
        })
    });
    let instead = found.order.iter().map(|instead| {
        let name = space.weekend.material(instead.offer.material_id).map_or("?", |material| &material.name);
        let supplier = crate::stem_order::choices::pinned::supplier_name(space, instead.offer.supplier_id);
        format!(
            "{} × {} of {}, {name}, from {supplier} on {}",
            instead.packs,
            instead.offer.pack_name,
            instead.offer.pack_size,
            space.formats.weekday(instead.day)
        )
    });
    Back {
        lines: lines.collect(),
        instead: instead.collect(),
        worth: found.worth,
        saves: found.saves,
        exact: found.exact,
    }
}

/// Ordered stems that come on a day on which the flowers' own figures have no use for them, though the material is wanted.
#[must_use]
pub fn asides(space: &Space<'_>, posed: &Posed) -> Vec<String> {
    let mut words = Vec::new();
    for line in space.lines.iter().filter(|line| line.stems > 0) {
        let wanted = posed.wants.iter().any(|want| want.accepts.iter().any(|(id, _)| *id == line.material));
        let lies = posed.placed.iter().any(|lot| lot.material == line.material && lot.day == line.day);
        if wanted && !lies {
            words.push(format!(
                "{} {} of N°\u{a0}{} come on {}, outside the days on which they are of use by their figures: they are not \
                counted on. To count on them, plan with that day as the chosen delivery day.",
                line.stems,
                line.name,
                line.number,
                space.formats.weekday(line.day)
            ));
        }
    }
    words
}

impl Back {
    /// The orders on which something is taken back, with the query that fills their page in.
    #[must_use]
    pub fn by_order(&self) -> Vec<(PlacedOrderId, i64, String)> {
        let mut orders: Vec<(PlacedOrderId, i64, String)> = Vec::new();
        for line in &self.lines {
            let part = format!("line={}&packs={}", line.line, line.packs);
            match orders.iter_mut().find(|(id, ..)| *id == line.order) {
                Some((_, _, query)) => {
                    query.push('&');
                    query.push_str(&part);
                }
                None => orders.push((line.order, line.number, part)),
            }
        }
        orders
    }
}
