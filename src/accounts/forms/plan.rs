//! The form of an event's own parts of the payment.

use std::collections::HashSet;

use serde::Deserialize;

use super::parts::{Columns, PartRow, amounts, cells};
use crate::accounts::instalments::Instalment;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::InstalmentId;
use crate::ground::money::Money;
use crate::quotes::payment::Due;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PlanForm {
    pub version: String,
    pub part_id: Vec<String>,
    pub part_label: Vec<String>,
    pub part_amount: Vec<String>,
    pub part_due: Vec<String>,
    pub part_days: Vec<String>,
}

impl PlanForm {
    /// The form filled in from parts; those that were invoiced are left out: they stay as they are.
    #[must_use]
    pub fn of<'a>(version: i64, open: impl Iterator<Item = &'a Instalment>, formats: &Formats) -> PlanForm {
        let mut form = PlanForm { version: version.to_string(), ..PlanForm::default() };
        for part in open {
            let (amount, due, days) = cells(part, formats);
            form.part_id.push(part.id.map(|id| id.to_string()).unwrap_or_default());
            form.part_label.push(part.label.clone());
            form.part_amount.push(amount);
            form.part_due.push(due);
            form.part_days.push(days);
        }
        form
    }

    /// The rows with three empty ones behind them.
    #[must_use]
    pub fn rows(&self) -> Vec<PartRow> {
        self.columns().rows()
    }

    fn columns(&self) -> Columns<'_> {
        Columns {
            ids: &self.part_id,
            labels: &self.part_label,
            amounts: &self.part_amount,
            dues: &self.part_due,
            days: &self.part_days,
        }
    }

    /// Reads the form over the parts that are open now: the open parts, or every message. They may ask for no more than is left.
    pub fn parse(
        &self,
        open: &[&Instalment],
        left: Money,
        (today, formats): (Day, &Formats),
    ) -> Result<Vec<Instalment>, FieldErrors> {
        let mut c = Checker::new(formats);
        let mut parts = self.columns().parse(&mut c);
        let on = |part: &&Instalment| if let Due::On(day) = part.due { Some(day) } else { None };
        let kept: Vec<Day> = open.iter().filter_map(on).collect();
        self.columns().refuse_past(&mut c, &kept, today);
        let known: HashSet<InstalmentId> = open.iter().filter_map(|part| part.id).collect();
        for part in &mut parts {
            part.id = part.id.filter(|id| known.contains(id));
        }
        let sum = amounts(&parts);
        if sum > left.max(Money::ZERO) {
            let (sum, left) = (formats.money(sum), formats.money(left));
            c.refuse(
                "parts-0-amount",
                format!("The amounts come to {sum}; what is to be invoiced is {left}."),
            );
        }
        c.done(parts)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &PlanForm) -> Vec<Difference> {
        let words = |form: &PlanForm| {
            let rows = form.rows().into_iter().filter(|row| !row.label.is_empty());
            rows.map(|row| format!("{} {} {} {}", row.label, row.amount, row.due, row.days))
                .collect::<Vec<_>>()
                .join("; ")
        };
        differences(&[("Parts", &words(self), &words(theirs))])
    }
}
