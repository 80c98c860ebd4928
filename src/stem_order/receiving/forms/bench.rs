//! The form in which a loss at the bench is booked.

use serde::Deserialize;

use super::super::MOST_STEMS;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, SupplierId};
use crate::web::forms::{Checker, FieldErrors};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct BenchForm {
    pub once_key: String,
    pub material: String,
    pub lost: String,
    pub event: String,
    pub supplier: String,
    pub lost_on: String,
    pub note: String,
}

/// A loss with its material still by name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedLoss {
    /// Of what, by name.
    pub material: String,
    /// How many.
    pub lost: i64,
    /// For which event they were meant.
    pub event: Option<EventId>,
    /// From whom they came.
    pub supplier: Option<SupplierId>,
    /// When.
    pub lost_on: Day,
    /// What to remember.
    pub note: String,
}

impl BenchForm {
    /// Reads the form: a loss, or every message. An empty day is today; none lies in the future.
    pub fn parse(&self, today: Day, formats: &Formats) -> Result<NamedLoss, FieldErrors> {
        let mut c = Checker::new(formats);
        let lost_on = c.day_or_none("lost_on", &self.lost_on).unwrap_or(today);
        if lost_on > today {
            c.refuse("lost_on", "What will be lost is not known yet: choose a day up to today.");
        }
        let loss = NamedLoss {
            material: c.name("material", &self.material, "what was lost, as the price list names it"),
            lost: c.whole("lost", &self.lost, 1..=MOST_STEMS),
            event: self.chosen(&mut c, "event", &self.event).map(EventId),
            supplier: self.chosen(&mut c, "supplier", &self.supplier).map(SupplierId),
            lost_on,
            note: c.text("note", &self.note),
        };
        c.done(loss)
    }

    fn chosen(&self, c: &mut Checker<'_>, field: &str, raw: &str) -> Option<i64> {
        let raw = raw.trim();
        let id = raw.parse().ok();
        if id.is_none() && !raw.is_empty() {
            c.refuse(field, "Choose one of the list.");
        }
        id
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn form(material: &str, lost: &str) -> BenchForm {
        BenchForm { material: material.into(), lost: lost.into(), ..BenchForm::default() }
    }

    #[test]
    fn a_loss_needs_a_name_and_a_number_only() {
        let today: Day = "2026-05-14".parse().unwrap();
        let loss = form(" Rose,  ivory ", "3").parse(today, &Studio::new_book().formats).unwrap();
        assert_eq!((loss.material.as_str(), loss.lost, loss.lost_on), ("Rose, ivory", 3, today));
        assert_eq!((loss.event, loss.supplier), (None, None));
    }

    #[test]
    fn every_wrong_field_is_named() {
        let today: Day = "2026-05-14".parse().unwrap();
        for lost in ["0", "-1", "2.5", "1000000000", ""] {
            let form = BenchForm { lost_on: "2026-05-15".into(), event: "x".into(), ..form("", lost) };
            let errors = form.parse(today, &Studio::new_book().formats).unwrap_err();
            assert_eq!(errors.list().len(), 4, "{lost}");
        }
    }
}
