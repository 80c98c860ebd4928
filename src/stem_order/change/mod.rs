//! After placing: need now against what was ordered, the cheapest top-up, and what may be taken back before the cut-off.
//!
//! **Together.** Events that an order names belong together, and so do all events that their orders name: what changes for one
//! may be mended with what was ordered for another. Their open events are planned as one; their stems are one supply.
//! Events that have passed keep what was theirs; what was ordered for an event that was called off is offered to the others.
//!
//! **Nothing that was placed is rewritten.** A top-up is a new order with its own number; what is taken back is said on the
//! order it was on.
//!
//! May import `ground`, types of earlier rooms, and the stage's own need, plan, choices and placed orders.

pub mod arriving;
pub mod beside;
pub mod coming;
pub mod figures;
pub mod shown;
pub mod store;
pub mod take_back;

use std::collections::BTreeMap;

use crate::ground::dates::Day;
use crate::ground::ids::{EventId, PlacedLineId};
use crate::stem_order::placing::{PlacedDelivery, PlacedOrder};

/// What was ordered for some events before, read from the book.
#[derive(Debug, Clone, Default)]
pub struct OrderedBefore {
    /// Every order that names one of them, by number.
    pub orders: Vec<PlacedOrder>,
    /// Every event that these orders name, and every one that is asked for.
    pub events: BTreeMap<EventId, Named>,
    /// What came of lines that were counted in.
    pub received: BTreeMap<PlacedLineId, Received>,
    /// Everything that comes on the days of these orders' deliveries and on those that may be ordered, other events' too:
    /// a delivery that comes anyway has paid its fee.
    pub deliveries: Vec<PlacedDelivery>,
}

/// An event by name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// Its name.
    pub name: String,
    /// Its day, where it is still in the book.
    pub day: Option<Day>,
    /// How it stands.
    pub standing: Standing,
}

/// How an event stands towards what was ordered for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It is planned.
    Planned,
    /// It has passed: what was its own is used.
    Over,
    /// It was called off or removed: what was its own is free.
    Off,
}

/// What was counted of a line.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Received {
    /// Stems that came good.
    pub good: i64,
    /// Of those, what was taken into stock, written off or lost at the bench since: nobody's any more.
    pub gone: i64,
}

impl OrderedBefore {
    /// Whether nothing was ordered.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.orders.is_empty()
    }

    /// The events that are asked for, and those that are planned with them.
    #[must_use]
    pub fn planned_with(&self, asked: &[EventId]) -> Vec<EventId> {
        let with =
            self.events.iter().filter(|(_, named)| named.standing == Standing::Planned).map(|(id, _)| *id);
        let mut events: Vec<EventId> = asked.iter().copied().chain(with).collect();
        events.sort_unstable();
        events.dedup();
        events
    }

    /// The first and the last day of the orders' deliveries and of these days; none where nothing was ordered.
    #[must_use]
    pub fn days_with(&self, days: impl Iterator<Item = Day>) -> (Option<Day>, Option<Day>) {
        if self.is_empty() {
            return (None, None);
        }
        let own = self.orders.iter().flat_map(|order| &order.deliveries).map(|delivery| delivery.day);
        let all: Vec<Day> = own.chain(days).collect();
        (all.iter().min().copied(), all.iter().max().copied())
    }

    /// What an event is called.
    #[must_use]
    pub fn name(&self, event: EventId) -> &str {
        self.events.get(&event).map_or("an event that was removed", |named| named.name.as_str())
    }
}

#[cfg(test)]
mod tests;
