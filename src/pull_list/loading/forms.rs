//! The form of the studio's crates and vans: two grids, saved together.

use std::collections::BTreeSet;

use serde::Deserialize;

use super::usual::USUAL_MOST_WEIGHT;
use super::{CrateKind, Van};
use crate::ground::formats::Formats;
use crate::ground::quantity::Length;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// Nothing that is carried is longer: 20 m.
const LONGEST: Length = Length::from_um(20_000_000);

/// Crates and vans as typed: one of each column a row.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct LoadingForm {
    pub version: String,
    pub crate_id: Vec<String>,
    pub crate_name: Vec<String>,
    pub crate_length: Vec<String>,
    pub crate_width: Vec<String>,
    pub crate_height: Vec<String>,
    pub crate_own: Vec<String>,
    pub crate_most: Vec<String>,
    pub crate_stack: Vec<String>,
    pub van_id: Vec<String>,
    pub van_name: Vec<String>,
    pub van_length: Vec<String>,
    pub van_width: Vec<String>,
    pub van_height: Vec<String>,
    pub van_payload: Vec<String>,
}

/// One row of a grid.
#[derive(Debug, Clone, Default)]
pub struct Row {
    /// `crates` or `vans`.
    pub table: &'static str,
    /// From 0.
    pub place: usize,
    pub id: String,
    pub name: String,
    pub length: String,
    pub width: String,
    pub height: String,
    /// A crate's own weight.
    pub own: String,
    /// What a crate may weigh, or a van may carry.
    pub most: String,
    /// `yes` or `no`.
    pub stack: String,
}

/// Everything that was typed, read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewLoading {
    /// Crates.
    pub crates: Vec<CrateKind>,
    /// Vans.
    pub vans: Vec<Van>,
}

impl LoadingForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(version: i64, crates: &[CrateKind], vans: &[Van], formats: &Formats) -> LoadingForm {
        let length = |length: Length| formats.length_input(length);
        let kinds = |of: &dyn Fn(&CrateKind) -> String| crates.iter().map(of).collect();
        let driven = |of: &dyn Fn(&Van) -> String| vans.iter().map(of).collect();
        LoadingForm {
            version: version.to_string(),
            crate_id: kinds(&|kind| id(kind.id.as_ref())),
            crate_name: kinds(&|kind| kind.name.clone()),
            crate_length: kinds(&|kind| length(kind.length)),
            crate_width: kinds(&|kind| length(kind.width)),
            crate_height: kinds(&|kind| length(kind.clear_height)),
            crate_own: kinds(&|kind| formats.weight_input(kind.own_weight)),
            crate_most: kinds(&|kind| formats.weight_input(kind.most_weight)),
            crate_stack: kinds(&|kind| if kind.stackable { "yes" } else { "no" }.to_owned()),
            van_id: driven(&|van| id(van.id.as_ref())),
            van_name: driven(&|van| van.name.clone()),
            van_length: driven(&|van| length(van.length)),
            van_width: driven(&|van| length(van.width)),
            van_height: driven(&|van| length(van.height)),
            van_payload: driven(&|van| formats.weight_input(van.payload)),
        }
    }

    /// The rows of the crates with three empty ones behind them.
    #[must_use]
    pub fn crates(&self) -> Vec<Row> {
        (0..self.crate_name.len() + 3).map(|place| self.crate_row(place)).collect()
    }

    /// The rows of the vans with three empty ones behind them.
    #[must_use]
    pub fn vans(&self) -> Vec<Row> {
        (0..self.van_name.len() + 3).map(|place| self.van_row(place)).collect()
    }

    fn crate_row(&self, place: usize) -> Row {
        Row {
            table: "crates",
            place,
            id: at(&self.crate_id, place),
            name: at(&self.crate_name, place),
            length: at(&self.crate_length, place),
            width: at(&self.crate_width, place),
            height: at(&self.crate_height, place),
            own: at(&self.crate_own, place),
            most: at(&self.crate_most, place),
            stack: at(&self.crate_stack, place),
        }
    }

    fn van_row(&self, place: usize) -> Row {
        Row {
            table: "vans",
            place,
            id: at(&self.van_id, place),
            name: at(&self.van_name, place),
            length: at(&self.van_length, place),
            width: at(&self.van_width, place),
            height: at(&self.van_height, place),
            most: at(&self.van_payload, place),
            ..Row::default()
        }
    }

    /// Reads the form: all crates and vans, or every message. A row without a name is left out.
    pub fn parse(&self, formats: &Formats) -> Result<NewLoading, FieldErrors> {
        let mut c = Checker::new(formats);
        let mut names = BTreeSet::new();
        let filled = |rows: Vec<Row>| rows.into_iter().filter(|row| !row.is_left_out());
        let crates = filled(self.crates()).map(|row| row.new_crate(&mut c, &mut names)).collect();
        names.clear();
        let vans = filled(self.vans()).map(|row| row.new_van(&mut c, &mut names)).collect();
        c.done(NewLoading { crates, vans })
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &LoadingForm) -> Vec<Difference> {
        differences(&[
            ("Crates", &in_words(&self.crates()), &in_words(&theirs.crates())),
            ("Vans", &in_words(&self.vans()), &in_words(&theirs.vans())),
        ])
    }
}

fn in_words(rows: &[Row]) -> String {
    let rows = rows.iter().filter(|row| !row.name.trim().is_empty());
    let words = rows.map(|row| {
        let own = if row.own.is_empty() { String::new() } else { format!(", own {}", row.own.trim()) };
        let stacked = if row.stack == "yes" { ", stacked" } else { "" };
        let sides = [&row.length, &row.width, &row.height].map(|side| side.trim());
        format!("{} {}{own}, most {}{stacked}", row.name.trim(), sides.join(" × "), row.most.trim())
    });
    words.collect::<Vec<_>>().join("; ")
}

fn id(known: Option<&impl ToString>) -> String {
    known.map_or_else(String::new, ToString::to_string)
}

fn at(column: &[String], place: usize) -> String {
    column.get(place).cloned().unwrap_or_default()
}

impl Row {
    /// The id of one of its cells, where its message stands too.
    #[must_use]
    pub fn field(&self, cell: &str) -> String {
        format!("{}-{}-{cell}", self.table, self.place)
    }

    /// Whether it may be stacked.
    #[must_use]
    pub fn is_stacked(&self) -> bool {
        self.stack == "yes"
    }

    /// No name: new and empty, or known and to be removed.
    fn is_left_out(&self) -> bool {
        let cells = [&self.length, &self.width, &self.height, &self.own, &self.most];
        let known = !self.id.trim().is_empty();
        self.name.trim().is_empty() && (known || cells.iter().all(|cell| cell.trim().is_empty()))
    }

    fn named(&self, c: &mut Checker, names: &mut BTreeSet<String>) -> String {
        let name = c.name(&self.field("name"), &self.name, "what it is called");
        if !name.is_empty() && !names.insert(name.to_lowercase()) {
            c.refuse(self.field("name"), format!("\u{201c}{name}\u{201d} stands here twice."));
        }
        name
    }

    fn side(&self, c: &mut Checker, cell: &str, raw: &str) -> Length {
        let length = c.length(&self.field(cell), raw);
        if length > LONGEST {
            c.refuse(self.field(cell), "Nothing that is carried is longer than 20 m.");
        }
        length
    }

    fn new_crate(&self, c: &mut Checker, names: &mut BTreeSet<String>) -> CrateKind {
        let own_weight = c.weight(&self.field("own"), &self.own);
        let most_weight = c.weight_or_none(&self.field("most"), &self.most).unwrap_or(USUAL_MOST_WEIGHT);
        if most_weight <= own_weight {
            c.refuse(self.field("most"), "Full it may weigh more than it weighs empty.");
        }
        if !matches!(self.stack.as_str(), "yes" | "no" | "") {
            c.refuse(self.field("stack"), "Say whether it may be stacked.");
        }
        CrateKind {
            id: self.id.parse().ok(),
            name: self.named(c, names),
            length: self.side(c, "length", &self.length),
            width: self.side(c, "width", &self.width),
            clear_height: self.side(c, "height", &self.height),
            own_weight,
            most_weight,
            stackable: self.is_stacked(),
        }
    }

    fn new_van(&self, c: &mut Checker, names: &mut BTreeSet<String>) -> Van {
        Van {
            id: self.id.parse().ok(),
            name: self.named(c, names),
            length: self.side(c, "length", &self.length),
            width: self.side(c, "width", &self.width),
            height: self.side(c, "height", &self.height),
            payload: c.weight(&self.field("most"), &self.most),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::weight::Weight;
    use crate::studio::Studio;

    fn form(crates: &[[&str; 8]], vans: &[[&str; 6]]) -> LoadingForm {
        let kinds = |at: usize| crates.iter().map(|row| row[at].to_owned()).collect::<Vec<_>>();
        let driven = |at: usize| vans.iter().map(|row| row[at].to_owned()).collect::<Vec<_>>();
        LoadingForm {
            version: "0".into(),
            crate_id: kinds(0),
            crate_name: kinds(1),
            crate_length: kinds(2),
            crate_width: kinds(3),
            crate_height: kinds(4),
            crate_own: kinds(5),
            crate_most: kinds(6),
            crate_stack: kinds(7),
            van_id: driven(0),
            van_name: driven(1),
            van_length: driven(2),
            van_width: driven(3),
            van_height: driven(4),
            van_payload: driven(5),
        }
    }

    #[test]
    fn what_is_typed_is_read_and_what_has_no_name_left_out() {
        let formats = Studio::new_book().formats;
        let typed = form(
            &[["", "Crate", "56", "36", "30", "1.8", "", "yes"], ["4", "", "56", "", "", "", "", "no"]],
            &[["2", "Van", "180", "125", "120", "600"]],
        );
        let new = typed.parse(&formats).unwrap();
        assert_eq!((new.crates.len(), new.vans.len()), (1, 1));
        assert_eq!(new.crates[0].most_weight, USUAL_MOST_WEIGHT, "empty is the lifting limit");
        assert_eq!((new.crates[0].own_weight, new.crates[0].stackable), (Weight::from_grams(1_800), true));
    }

    #[test]
    fn every_wrong_cell_is_named() {
        let formats = Studio::new_book().formats;
        let typed = form(
            &[
                ["", "Crate", "0", "-36", "2500", "5", "4", "perhaps"],
                ["", "crate", "56", "36", "30", "1", "", "no"],
                ["", "", "56", "", "", "", "", "no"],
            ],
            &[["", "Van", "180", "x", "1000000000", "0"]],
        );
        let errors = typed.parse(&formats).unwrap_err();
        for field in [
            "crates-0-length",
            "crates-0-width",
            "crates-0-height",
            "crates-0-most",
            "crates-0-stack",
            "crates-1-name",
            "crates-2-name",
            "vans-0-width",
            "vans-0-height",
            "vans-0-most",
        ] {
            assert!(errors.of(field).is_some(), "{field}: {errors:?}");
        }
    }
}
