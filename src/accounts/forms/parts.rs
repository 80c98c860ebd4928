//! The grid of a payment's parts, in the studio's usual terms and in an event's own.

use crate::accounts::instalments::Instalment;
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::InstalmentId;
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::quotes::payment::{Due, DueKind, Part};
use crate::web::forms::Checker;

/// The columns as they were typed.
#[derive(Debug, Clone, Copy)]
pub struct Columns<'a> {
    pub ids: &'a [String],
    pub labels: &'a [String],
    pub amounts: &'a [String],
    pub dues: &'a [String],
    pub days: &'a [String],
}

/// One row.
#[derive(Debug, Clone, Default)]
pub struct PartRow {
    /// From 0.
    pub at: usize,
    pub id: String,
    pub label: String,
    /// `30 %` or an amount.
    pub amount: String,
    pub due: String,
    /// A number of days, or a day.
    pub days: String,
}

impl Columns<'_> {
    /// The rows with three empty ones behind them.
    #[must_use]
    pub fn rows(&self) -> Vec<PartRow> {
        (0..self.labels.len() + 3).map(|at| self.row(at)).collect()
    }

    fn row(&self, at: usize) -> PartRow {
        let cell = |column: &[String]| column.get(at).cloned().unwrap_or_default();
        PartRow {
            at,
            id: cell(self.ids),
            label: cell(self.labels),
            amount: cell(self.amounts),
            due: cell(self.dues),
            days: cell(self.days),
        }
    }

    /// Reads the rows; one without a name and an amount is left out. Shares come to 100 % of what the amounts leave.
    pub fn parse(&self, c: &mut Checker) -> Vec<Instalment> {
        let rows = self.rows().into_iter().filter(|row| !row.is_empty());
        let parts: Vec<Instalment> = rows.map(|row| row.parse(c)).collect();
        let share = |part: &Instalment| match part.part {
            Part::Share(share) => Some(share.raw()),
            Part::Amount(_) => None,
        };
        let shares: Vec<i64> = parts.iter().filter_map(share).collect();
        let sum = shares.iter().fold(0_i64, |sum, share| sum.saturating_add(*share));
        if !shares.is_empty() && sum != 1_000_000 {
            let per_cent = rust_decimal::Decimal::new(sum, 4).normalize();
            c.refuse(
                "parts-0-amount",
                format!("The shares come to {per_cent} %; together they make 100 %, of what amounts leave."),
            );
        }
        parts
    }
}

impl Columns<'_> {
    /// Refuses days that are past: such a part would be late at once. A day that stands already may stay.
    pub fn refuse_past(&self, c: &mut Checker, kept: &[Day], today: Day) {
        for row in self.rows().iter().filter(|row| !row.is_empty() && row.due == DueKind::Day.code()) {
            let past = row.days.trim().parse::<Day>().is_ok_and(|day| day < today && !kept.contains(&day));
            if past {
                c.refuse(row.field("days"), "That day is past: the part would be late at once.");
            }
        }
    }
}

impl PartRow {
    /// The id of one of its cells, where its message stands too.
    #[must_use]
    pub fn field(&self, cell: &str) -> String {
        format!("parts-{}-{cell}", self.at)
    }

    /// Whether a choice is the one made.
    #[must_use]
    pub fn is_due(&self, code: &str) -> bool {
        self.due == code
    }

    fn is_empty(&self) -> bool {
        self.label.trim().is_empty() && self.amount.trim().is_empty()
    }

    fn parse(&self, c: &mut Checker) -> Instalment {
        Instalment {
            id: self.id.trim().parse::<InstalmentId>().ok(),
            label: c.name(&self.field("label"), &self.label, "what the part is called"),
            part: self.part(c),
            due: self.due(c),
        }
    }

    fn part(&self, c: &mut Checker) -> Part {
        let field = self.field("amount");
        if self.amount.contains('%') {
            let share = c.share(&field, &self.amount);
            if share == Share::default() && c.is_fine(&field) {
                c.refuse(field, "A part is more than nothing.");
            }
            return Part::Share(share);
        }
        let amount = c.money(&field, &self.amount);
        if amount.is_zero() && c.is_fine(&field) {
            c.refuse(field, "Write a percentage such as 30 %, or an amount.");
        }
        Part::Amount(amount)
    }

    fn due(&self, c: &mut Checker) -> Due {
        let field = self.field("days");
        match c.pick::<DueKind>(&self.field("due"), &self.due) {
            DueKind::Acceptance => Due::Acceptance,
            DueKind::Before => Due::Before(c.whole(&field, &self.days, 0..=3650)),
            DueKind::After => Due::After(c.whole(&field, &self.days, 0..=3650)),
            DueKind::Day => Due::On(c.day(&field, &self.days)),
        }
    }
}

/// A part as its cells: amount, due, days.
#[must_use]
pub fn cells(part: &Instalment, formats: &Formats) -> (String, String, String) {
    let amount = match part.part {
        Part::Share(share) => format!("{} %", formats.share_input(share)),
        Part::Amount(amount) => formats.money_input(amount),
    };
    let (due, days) = match part.due {
        Due::Acceptance => (DueKind::Acceptance, String::new()),
        Due::Before(days) => (DueKind::Before, days.to_string()),
        Due::After(days) => (DueKind::After, days.to_string()),
        Due::On(day) => (DueKind::Day, day.to_string()),
    };
    (amount, due.code().to_owned(), days)
}

/// The sum of the amounts among some parts.
#[must_use]
pub fn amounts(parts: &[Instalment]) -> Money {
    let amount = |part: &Instalment| match part.part {
        Part::Amount(amount) => amount,
        Part::Share(_) => Money::ZERO,
    };
    parts.iter().map(amount).sum()
}
