//! The forms of this room: from when to when an event keeps its loans, what came back, what lost pieces are charged at.

use std::collections::HashMap;

use serde::Deserialize;

use super::bookings::EventLoans;
use super::store::MOST_DAYS;
use super::{Count, Period};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::ground::money::Money;
use crate::price_list::Material;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// More than this of one thing is a slip of the finger.
const MOST: i64 = 100_000;

/// Days before and after, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PeriodForm {
    pub version: String,
    pub leaves_before: String,
    pub returns_after: String,
}

impl PeriodForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(period: &Period) -> PeriodForm {
        PeriodForm {
            version: period.version.to_string(),
            leaves_before: period.leaves_before.to_string(),
            returns_after: period.returns_after.to_string(),
        }
    }

    /// Reads the form: a period, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<Period, FieldErrors> {
        let mut c = Checker::new(formats);
        let period = Period {
            version: 0,
            leaves_before: c.whole("leaves_before", &self.leaves_before, 0..=MOST_DAYS),
            returns_after: c.whole("returns_after", &self.returns_after, 0..=MOST_DAYS),
        };
        c.done(period)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &PeriodForm) -> Vec<Difference> {
        differences(&[
            ("Days before", &self.leaves_before, &theirs.leaves_before),
            ("Days after", &self.returns_after, &theirs.returns_after),
        ])
    }
}

/// What came back, as typed: one of each column a material.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct CountForm {
    pub version: String,
    pub counted_on: String,
    pub counted_by: String,
    pub charged: String,
    pub note: String,
    pub material_id: Vec<String>,
    pub taken: Vec<String>,
    pub back: Vec<String>,
    pub broken: Vec<String>,
    pub missing: Vec<String>,
    /// Whether every row in which nothing is typed is back, good.
    pub all_back: String,
}

/// One row of the count.
#[derive(Debug, Clone, Default)]
pub struct CountRow {
    pub place: usize,
    pub material: String,
    pub taken: String,
    pub back: String,
    pub broken: String,
    pub missing: String,
}

/// A count as typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewCount {
    /// When.
    pub on: Day,
    /// By whom.
    pub by: String,
    /// Whether what is lost is charged.
    pub charged: bool,
    /// What to remember.
    pub note: String,
    /// What came back of each material that was counted.
    pub lines: Vec<NewCountLine>,
}

/// What came back of one material, as typed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NewCountLine {
    /// Of which.
    pub material: MaterialId,
    /// How many left the door.
    pub taken: i64,
    /// How many are good.
    pub back: i64,
    /// How many are broken.
    pub broken: i64,
    /// How many are lost.
    pub missing: i64,
}

impl CountForm {
    /// The form filled in from the book, with a row for each material that was taken.
    #[must_use]
    pub fn of(loans: &EventLoans, order: &[MaterialId], today: Day) -> CountForm {
        let count: Option<&Count> = loans.borrower.count.as_ref();
        let line = |id: &MaterialId| count.and_then(|count| count.line(*id));
        let cell = |id: &MaterialId, of: fn(&super::CountedLine) -> i64| {
            line(id).map_or_else(String::new, |line| of(line).to_string())
        };
        CountForm {
            version: count.map_or(0, |count| count.version).to_string(),
            counted_on: count.map_or(today, |count| count.on).to_string(),
            counted_by: count.map_or_else(String::new, |count| count.by.clone()),
            charged: if count.is_some_and(|count| count.charged) { "yes" } else { "no" }.into(),
            note: count.map_or_else(String::new, |count| count.note.clone()),
            material_id: order.iter().map(ToString::to_string).collect(),
            taken: order.iter().map(|id| loans.taken.get(id).copied().unwrap_or(0).to_string()).collect(),
            back: order.iter().map(|id| cell(id, |line| line.back)).collect(),
            broken: order.iter().map(|id| cell(id, |line| line.broken)).collect(),
            missing: order.iter().map(|id| cell(id, |line| line.missing)).collect(),
            all_back: String::new(),
        }
    }

    /// The rows as typed.
    #[must_use]
    pub fn rows(&self) -> Vec<CountRow> {
        (0..self.material_id.len()).map(|place| self.row(place)).collect()
    }

    fn row(&self, place: usize) -> CountRow {
        let at = |column: &[String]| column.get(place).cloned().unwrap_or_default();
        CountRow {
            place,
            material: at(&self.material_id),
            taken: at(&self.taken),
            back: at(&self.back),
            broken: at(&self.broken),
            missing: at(&self.missing),
        }
    }

    /// Where all is said to be back: what is neither typed broken nor missing is back, good, in every row without a number
    /// back.
    #[must_use]
    pub fn filled(mut self) -> CountForm {
        if self.all_back.is_empty() {
            return self;
        }
        let rows = self.rows();
        self.back.resize(rows.len(), String::new());
        for (row, back) in rows.iter().zip(&mut self.back) {
            let number =
                |cell: &str| if cell.trim().is_empty() { Some(0) } else { cell.trim().parse::<i64>().ok() };
            let lost = number(&row.broken).zip(number(&row.missing));
            let left = row.taken.trim().parse::<i64>().ok().zip(lost);
            let left =
                left.and_then(|(taken, (broken, missing))| taken.checked_sub(broken)?.checked_sub(missing));
            if let Some(left) = left.filter(|left| back.trim().is_empty() && *left >= 0) {
                *back = left.to_string();
            }
        }
        self
    }

    /// Whether lost pieces are to be charged.
    #[must_use]
    pub fn is_charged(&self) -> bool {
        self.charged == "yes"
    }

    /// Reads the form: a count, or every message. A row in which nothing is typed beside what went out is not counted
    /// yet and left out.
    pub fn parse(
        &self,
        known: &HashMap<MaterialId, Material>,
        formats: &Formats,
    ) -> Result<NewCount, FieldErrors> {
        let mut c = Checker::new(formats);
        let counted = self.rows().into_iter().filter(CountRow::is_counted);
        let lines: Vec<NewCountLine> = counted.filter_map(|row| row.parse(&mut c, known)).collect();
        if lines.is_empty() && self.rows().iter().all(|row| !row.is_counted()) {
            c.refuse("count-0-back", "Write how many came back of at least one thing.");
        }
        if !matches!(self.charged.as_str(), "yes" | "no") {
            c.refuse("charged", "Say whether what is lost is charged.");
        }
        let count = NewCount {
            on: c.day("counted_on", &self.counted_on),
            by: c.line("counted_by", &self.counted_by),
            charged: self.is_charged(),
            note: c.text("note", &self.note),
            lines,
        };
        c.done(count)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &CountForm, names: &HashMap<MaterialId, Material>) -> Vec<Difference> {
        differences(&[
            ("Counted on", &self.counted_on, &theirs.counted_on),
            ("Counted by", &self.counted_by, &theirs.counted_by),
            ("Charged", &self.charged, &theirs.charged),
            ("Note", &self.note.replace("\r\n", "\n"), &theirs.note),
            ("Count", &self.in_words(names), &theirs.in_words(names)),
        ])
    }

    fn in_words(&self, names: &HashMap<MaterialId, Material>) -> String {
        let name = |row: &CountRow| {
            let material = row.material.parse().ok().and_then(|id: MaterialId| names.get(&id));
            material.map_or_else(String::new, |material| material.name.clone())
        };
        let number =
            |text: &str| if text.trim().is_empty() { "0".to_owned() } else { text.trim().to_owned() };
        let words = self.rows().into_iter().filter(CountRow::is_counted).map(|row| {
            let (back, broken, missing) = (number(&row.back), number(&row.broken), number(&row.missing));
            format!("{}: {back} of {} back, {broken} broken, {missing} missing", name(&row), row.taken.trim())
        });
        words.collect::<Vec<_>>().join("; ")
    }
}

impl CountRow {
    /// Whether anything was counted in it.
    #[must_use]
    pub fn is_counted(&self) -> bool {
        [&self.back, &self.broken, &self.missing].iter().any(|cell| !cell.trim().is_empty())
    }

    /// The id of one of its cells, where its message stands too.
    #[must_use]
    pub fn field(&self, cell: &str) -> String {
        format!("count-{}-{cell}", self.place)
    }

    fn parse(&self, c: &mut Checker, known: &HashMap<MaterialId, Material>) -> Option<NewCountLine> {
        let material = self.material.parse().ok().filter(|id: &MaterialId| known.contains_key(id));
        let Some(material) = material else {
            c.refuse(self.field("taken"), "This is not lent to the event.");
            return None;
        };
        let mut number = |cell: &str, raw: &str| c.whole_or_none(&self.field(cell), raw, 0..=MOST);
        let (back, broken, missing) =
            (number("back", &self.back), number("broken", &self.broken), number("missing", &self.missing));
        let taken = c.whole(&self.field("taken"), &self.taken, 1..=MOST);
        let Some(back) = back else {
            if self.back.trim().is_empty() {
                c.refuse(self.field("back"), "Write how many came back good, 0 if none.");
            }
            return None;
        };
        let (broken, missing) = (broken.unwrap_or(0), missing.unwrap_or(0));
        if back + broken + missing > taken {
            let sum = back + broken + missing;
            c.refuse(self.field("back"), format!("That makes {sum}, but only {taken} went out."));
        }
        Some(NewCountLine { material, taken, back, broken, missing })
    }
}

/// What lost pieces are charged at, as typed: one of each column a material.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct ChargeForm {
    pub version: String,
    pub material_id: Vec<String>,
    pub price: Vec<String>,
}

/// What a lost piece of a material is charged at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NewCharge {
    /// Of which.
    pub material: MaterialId,
    /// None is not charged.
    pub price: Option<Money>,
}

impl ChargeForm {
    /// The form filled in from the book, a row for each material.
    #[must_use]
    pub fn of(
        version: i64,
        order: &[MaterialId],
        charges: &HashMap<MaterialId, Money>,
        formats: &Formats,
    ) -> ChargeForm {
        let price = |id| charges.get(id).map_or_else(String::new, |price| formats.money_input(*price));
        ChargeForm {
            version: version.to_string(),
            material_id: order.iter().map(ToString::to_string).collect(),
            price: order.iter().map(price).collect(),
        }
    }

    /// Each row: its place, its material and what was typed.
    #[must_use]
    pub fn rows(&self) -> Vec<(usize, Option<MaterialId>, &str)> {
        let typed = |place: usize| self.price.get(place).map_or("", String::as_str);
        let ids = self.material_id.iter().enumerate();
        ids.map(|(place, id)| (place, id.parse().ok(), typed(place))).collect()
    }

    /// Reads the form: every charge, or every message.
    pub fn parse(
        &self,
        known: &HashMap<MaterialId, Material>,
        formats: &Formats,
    ) -> Result<Vec<NewCharge>, FieldErrors> {
        let mut c = Checker::new(formats);
        let mut charges = Vec::new();
        for (place, material, typed) in self.rows() {
            let field = format!("price-{place}");
            match material.filter(|id| known.contains_key(id)) {
                Some(material) => charges.push(NewCharge { material, price: c.money_or_none(&field, typed) }),
                None => c.refuse(field, "This is nothing that the studio lends."),
            }
        }
        c.done(charges)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &ChargeForm, names: &HashMap<MaterialId, Material>) -> Vec<Difference> {
        differences(&[("Charges", &self.in_words(names), &theirs.in_words(names))])
    }

    fn in_words(&self, names: &HashMap<MaterialId, Material>) -> String {
        let filled = self.rows().into_iter().filter(|(_, _, typed)| !typed.trim().is_empty());
        let words = filled.map(|(_, id, typed)| {
            let name = id.and_then(|id| names.get(&id)).map_or("", |material| material.name.as_str());
            format!("{name} {}", typed.trim())
        });
        words.collect::<Vec<_>>().join("; ")
    }
}

#[cfg(test)]
mod tests;
