//! What has a fixed moment in a week: until when to order, what is delivered, when vans load and leave, when all must stand,
//! when it is struck and back.
//!
//! May import: this room's tasks, this stage's plan, types and the calendar of the stem order, `ground`, `jiff`.

use std::collections::BTreeMap;

use jiff::civil::DateTime;

use super::tasks::Work;
use crate::ground::dates::Day;
use crate::prep::plan::{IN_WATER_BY, PrepInputs};
use crate::price_list::Supplier;
use crate::stem_order::calendar::order_by;
use crate::stem_order::closed_days::ClosedDays;

/// What kind of moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// An order closes.
    OrderBy,
    /// Flowers come.
    Delivery,
    /// Something of an event's day.
    Event,
}

/// A fixed moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Milestone {
    /// When.
    pub at: DateTime,
    /// Whether the hour says something; a delivery promises a day.
    pub timed: bool,
    /// Of which kind.
    pub kind: Kind,
    /// What.
    pub words: String,
}

/// The fixed moments of a week's work, in order of time.
#[must_use]
pub fn milestones(
    inputs: &PrepInputs,
    work: &Work,
    suppliers: &[Supplier],
    closed: &ClosedDays,
) -> Vec<Milestone> {
    let mut all = deliveries(work, suppliers, closed);
    for (event, times) in inputs.weekend.events.iter().zip(&work.times) {
        let name = &event.event.name;
        let moments = [
            (times.load_from, "Load"),
            (times.leave, "Leave"),
            (times.set_by, "All must stand"),
            (times.strike_from, "Strike"),
            (times.back, "Back"),
        ];
        all.extend(moments.map(|(at, what)| Milestone {
            at,
            timed: true,
            kind: Kind::Event,
            words: format!("{what}: {name}"),
        }));
    }
    all.sort_by(|one, other| (one.at, one.kind, &one.words).cmp(&(other.at, other.kind, &other.words)));
    all
}

/// Deliveries from suppliers and until when they are ordered, once each.
fn deliveries(work: &Work, suppliers: &[Supplier], closed: &ClosedDays) -> Vec<Milestone> {
    let mut coming: BTreeMap<(Day, &str), usize> = BTreeMap::new();
    for delivery in &work.arrivals {
        if let Some(name) = &delivery.supplier {
            *coming.entry((delivery.day, name)).or_default() += 1;
        }
    }
    let mut all = Vec::new();
    for ((day, name), lines) in coming {
        let kinds = if lines == 1 { "1 line".to_owned() } else { format!("{lines} lines") };
        let words = format!("Delivery from {name}, {kinds}");
        all.push(Milestone {
            at: day.0.to_datetime(IN_WATER_BY.0),
            timed: false,
            kind: Kind::Delivery,
            words,
        });
        if let Some(supplier) = suppliers.iter().find(|supplier| supplier.name == name) {
            let by = order_by(supplier, day, closed);
            let (at, words) = (
                by.day.0.to_datetime(by.time.0),
                format!("Order closes, {name} for {}", day.weekday_short()),
            );
            all.push(Milestone { at, timed: true, kind: Kind::OrderBy, words });
        }
    }
    all
}
