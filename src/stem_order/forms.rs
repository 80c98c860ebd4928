//! The form in which stock on hand is counted, and what an address asks for.

use serde::Deserialize;

use super::calendar::Deliveries;
use super::store::planning::Asked;
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, MaterialId};
use crate::web::forms::{Checker, FieldErrors};

/// The most of one material that is counted.
const MOST: i64 = 10_000_000;

/// The most events in one order.
pub const MOST_EVENTS: usize = 100;

/// `?event=1&event=2&day=2026-05-14`, and the same as hidden fields of the stock form.
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

/// What was counted, as typed. A row left empty was not counted.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct StockForm {
    /// The events of the order to go back to.
    pub event: Vec<String>,
    /// Its chosen day.
    pub day: String,
    /// What was chosen for it by hand.
    pub pin: Vec<String>,
    /// Identities of materials, a row each.
    pub material: Vec<String>,
    /// How many of each.
    pub on_hand: Vec<String>,
}

/// Counted materials.
pub type Counts = Vec<(MaterialId, i64)>;

impl StockForm {
    /// The order to go back to.
    #[must_use]
    pub fn query(&self) -> OrderQuery {
        OrderQuery { event: self.event.clone(), day: self.day.clone(), pin: self.pin.clone() }
    }

    /// What was counted, or every message; none where a material is no identity.
    pub fn parse(&self, formats: &Formats) -> Option<Result<Counts, FieldErrors>> {
        let mut checker = Checker::new(formats);
        let mut counts = Vec::new();
        for (row, material) in self.material.iter().enumerate() {
            let material: MaterialId = material.parse().ok()?;
            let typed = self.on_hand.get(row).map_or("", String::as_str);
            if let Some(count) = checker.whole_or_none(&format!("on_hand-{row}"), typed, 0..=MOST) {
                counts.push((material, count));
            }
        }
        Some(checker.done(counts))
    }

    /// What was typed for a material.
    #[must_use]
    pub fn typed(&self, material: MaterialId) -> Option<&str> {
        let row = self.material.iter().position(|id| *id == material.to_string())?;
        self.on_hand.get(row).map(String::as_str)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn form(rows: &[(&str, &str)]) -> StockForm {
        let (material, on_hand) = rows.iter().map(|(id, count)| (id.to_string(), count.to_string())).unzip();
        StockForm { material, on_hand, ..StockForm::default() }
    }

    #[test]
    fn only_what_was_counted_is_kept() {
        let counts = form(&[("1", "20"), ("2", ""), ("3", "0")]).parse(&Studio::new_book().formats);
        assert_eq!(counts, Some(Ok(vec![(MaterialId(1), 20), (MaterialId(3), 0)])));
    }

    #[test]
    fn every_wrong_count_is_named() {
        let errors = form(&[("1", "-1"), ("2", "2.5"), ("3", "1000000000")])
            .parse(&Studio::new_book().formats)
            .unwrap()
            .unwrap_err();
        assert_eq!(errors.list().len(), 3);
        assert!(form(&[("x", "1")]).parse(&Studio::new_book().formats).is_none());
    }

    #[test]
    fn an_order_has_so_many_events_and_no_more() {
        let query =
            OrderQuery { event: (0..101).map(|id| id.to_string()).collect(), ..OrderQuery::default() };
        assert_eq!(query.events(), None);
        let query = OrderQuery { event: vec!["2".into(), "1".into(), "2".into()], ..OrderQuery::default() };
        assert_eq!(query.events(), Some(vec![EventId(1), EventId(2)]));
    }
}
