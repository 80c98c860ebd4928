//! The README of an export, made from the schema and the dictionary. The same schema gives the same bytes.

use std::fmt::Write;

use super::dictionary::{Meaning, meaning, table_words};
use crate::db::schema::{Column, Holds, Table};

const RULES: &str = "\
This folder holds a whole Trug book. `trug import FOLDER` reads it into an empty book without loss;
exporting that book again gives the same files, byte for byte.

How the files are written
- One CSV file a table (RFC 4180: commas, double quotes, CRLF), UTF-8. The first row names the columns.
- An empty cell is nothing at all. In a column marked \"may be empty\" a text of no letters is written as one
  apostrophe ('); in the other text columns an empty cell is a text of no letters.
- A text that begins with = + - @ (also after spaces), a tab, a line break or an apostrophe gets one apostrophe in
  front, so that a spreadsheet does not take it for a formula. Reading takes one leading apostrophe away.
- Numbers are whole and plain: no separators, no decimals. Money is in minor units, shares in parts per million,
  stems and mark-ups in thousandths, lengths in micrometres.
- Days are YYYY-MM-DD, times HH:MM, moments RFC 3339 in UTC.
- Pictures lie in pictures/; the cell holds the file's name.
- trug.csv says which step of the book's schema this is. Leave it as it is.
- In a spreadsheet, open all columns as text: else it rewrites days and drops leading zeros.
- Reading is all or nothing: a wrong value is named by file, row and column, and the book stays as it was.
";

pub(super) fn readme(tables: &[Table]) -> String {
    let mut text = format!("A TRUG BOOK AS FILES\n\n{RULES}\nThe files\n");
    for table in tables {
        // Writing to a String does not fail.
        let _ = writeln!(text, "\n{}\n  {}", table.file(), table_words(&table.name));
        for column in &table.columns {
            let _ = writeln!(text, "  - {}", described(table, column));
        }
    }
    text.push_str("\nThe book's own definitions, with every rule that a value must keep\n");
    for table in tables {
        let _ = write!(text, "\n{};\n", table.definition);
    }
    text
}

fn described(table: &Table, column: &Column) -> String {
    let kind = match column.holds {
        Holds::Integer => "whole number",
        Holds::Real => "number",
        Holds::Text => "text",
        Holds::Blob => "file",
    };
    let mut words = format!("{}: {kind}", column.name);
    match (meaning(&table.name, &column.name), &column.refers_to) {
        (_, Some((parent, key))) => {
            let _ = write!(words, ", {key} in {parent}.csv");
        }
        (Meaning::Plain, None) => {}
        (known, None) => {
            let _ = write!(words, ", {}", known.words());
        }
    }
    if column.may_be_empty {
        words.push_str("; may be empty");
    }
    words
}
