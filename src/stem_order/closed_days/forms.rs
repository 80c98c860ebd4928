//! The form of a closed or feast day, and the ticks on the reckoned ones.

use serde::Deserialize;

use super::feasts::Proposed;
use super::{ClosedDay, DayKind, NewClosedDay};
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::ids::SupplierId;
use crate::price_list::Supplier;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// The most days in a row that are entered as one.
const MOST_DAYS: i64 = 366;

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct ClosedDayForm {
    pub version: String,
    pub name: String,
    pub kind: String,
    pub first_day: String,
    /// Empty: the first day alone.
    pub last_day: String,
    /// A supplier's identity; empty: every supplier.
    pub supplier: String,
}

impl ClosedDayForm {
    /// The form filled in from a day of the book.
    #[must_use]
    pub fn of(day: &ClosedDay) -> ClosedDayForm {
        let last = (day.last_day != day.first_day).then(|| day.last_day.to_string());
        ClosedDayForm {
            version: day.version.to_string(),
            name: day.name.clone(),
            kind: day.kind.code().into(),
            first_day: day.first_day.to_string(),
            last_day: last.unwrap_or_default(),
            supplier: day.supplier_id.map(|id| id.to_string()).unwrap_or_default(),
        }
    }

    /// Reads the form: a day, or every message.
    pub fn parse(&self, suppliers: &[Supplier], formats: &Formats) -> Result<NewClosedDay, FieldErrors> {
        let mut c = Checker::new(formats);
        let name = c.name("name", &self.name, "what the day is called");
        let kind = c.pick::<DayKind>("kind", &self.kind);
        let first_day = c.day("first_day", &self.first_day);
        let typed_last = c.day_or_none("last_day", &self.last_day);
        let last_day = typed_last.unwrap_or(first_day);
        let new =
            NewClosedDay { supplier_id: self.supplier(&mut c, suppliers), first_day, last_day, name, kind };
        let both_read = self.first_day.parse::<crate::ground::dates::Day>().is_ok() && typed_last.is_some();
        if both_read && last_day < first_day {
            c.refuse("last_day", "The last day lies before the first.");
        } else if both_read && last_day.days_after(first_day) >= MOST_DAYS {
            c.refuse("last_day", format!("At most {MOST_DAYS} days in a row."));
        }
        c.done(new)
    }

    fn supplier(&self, c: &mut Checker, suppliers: &[Supplier]) -> Option<SupplierId> {
        let typed = self.supplier.trim();
        if typed.is_empty() {
            return None;
        }
        let id = typed.parse::<SupplierId>().ok();
        let known = id.filter(|id| suppliers.iter().any(|supplier| supplier.id == *id));
        if known.is_none() {
            c.refuse("supplier", "This supplier is not in the price list.");
        }
        known
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &ClosedDayForm, suppliers: &[Supplier]) -> Vec<Difference> {
        let whose = |form: &ClosedDayForm| -> String {
            let own = suppliers.iter().find(|supplier| supplier.id.to_string() == form.supplier);
            own.map_or("Every supplier".into(), |supplier| supplier.name.clone())
        };
        let kind = |form: &ClosedDayForm| DayKind::from_code(&form.kind).map_or("", Choice::label);
        differences(&[
            ("Name", &self.name, &theirs.name),
            ("What it means", kind(self), kind(theirs)),
            ("First day", &self.first_day, &theirs.first_day),
            ("Last day", &self.last_day, &theirs.last_day),
            ("Whose", &whose(self), &whose(theirs)),
        ])
    }
}

/// The ticked ones of the reckoned days.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct TickForm {
    /// `2027-03-28 Easter Sunday`
    pub tick: Vec<String>,
}

impl TickForm {
    /// Those of the reckoned days that were ticked.
    #[must_use]
    pub fn ticked(&self, proposed: Vec<Proposed>) -> Vec<NewClosedDay> {
        let ticked = proposed.into_iter().filter(|one| self.tick.contains(&tick_code(one)));
        let new = |one: Proposed| NewClosedDay {
            supplier_id: None,
            first_day: one.day,
            last_day: one.day,
            name: one.name.into(),
            kind: one.kind,
        };
        ticked.map(new).collect()
    }
}

/// What a tick on a reckoned day sends.
#[must_use]
pub fn tick_code(proposed: &Proposed) -> String {
    format!("{} {}", proposed.day, proposed.name)
}
