//! The form of an invoice beside the quote: what broke, what was added on the day.

use serde::Deserialize;

use crate::accounts::document::TaxPart;
use crate::accounts::drawing_up::Extra;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::TaxRateId;
use crate::ground::quantity::Share;
use crate::studio::TaxRate;
use crate::web::forms::{Checker, FieldErrors};

/// What was typed.
#[derive(Debug, Clone, Default, Hash, Deserialize)]
#[serde(default)]
pub struct ExtrasForm {
    pub once_key: String,
    pub about: String,
    pub due_on: String,
    pub extra_name: Vec<String>,
    pub extra_count: Vec<String>,
    pub extra_price: Vec<String>,
    pub extra_tax: Vec<String>,
}

/// One row.
#[derive(Debug, Clone)]
pub struct ExtraRow {
    pub at: usize,
    pub name: String,
    pub count: String,
    pub price: String,
    pub tax: String,
}

impl ExtraRow {
    /// Whether a rate is the one chosen.
    #[must_use]
    pub fn is_rate(&self, rate: &TaxRate) -> bool {
        self.tax == rate.id.to_string()
    }

    fn is_empty(&self) -> bool {
        self.name.trim().is_empty() && self.price.trim().is_empty() && self.count.trim().is_empty()
    }
}

/// What the form says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewExtras {
    /// One line under the heading.
    pub about: String,
    /// Until when it is to be paid, if that is said.
    pub due_on: Option<Day>,
    /// Its lines.
    pub lines: Vec<Extra>,
}

impl ExtrasForm {
    /// The rows with three empty ones behind them.
    #[must_use]
    pub fn rows(&self) -> Vec<ExtraRow> {
        let cell = |column: &[String], at: usize| column.get(at).cloned().unwrap_or_default();
        let row = |at| ExtraRow {
            at,
            name: cell(&self.extra_name, at),
            count: cell(&self.extra_count, at),
            price: cell(&self.extra_price, at),
            tax: cell(&self.extra_tax, at),
        };
        (0..self.extra_name.len() + 3).map(row).collect()
    }

    /// Reads the form, or gives every message.
    pub fn parse(
        &self,
        rates: &[TaxRate],
        (today, formats): (Day, &Formats),
    ) -> Result<NewExtras, FieldErrors> {
        let mut c = Checker::new(formats);
        let mut lines = Vec::new();
        for row in self.rows().iter().filter(|row| !row.is_empty()) {
            lines.push(line(&mut c, row, rates));
        }
        if lines.is_empty() {
            c.refuse("extras-0-name", "Write at least one line.");
        }
        let about = c.name("about", &self.about, "what the invoice is for");
        let due_on = c.day_or_none("due_on", &self.due_on);
        if due_on.is_some_and(|day| day < today) && c.is_fine("due_on") {
            c.refuse("due_on", "That day is past: the invoice would be late at once.");
        }
        let new = NewExtras { about, due_on, lines };
        c.done(new)
    }
}

fn line(c: &mut Checker, row: &ExtraRow, rates: &[TaxRate]) -> Extra {
    let field = |cell: &str| format!("extras-{}-{cell}", row.at);
    let rate = rates.iter().find(|rate| row.is_rate(rate));
    if rate.is_none() {
        c.refuse(field("tax"), "Choose one of the studio's tax rates.");
    }
    let count = if row.count.trim().is_empty() { "1" } else { &row.count };
    let unknown = || TaxRate { id: TaxRateId(0), name: String::new(), rate: Share::default() };
    let tax = rate.map_or_else(|| TaxPart::of(&unknown()), TaxPart::of);
    Extra {
        name: c.name(&field("name"), &row.name, "what it is"),
        count: c.whole(&field("count"), count, 1..=100_000),
        price: c.money(&field("price"), &row.price),
        tax,
    }
}
