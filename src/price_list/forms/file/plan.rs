//! The plan of taking a file in: what each line means, and what would be written.

use std::collections::HashMap;

use super::super::super::file::columns::{COLUMNS, Subject, header};
use super::super::super::file::table::{Line, Table};
use super::super::super::file::{KnownList, Writes, key};
use crate::ground::dates::Day;
use crate::ground::fingerprint::fingerprint;
use crate::ground::formats::{Formats, clipped};
use crate::ground::ids::{MaterialId, SupplierId};
use crate::web::forms::{Difference, FieldErrors};

/// How a line stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LineStanding {
    /// It adds a material, a supplier or an offer.
    New,
    /// It changes what is in the book, or adds a price.
    Changed,
    /// The book says so already.
    Same,
    /// It cannot be taken in.
    Refused,
}

/// A value that a line changes.
#[derive(Debug, Clone)]
pub struct Change {
    /// What.
    pub label: String,
    /// As the book has it.
    pub before: String,
    /// As the line says.
    pub after: String,
}

/// What becomes of one line.
#[derive(Debug, Clone, Default)]
pub struct LineReport {
    /// Its number in the file.
    pub number: u64,
    /// The material it names.
    pub material: String,
    /// The supplier it names.
    pub supplier: String,
    /// Why it is refused.
    pub reasons: Vec<String>,
    /// What it adds.
    pub news: Vec<String>,
    /// What it changes.
    pub changes: Vec<Change>,
}

impl LineReport {
    /// How it stands.
    #[must_use]
    pub fn standing(&self) -> LineStanding {
        if !self.reasons.is_empty() {
            LineStanding::Refused
        } else if !self.news.is_empty() {
            LineStanding::New
        } else if !self.changes.is_empty() {
            LineStanding::Changed
        } else {
            LineStanding::Same
        }
    }
}

/// What taking a file in means.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Each line.
    pub lines: Vec<LineReport>,
    /// Headings that are left aside.
    pub unknown: Vec<String>,
    /// What would be written, if no line is refused.
    pub writes: Writes,
}

impl Plan {
    /// How many lines stand so.
    #[must_use]
    pub fn count(&self, standing: LineStanding) -> usize {
        self.lines.iter().filter(|line| line.standing() == standing).count()
    }

    /// A number that is another one as soon as another thing would be written.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        fingerprint(&self.writes)
    }
}

/// Holds a file against the list as the book has it on a day.
#[must_use]
pub fn plan(table: &Table, known: &KnownList, formats: &Formats, today: Day) -> Plan {
    let mut planner = Planner::new(table, known, formats, today);
    planner.refuse_odd_lines();
    planner.suppliers();
    planner.materials();
    planner.offers();
    Plan { lines: planner.reports, unknown: table.unknown.clone(), writes: planner.writes }
}

/// The work of planning.
pub(super) struct Planner<'a> {
    pub(super) table: &'a Table,
    pub(super) known: &'a KnownList,
    pub(super) formats: &'a Formats,
    pub(super) today: Day,
    pub(super) reports: Vec<LineReport>,
    pub(super) writes: Writes,
    /// Suppliers of the file, known and new.
    pub(super) supplier_ids: HashMap<String, SupplierId>,
    /// Materials of the file, known and new.
    pub(super) material_ids: HashMap<String, MaterialId>,
}

/// All that the lines of a file say of one thing.
pub(super) struct Gathered {
    /// Its name as first written.
    pub(super) name: String,
    /// The first line that names it, by place.
    pub(super) first: usize,
    /// Each filled column with its cell and the line, by place, that says so first.
    pub(super) cells: Vec<(usize, String, usize)>,
}

impl<'a> Planner<'a> {
    fn new(table: &'a Table, known: &'a KnownList, formats: &'a Formats, today: Day) -> Planner<'a> {
        let report = |line: &Line| LineReport {
            number: line.number,
            material: clipped(table.text(line, Subject::Material, "name")),
            supplier: clipped(table.text(line, Subject::Supplier, "name")),
            ..LineReport::default()
        };
        Planner {
            table,
            known,
            formats,
            today,
            reports: table.lines.iter().map(report).collect(),
            writes: Writes::default(),
            supplier_ids: HashMap::new(),
            material_ids: HashMap::new(),
        }
    }

    pub(super) fn refuse(&mut self, line: usize, reason: impl Into<String>) {
        self.reports[line].reasons.push(reason.into());
    }

    pub(super) fn refuse_cell(&mut self, line: usize, column: usize, reason: &str) {
        self.refuse(line, format!("{}: {reason}", COLUMNS[column].header));
    }

    /// Lines with more cells than headings, with nothing to tell them by, or with half an offer.
    fn refuse_odd_lines(&mut self) {
        let table = self.table;
        for (at, line) in table.lines.iter().enumerate() {
            if line.too_long {
                self.refuse(at, "It has more cells than the file has headings; is a separator in a text without quotation marks?");
            }
            let named = |of| !table.text(line, of, "name").is_empty();
            let offer =
                [Subject::Offer, Subject::Price].iter().any(|of| table.filled(line, *of).next().is_some());
            match (named(Subject::Material), named(Subject::Supplier), offer) {
                (false, false, _) => self.refuse(at, "It names neither a material nor a supplier."),
                (true, false, true) => self.refuse(at, "It has a pack or a price, but no supplier."),
                (false, true, true) => self.refuse(at, "It has a pack or a price, but no material."),
                (true, true, false) => {
                    self.refuse(at, "It names a material and a supplier, but no pack and no price.");
                }
                _ => {}
            }
        }
    }

    /// What all lines say of each thing a column names, in the order of first mention.
    pub(super) fn gather(&mut self, of: Subject) -> Vec<(String, Gathered)> {
        let table = self.table;
        let mut found: Vec<(String, Gathered)> = Vec::new();
        let mut places: HashMap<String, usize> = HashMap::new();
        for (at, line) in table.lines.iter().enumerate() {
            let name = table.text(line, of, "name");
            if name.is_empty() {
                continue;
            }
            let place = *places.entry(key(name)).or_insert_with(|| {
                found.push((key(name), Gathered { name: name.to_owned(), first: at, cells: Vec::new() }));
                found.len() - 1
            });
            let cells = table.filled(line, of).filter(|(column, _)| COLUMNS[*column].field != "name");
            self.add_cells(&mut found[place].1, at, cells);
        }
        found
    }

    /// Adds a line's cells to what is known of a thing; two lines must not say two things.
    pub(super) fn add_cells<'c>(
        &mut self,
        gathered: &mut Gathered,
        line: usize,
        cells: impl Iterator<Item = (usize, &'c str)>,
    ) {
        for (column, cell) in cells {
            match gathered.cells.iter().find(|(known, ..)| *known == column) {
                None => gathered.cells.push((column, cell.to_owned(), line)),
                Some((_, other, _)) if other == cell => {}
                Some((_, other, there)) => {
                    let number = self.reports[*there].number;
                    let (ours, theirs) = (clipped(cell), clipped(other));
                    self.refuse_cell(
                        line,
                        column,
                        &format!(
                            "\u{201c}{ours}\u{201d} here, but \u{201c}{theirs}\u{201d} in line {number}."
                        ),
                    );
                }
            }
        }
    }

    /// Puts the messages of a refused form at the lines whose cells they are about.
    pub(super) fn refuse_form(&mut self, of: Subject, gathered: &Gathered, errors: &FieldErrors) {
        for (field, message) in errors.list() {
            let column = super::super::super::file::columns::place(of, field);
            let line =
                gathered.cells.iter().find(|(known, ..)| Some(*known) == column).map(|(.., line)| *line);
            let heading = header(of, field);
            self.refuse(line.unwrap_or(gathered.first), format!("{heading}: {message}"));
        }
    }

    pub(super) fn report_changes(&mut self, line: usize, differences: Vec<Difference>) {
        let change = |d: Difference| Change { label: d.label.to_owned(), before: d.theirs, after: d.yours };
        self.reports[line].changes.extend(differences.into_iter().map(change));
    }

    pub(super) fn report_new(&mut self, line: usize, what: impl Into<String>) {
        self.reports[line].news.push(what.into());
    }
}

/// An identity that stands for something not in the book yet.
pub(super) fn provisional(count: usize) -> i64 {
    -1 - i64::try_from(count).unwrap_or(i64::MAX - 1)
}
