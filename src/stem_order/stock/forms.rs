//! The forms of the stock: the count sheet, a lot's own form, writing off, left-overs.

pub mod left_overs;

use std::collections::BTreeMap;

use serde::Deserialize;

use super::holding::Holding;
use super::{Lot, MOST};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::StockLotId;
use crate::price_list::Material;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// The count sheet as typed: one of each column a row.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct CountForm {
    /// Taken in once under this key.
    pub once_key: String,
    /// The order to go back to, as the query of its address; empty: the stock.
    pub back: String,
    /// A lot's identity; [`NOT_THERE`] where a material of the order has no lot yet; empty where a lot is added.
    pub lot: Vec<String>,
    /// The lot's version as it was seen.
    pub version: Vec<String>,
    /// The material's name.
    pub material: Vec<String>,
    /// When it came.
    pub arrived_on: Vec<String>,
    /// How many are there; empty was not counted.
    pub count: Vec<String>,
}

/// Marks a row for a material of which no lot is there.
pub const NOT_THERE: &str = "none";

/// One row as typed.
#[derive(Debug, Clone, Default)]
pub struct CountRow {
    /// Its place.
    pub at: usize,
    /// See [`CountForm::lot`].
    pub lot: String,
    /// See [`CountForm::version`].
    pub version: String,
    /// See [`CountForm::material`].
    pub material: String,
    /// See [`CountForm::arrived_on`].
    pub arrived_on: String,
    /// See [`CountForm::count`].
    pub count: String,
}

/// A row that counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Counted {
    /// A lot was counted.
    Lot {
        /// In which row.
        at: usize,
        /// Which.
        lot: StockLotId,
        /// As it was seen.
        version: String,
        /// How many are there.
        count: i64,
    },
    /// A lot is added.
    New {
        /// In which row.
        at: usize,
        /// Of what, by name.
        material: String,
        /// When it came.
        arrived_on: Day,
        /// How many.
        count: i64,
    },
}

impl CountForm {
    /// The sheet for these lots, then for materials that have none, then three empty rows.
    #[must_use]
    pub fn of(lots: &[(&Holding, &Material)], none: &[&Material], today: Day) -> CountForm {
        let mut form = CountForm::default();
        for (holding, material) in lots {
            let lot = &holding.lot;
            form.push(
                &lot.id.to_string(),
                &lot.version.to_string(),
                &material.name,
                &lot.arrived_on.to_string(),
            );
        }
        for material in none {
            form.push(NOT_THERE, "", &material.name, &today.to_string());
        }
        for _ in 0..3 {
            form.push("", "", "", "");
        }
        form
    }

    fn push(&mut self, lot: &str, version: &str, material: &str, arrived_on: &str) {
        self.lot.push(lot.into());
        self.version.push(version.into());
        self.material.push(material.into());
        self.arrived_on.push(arrived_on.into());
        self.count.push(String::new());
    }

    /// Every row.
    #[must_use]
    pub fn rows(&self) -> Vec<CountRow> {
        (0..self.lot.len().min(self.count.len())).map(|at| self.row(at)).collect()
    }

    fn row(&self, at: usize) -> CountRow {
        let cell = |column: &[String]| column.get(at).cloned().unwrap_or_default();
        CountRow {
            at,
            lot: cell(&self.lot),
            version: cell(&self.version),
            material: cell(&self.material),
            arrived_on: cell(&self.arrived_on),
            count: cell(&self.count),
        }
    }

    /// Reads the sheet: what was counted, or every message. Rows without a count are left out.
    pub fn parse(&self, today: Day, formats: &Formats) -> Result<Vec<Counted>, FieldErrors> {
        let mut c = Checker::new(formats);
        let counted = self.rows().into_iter().filter_map(|row| counted(&mut c, row, today)).collect();
        c.done(counted)
    }
}

fn counted(c: &mut Checker, row: CountRow, today: Day) -> Option<Counted> {
    let at = row.at;
    let field = |cell: &str| format!("stock-{at}-{cell}");
    if let Ok(lot) = row.lot.parse::<StockLotId>() {
        let count = c.whole_or_none(&field("count"), &row.count, 0..=MOST)?;
        return Some(Counted::Lot { at, lot, version: row.version, count });
    }
    let known = row.lot == NOT_THERE;
    let typed = [&row.material, &row.arrived_on, &row.count].into_iter().any(|cell| !cell.trim().is_empty());
    if !typed || (known && matches!(row.count.trim(), "" | "0")) {
        return None;
    }
    let material = c.name(&field("material"), &row.material, "what it is, as the price list names it");
    let count = c.whole(&field("count"), &row.count, 1..=MOST);
    let arrived_on = c.day_or_none(&field("arrived_on"), &row.arrived_on).unwrap_or(today);
    not_after(c, &field("arrived_on"), arrived_on, today);
    Some(Counted::New { at, material, arrived_on, count })
}

fn not_after(c: &mut Checker, field: &str, arrived_on: Day, today: Day) {
    if arrived_on > today {
        c.refuse(field, "It cannot have arrived after today.");
    }
}

/// A lot's own form: when it came, what to remember.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct LotForm {
    pub version: String,
    pub arrived_on: String,
    pub note: String,
}

impl LotForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(lot: &Lot) -> LotForm {
        LotForm {
            version: lot.version.to_string(),
            arrived_on: lot.arrived_on.to_string(),
            note: lot.note.clone(),
        }
    }

    /// Reads the form. A lot cannot have come after it was counted.
    pub fn parse(&self, counted_on: Day, formats: &Formats) -> Result<(Day, String), FieldErrors> {
        let mut c = Checker::new(formats);
        let arrived_on = c.day("arrived_on", &self.arrived_on);
        if arrived_on > counted_on {
            let counted = formats.weekday(counted_on);
            c.refuse(
                "arrived_on",
                format!("It was counted on {counted}: it cannot have arrived after that."),
            );
        }
        let note = c.line("note", &self.note);
        c.done((arrived_on, note))
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &LotForm) -> Vec<Difference> {
        differences(&[
            ("Arrived on", &self.arrived_on, &theirs.arrived_on),
            ("Note", &self.note, &theirs.note),
        ])
    }
}

/// Writing some of a lot off.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct WriteOffForm {
    pub version: String,
    pub count: String,
    pub why: String,
}

impl WriteOffForm {
    /// Reads the form: how many, of those that are there, and why.
    pub fn parse(&self, there: i64, formats: &Formats) -> Result<(i64, String), FieldErrors> {
        let mut c = Checker::new(formats);
        let count = c.whole("count", &self.count, 1..=there.max(1));
        let why = c.name("why", &self.why, "why: wilted, broken, given away");
        c.done((count, why))
    }
}

/// Rows that someone else changed while the sheet stood open, by the lot as it is now.
#[must_use]
pub fn stale<'a>(counted: &[Counted], now: &BTreeMap<StockLotId, &'a Holding>) -> Vec<(usize, &'a Holding)> {
    let changed = counted.iter().filter_map(|row| match row {
        Counted::Lot { at, lot, version, .. } => {
            let holding = now.get(lot)?;
            (holding.lot.version.to_string() != *version).then_some((*at, *holding))
        }
        Counted::New { .. } => None,
    });
    changed.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn form(rows: &[(&str, &str, &str, &str)]) -> CountForm {
        let mut form = CountForm::default();
        for (lot, material, arrived_on, count) in rows {
            form.push(lot, "1", material, arrived_on);
            *form.count.last_mut().unwrap() = (*count).into();
        }
        form
    }

    fn parse(form: &CountForm) -> Result<Vec<Counted>, FieldErrors> {
        form.parse("2026-05-04".parse().unwrap(), &Studio::new_book().formats)
    }

    #[test]
    fn only_what_was_counted_is_kept() {
        let rows = [
            ("7", "Rose", "2026-05-01", "0"),
            ("8", "Rose", "2026-05-02", ""),
            (NOT_THERE, "Stock", "2026-05-04", ""),
            (NOT_THERE, "Lilac", "2026-05-04", "0"),
            (NOT_THERE, "Urn", "2026-05-04", "4"),
            ("", "Candle", "", "12"),
            ("", "", "", ""),
        ];
        let counted = parse(&form(&rows)).unwrap();
        let new = |at: usize, name: &str, count| Counted::New {
            at,
            material: name.into(),
            arrived_on: "2026-05-04".parse().unwrap(),
            count,
        };
        let seven = Counted::Lot { at: 0, lot: StockLotId(7), version: "1".into(), count: 0 };
        assert_eq!(counted, [seven, new(4, "Urn", 4), new(5, "Candle", 12)]);
    }

    #[test]
    fn every_wrong_cell_is_named() {
        let rows = [
            ("7", "Rose", "2026-05-01", "-1"),
            ("8", "Rose", "2026-05-01", "2.5"),
            ("", "Candle", "2026-05-05", "1000000000"),
            ("", "Urn", "", ""),
            ("", "", "soon", "3"),
        ];
        let errors = parse(&form(&rows)).unwrap_err();
        let fields: Vec<&str> = errors.list().iter().map(|(field, _)| field.as_str()).collect();
        assert_eq!(
            fields,
            [
                "stock-0-count",
                "stock-1-count",
                "stock-2-count",
                "stock-2-arrived_on",
                "stock-3-count",
                "stock-4-material",
                "stock-4-arrived_on"
            ]
        );
    }
}
