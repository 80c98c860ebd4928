//! Writes lines of named cells as a file: RFC 4180, in UTF-8 with a byte-order mark, cells guarded against being taken
//! for formulas. Pure.

use std::collections::HashMap;

use super::columns::COLUMNS;
use super::escape::guarded;

/// The filled cells of one line, by the place of their column in [`COLUMNS`].
pub type Cells = HashMap<usize, String>;

/// The text of a file with a heading line and these lines, all columns in their order.
///
/// ```
/// use std::collections::HashMap;
/// use trug::price_list::file::write::write;
/// let text = write([HashMap::from([(0, "=Rose".to_owned())])]);
/// assert!(text.starts_with("\u{feff}material,kind,"));
/// assert!(text.contains("\r\n'=Rose,,"));
/// ```
#[must_use]
pub fn write(lines: impl IntoIterator<Item = Cells>) -> String {
    let mut text = String::from('\u{feff}');
    push_line(&mut text, COLUMNS.iter().map(|column| column.header.to_owned()));
    for mut line in lines {
        let cells = (0..COLUMNS.len()).map(|place| guarded(&line.remove(&place).unwrap_or_default()));
        push_line(&mut text, cells);
    }
    text
}

fn push_line(text: &mut String, cells: impl Iterator<Item = String>) {
    for (at, cell) in cells.enumerate() {
        if at > 0 {
            text.push(',');
        }
        if cell.contains([',', ';', '\t', '"', '\r', '\n']) {
            text.push('"');
            text.push_str(&cell.replace('"', "\"\""));
            text.push('"');
        } else {
            text.push_str(&cell);
        }
    }
    text.push_str("\r\n");
}
