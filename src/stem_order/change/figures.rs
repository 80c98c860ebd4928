//! Need now against what was ordered, material by material, event by event, stem by stem.
//!
//! Of a material: *needed* with spares = from stock + from what was ordered + still to be ordered. *Over* are ordered stems
//! that nobody needs now. Of an event: what was ordered for it, what it needs now, what it may count on.
//!
//! May import `ground`, and the stage's own order, plan and placed orders.

use std::collections::BTreeMap;

use super::coming::Coming;
use super::{OrderedBefore, Standing};
use crate::ground::ids::{EventId, MaterialId};
use crate::stem_order::buying_plan::{Plan, Source};
use crate::stem_order::order::{NeedLine, StemOrder};
use crate::stem_order::posed::Posed;

/// A material: what was ordered of it, and what is needed now.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Row {
    /// Its name.
    pub name: String,
    /// Need now, without spares.
    pub need: i64,
    /// Spares now.
    pub spare: i64,
    /// Need and spares now, in words; empty where nothing is needed any more.
    pub working: String,
    /// Why so many were ordered, as it was, by order.
    pub then: Vec<String>,
    /// Stems of it that were ordered and come, or came good.
    pub ordered: i64,
    /// Of what is needed now: from stock.
    pub from_hand: i64,
    /// Of what is needed now: from what was ordered, of it or of what stands in for it.
    pub from_placed: i64,
    /// Of what is needed now: still to be ordered, or not to be had.
    pub short: i64,
    /// Stems of it that were ordered and that nobody needs now.
    pub over: i64,
    /// Event by event.
    pub cells: Vec<Cell>,
}

/// An event's part of a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell {
    /// Which event.
    pub event: EventId,
    /// Its name.
    pub name: String,
    /// Stems of the material that were ordered for it.
    pub promised: i64,
    /// Stems it needs now, spares and what is served from stock included.
    pub now: i64,
    /// Of those, served from stock.
    pub from_hand: i64,
    /// Stems of its own that still come, or came good.
    pub own: i64,
    /// How it stands.
    pub standing: Standing,
}

impl Cell {
    /// `Friday supper: needs 70 now, 61 ordered`.
    #[must_use]
    pub fn words(&self) -> String {
        let comes = if self.own == self.promised { String::new() } else { format!(", {} come", self.own) };
        let hand =
            if self.from_hand == 0 { String::new() } else { format!(", {} from stock", self.from_hand) };
        match self.standing {
            Standing::Planned => {
                format!("{}: needs {} now, {} ordered{comes}{hand}", self.name, self.now, self.promised)
            }
            Standing::Over => format!("{}, passed: {} ordered{comes}", self.name, self.promised),
            Standing::Off => {
                format!("{}, called off: {} ordered{comes}, offered to the others", self.name, self.promised)
            }
        }
    }

    /// Whether it is not as it was ordered.
    #[must_use]
    pub fn differs(&self) -> bool {
        match self.standing {
            Standing::Planned => self.promised + self.from_hand != self.now || self.own != self.promised,
            Standing::Over => self.own != self.promised,
            Standing::Off => true,
        }
    }
}

impl Row {
    /// Where what is needed now comes from, in words.
    #[must_use]
    pub fn served_words(&self) -> String {
        let parts = [(self.from_placed, "ordered"), (self.from_hand, "from stock"), (self.short, "short")];
        let words =
            parts.iter().filter(|(stems, _)| *stems > 0).map(|(stems, word)| format!("{stems} {word}"));
        words.collect::<Vec<_>>().join(" + ")
    }

    /// Whether anything is not as it was ordered.
    #[must_use]
    pub fn differs(&self) -> bool {
        self.short > 0 || self.cells.iter().any(Cell::differs)
    }
}

/// A row for each material that is needed or was ordered, in the order of the needs.
#[must_use]
pub fn figures(
    before: &OrderedBefore,
    lines: &[Coming],
    order: &StemOrder,
    posed: &Posed,
    plan: &Plan,
) -> Vec<Row> {
    let used = used(posed, plan);
    let hand = from_hand(order, posed, plan);
    let mut rows: Vec<(MaterialId, Row)> =
        order.needs.iter().map(|need| (need.material, needed(before, order, need, &hand))).collect();
    for line in lines {
        let at = rows.iter().position(|(material, _)| *material == line.material).unwrap_or_else(|| {
            rows.push((line.material, Row { name: line.name.clone(), ..Row::default() }));
            rows.len() - 1
        });
        add(before, &mut rows[at].1, line);
    }
    for (material, row) in &mut rows {
        row.over = row.ordered - used.get(material).copied().unwrap_or(0);
    }
    rows.into_iter().map(|(_, row)| row).collect()
}

/// Ordered stems of each material that the plan uses.
fn used(posed: &Posed, plan: &Plan) -> BTreeMap<MaterialId, i64> {
    let mut used = BTreeMap::new();
    for share in &plan.allocation {
        if let Source::Stock(at) = share.source
            && let Some(lot) = posed.placed_lot(at)
        {
            *used.entry(lot.material).or_default() += share.stems;
        }
    }
    used
}

/// Stems from stock that serve an event's need of a material.
fn from_hand(order: &StemOrder, posed: &Posed, plan: &Plan) -> BTreeMap<(MaterialId, EventId), i64> {
    let mut hand = BTreeMap::new();
    for share in &plan.allocation {
        let Source::Stock(at) = share.source else { continue };
        let want = &posed.wants[share.requirement];
        let event = posed.problem.requirements[share.requirement].event.parse::<EventId>();
        if let (None, Some(need), Ok(event)) = (posed.placed_lot(at), want.accepts.first(), event)
            && order.needs.iter().any(|line| line.material == need.0)
        {
            *hand.entry((need.0, event)).or_default() += share.stems;
        }
    }
    hand
}

fn needed(
    before: &OrderedBefore,
    order: &StemOrder,
    need: &NeedLine,
    hand: &BTreeMap<(MaterialId, EventId), i64>,
) -> Row {
    let mut row = Row {
        name: need.name.clone(),
        need: need.need,
        spare: need.spare,
        working: need.working.clone(),
        from_hand: need.from_hand,
        from_placed: need.from_placed,
        short: need.from_packs + need.missing,
        ..Row::default()
    };
    for part in &need.parts {
        let Some(event) = order.events.get(part.event).map(|event| event.id) else { continue };
        cell(before, &mut row, event).now += part.stems;
        cell(before, &mut row, event).from_hand = hand.get(&(need.material, event)).copied().unwrap_or(0);
    }
    row
}

fn add(before: &OrderedBefore, row: &mut Row, line: &Coming) {
    row.ordered += line.stems;
    if !line.working.is_empty() {
        row.then.push(format!("N°\u{a0}{}: {}", line.number, line.working));
    }
    for (event, stems) in &line.promised {
        cell(before, row, *event).promised += stems;
    }
    for (event, stems) in &line.own {
        cell(before, row, *event).own += stems;
    }
}

fn cell<'a>(before: &OrderedBefore, row: &'a mut Row, event: EventId) -> &'a mut Cell {
    let at = row.cells.iter().position(|cell| cell.event == event).unwrap_or_else(|| {
        let standing = before.events.get(&event).map_or(Standing::Off, |named| named.standing);
        let name = before.name(event).to_owned();
        row.cells.push(Cell { event, name, promised: 0, now: 0, from_hand: 0, own: 0, standing });
        row.cells.len() - 1
    });
    &mut row.cells[at]
}
