//! What an address of the stem order asks for.

use serde::Deserialize;

use super::calendar::Deliveries;
use super::store::planning::Asked;
use crate::ground::formats::Formats;
use crate::ground::ids::EventId;
use crate::web::forms::{Checker, FieldErrors};

/// The most events in one order.
pub const MOST_EVENTS: usize = 100;

/// `?event=1&event=2&day=2026-05-14`.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct OrderQuery {
    /// Identities of events.
    pub event: Vec<String>,
    /// One chosen delivery day, or empty.
    pub day: String,
    /// What the buyer chose by hand.
    pub pin: Vec<String>,
}

impl OrderQuery {
    /// What is asked for; none where a number is no identity.
    #[must_use]
    pub fn events(&self) -> Option<Vec<EventId>> {
        let mut events: Vec<EventId> = self.event.iter().map(|id| id.parse().ok()).collect::<Option<_>>()?;
        events.sort_unstable();
        events.dedup();
        Some(events).filter(|events| events.len() <= MOST_EVENTS)
    }

    /// The chosen day, read.
    pub fn deliveries(&self, formats: &Formats) -> Result<Deliveries, FieldErrors> {
        let mut checker = Checker::new(formats);
        let day = checker.day_or_none("day", &self.day);
        checker.done(day.map_or(Deliveries::ByCalendar, Deliveries::On))
    }
}

/// The address of a page of this room, with what it asks for.
#[must_use]
pub fn address(path: &str, asked: &Asked) -> String {
    let start = format!("{path}?");
    let end = start.len();
    let mut query = form_urlencoded::Serializer::for_suffix(start, end);
    for event in &asked.events {
        query.append_pair("event", &event.to_string());
    }
    if let Deliveries::On(day) = asked.deliveries {
        query.append_pair("day", &day.to_string());
    }
    for pin in &asked.pins.list {
        query.append_pair("pin", &pin.to_string());
    }
    query.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_order_has_so_many_events_and_no_more() {
        let query =
            OrderQuery { event: (0..101).map(|id| id.to_string()).collect(), ..OrderQuery::default() };
        assert_eq!(query.events(), None);
        let query = OrderQuery { event: vec!["2".into(), "1".into(), "2".into()], ..OrderQuery::default() };
        assert_eq!(query.events(), Some(vec![EventId(1), EventId(2)]));
    }
}
