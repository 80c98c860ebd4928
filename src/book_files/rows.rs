//! The rows of one CSV file, its first row checked against the table's columns.

use std::io::Read;

use csv::{ReaderBuilder, StringRecord};

use super::Problem;
use super::cell::shown;
use super::source::{RowCount, RowLimit, Source, row_limit};
use crate::db::schema::Table;

pub(super) struct Rows<'a> {
    file: String,
    reader: csv::Reader<RowLimit<Box<dyn Read + 'a>>>,
    count: RowCount,
    columns: usize,
    /// The row last read.
    pub(super) row: StringRecord,
    /// Its number, as a spreadsheet counts: the header is row 1.
    pub(super) number: u64,
}

impl<'a> Rows<'a> {
    /// Opens a table's file and reads its first row.
    pub(super) fn open(source: Source<'a>, table: &Table) -> Result<Rows<'a>, Problem> {
        let file = table.file();
        let opened = source.table_file(&file).map_err(|reason| Problem::of_file(&file, reason))?;
        let (opened, count) = row_limit(opened);
        let reader = ReaderBuilder::new().has_headers(false).flexible(true).from_reader(opened);
        let mut rows = Rows { file, reader, count, columns: 0, row: StringRecord::new(), number: 0 };
        if !rows.read()? {
            return Err(Problem::of_file(&rows.file, "this file is empty; its first row names the columns."));
        }
        columns_match(table, &rows.row).map_err(|reason| rows.problem(None, reason))?;
        rows.columns = table.columns.len();
        Ok(rows)
    }

    /// Reads the next row; false at the end.
    pub(super) fn next(&mut self) -> Result<bool, Problem> {
        if !self.read()? {
            return Ok(false);
        }
        let cells = self.row.len();
        if cells == self.columns {
            return Ok(true);
        }
        let reason = format!("this row has {cells} cells; the first row names {} columns.", self.columns);
        Err(self.problem(None, reason))
    }

    /// What is wrong with the row last read.
    pub(super) fn problem(&self, column: Option<String>, reason: impl Into<String>) -> Problem {
        Problem { row: Some(self.number), column, ..Problem::of_file(&self.file, reason) }
    }

    fn read(&mut self) -> Result<bool, Problem> {
        self.count.begin_row();
        let read = self.reader.read_record(&mut self.row);
        if !matches!(read, Ok(false)) {
            self.number += 1;
        }
        read.map_err(|error| self.problem(None, csv_reason(&error)))
    }
}

fn columns_match(table: &Table, header: &StringRecord) -> Result<(), String> {
    let wanted: Vec<&str> = table.columns.iter().map(|column| column.name.as_str()).collect();
    if header.iter().eq(wanted.iter().copied()) {
        return Ok(());
    }
    let here = |name: &&str| header.iter().any(|found| found == *name);
    let missing = wanted.iter().copied().filter(|name| !here(name)).collect::<Vec<_>>().join(", ");
    let strange = header.iter().filter(|found| !wanted.contains(found)).take(5);
    let strange = strange.map(shown).collect::<Vec<_>>().join(", ");
    Err(match (missing.as_str(), strange.as_str()) {
        ("", "") => format!("the columns must stand in this order, each once: {}.", wanted.join(", ")),
        ("", strange) => format!("there is no column {strange} in the book."),
        (missing, "") => format!("these columns are missing: {missing}."),
        (missing, strange) => format!("these columns are missing: {missing}; unknown: {strange}."),
    })
}

fn csv_reason(error: &csv::Error) -> String {
    match error.kind() {
        csv::ErrorKind::Utf8 { .. } => "this row is not UTF-8 text.".into(),
        csv::ErrorKind::Io(error) => format!("this row cannot be read: {error}."),
        _ => "this row cannot be read as CSV.".into(),
    }
}
