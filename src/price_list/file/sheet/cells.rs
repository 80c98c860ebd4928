//! A sheet's cells, one by one, as lines of CSV: row by row as the sheet counts them, no cell further right or below than
//! a price list goes. Pure.

use quick_xml::events::{BytesStart, Event};
use rust_decimal::Decimal;

use super::super::table::{MOST_BYTES, MOST_LINES};
use super::archive::{Parts, Xml};
use super::number_formats::{self, Shown};
use super::workbook::{Workbook, too_much_text};
use super::xml::{BROKEN, Wanted, attribute, refusal, text_within};
use crate::ground::dates::Day;
use crate::ground::formats::clipped;

/// The most columns.
const MOST_COLUMNS: usize = 500;

/// The sheet as CSV text; none where no cell holds anything.
pub(super) fn text(parts: &mut Parts<'_>, book: &Workbook, part: &str) -> Result<Option<String>, String> {
    let Some(mut xml) = parts.xml(part)? else { return Ok(None) };
    let (mut lines, mut buffer, mut depth) = (Lines::default(), Vec::new(), 0_usize);
    // How deep the element with the rows lies: rows and cells of drawings and notes beside it are none of ours.
    let mut rows = None;
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(refusal)? {
            Event::Start(tag) => {
                depth += 1;
                match tag.local_name().as_ref() {
                    "sheetData" if rows.is_none() => rows = Some(depth),
                    "row" if rows.is_some_and(|rows| depth == rows + 1) => {
                        lines.begin(attribute(&tag, "r")?.as_deref())?;
                    }
                    "c" if rows.is_some_and(|rows| depth == rows + 2) => {
                        let (place, kind, shown) = cell(&tag, &mut lines, book)?;
                        let value = value(&mut xml, book, kind, shown, place)?;
                        lines.put(place, value)?;
                        depth -= 1;
                    }
                    _ => {}
                }
            }
            Event::End(_) => {
                rows = rows.filter(|rows| *rows != depth);
                depth = depth.saturating_sub(1);
            }
            Event::Eof if depth == 0 => return lines.whole(),
            Event::Eof => return Err(BROKEN.to_owned()),
            _ => {}
        }
    }
}

/// A cell's row, from 1, and its column, from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Place {
    row: usize,
    column: usize,
}

impl Place {
    /// As spreadsheets name it: `B7`.
    fn name(self) -> String {
        let (mut letters, mut left) = (Vec::new(), self.column + 1);
        while left > 0 {
            letters.push(char::from(b'A' + u8::try_from((left - 1) % 26).unwrap_or(0)));
            left = (left - 1) / 26;
        }
        let letters: String = letters.into_iter().rev().collect();
        format!("{letters}{}", self.row)
    }

    /// The place with a name; at most three letters and seven digits, as the standard has them.
    fn named(name: &str) -> Option<Place> {
        let digits = name.find(|c: char| c.is_ascii_digit())?;
        let (letters, number) = name.split_at(digits);
        if letters.is_empty() || letters.len() > 3 || number.len() > 7 {
            return None;
        }
        let column = letters.bytes().try_fold(0, |column, letter| {
            let letter = letter.to_ascii_uppercase();
            letter.is_ascii_uppercase().then(|| column * 26 + usize::from(letter - b'A') + 1)
        })?;
        Some(Place { row: number.parse().ok().filter(|row| *row > 0)?, column: column - 1 })
    }
}

/// What stands in a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Number,
    SharedText,
    OwnText,
    YesOrNo,
    Day,
    Error,
}

/// A cell's place, what it holds and what its style shows a number as. A cell that does not say its place stands beside
/// the one before it.
fn cell(tag: &BytesStart<'_>, lines: &mut Lines, book: &Workbook) -> Result<(Place, Kind, Shown), String> {
    let place = match attribute(tag, "r")? {
        Some(name) => Place::named(&name).ok_or_else(|| BROKEN.to_owned())?,
        None => Place { row: lines.row, column: lines.next },
    };
    let kind = match attribute(tag, "t")?.as_deref() {
        Some("s") => Kind::SharedText,
        Some("str" | "inlineStr") => Kind::OwnText,
        Some("b") => Kind::YesOrNo,
        Some("d") => Kind::Day,
        Some("e") => Kind::Error,
        _ => Kind::Number,
    };
    let shown = book.shown(attribute(tag, "s")?.as_deref());
    // The row is the one that its element says: the same in every file that a spreadsheet wrote.
    let place = Place { row: lines.row, ..place };
    lines.next = place.column + 1;
    Ok((place, kind, shown))
}

/// What stands in the cell that was begun just now, as text.
fn value(
    xml: &mut Xml<'_, '_>,
    book: &Workbook,
    kind: Kind,
    shown: Shown,
    place: Place,
) -> Result<String, String> {
    let (mut value, mut buffer) = (String::new(), Vec::new());
    loop {
        buffer.clear();
        let wanted = match xml.read_event_into(&mut buffer).map_err(refusal)? {
            Event::Start(tag) => match tag.local_name().as_ref() {
                "v" => Wanted::Own,
                "is" => Wanted::Runs,
                _ => Wanted::Nothing,
            },
            Event::End(_) => return Ok(value),
            Event::Eof => return Err(BROKEN.to_owned()),
            _ => continue,
        };
        let text = text_within(xml, wanted)?;
        match wanted {
            Wanted::Own if !text.trim().is_empty() => value = said(&text, book, kind, shown, place)?,
            Wanted::Runs => value = tidy(&text),
            _ => {}
        }
    }
}

fn said(text: &str, book: &Workbook, kind: Kind, shown: Shown, place: Place) -> Result<String, String> {
    match kind {
        Kind::SharedText => book.text(text).map(tidy),
        Kind::OwnText => Ok(tidy(text)),
        Kind::YesOrNo => Ok(if matches!(text.trim(), "1" | "true") { "yes" } else { "no" }.to_owned()),
        Kind::Day => Ok(day(text.trim()).unwrap_or_else(|| tidy(text))),
        Kind::Error => Err(format!(
            "Cell {} holds the sheet's own error \u{201c}{}\u{201d}. Mend or empty it there, then choose the file again.",
            place.name(),
            clipped(&tidy(text))
        )),
        Kind::Number => number(text, book, shown, place),
    }
}

/// A day in ISO 8601, with or without a time of it.
fn day(text: &str) -> Option<String> {
    let day: Day = text.get(..10)?.parse().ok()?;
    Some(day.to_string())
}

/// Numbers are kept as binary fractions, so that 31.2 may stand there as 31.199999999999999: 15 digits of them are meant.
fn number(text: &str, book: &Workbook, shown: Shown, place: Place) -> Result<String, String> {
    let Ok(number) = text.trim().parse::<f64>() else { return Ok(tidy(text)) };
    let number = Decimal::try_from(number).ok();
    number.and_then(|number| number_formats::text(number, shown, book.since_1904)).ok_or_else(|| {
        format!(
            "Cell {} holds \u{201c}{}\u{201d}, which is no {} that can be taken in.",
            place.name(),
            clipped(&tidy(text)),
            match shown {
                Shown::Number | Shown::Percent => "number",
                Shown::Day => "day",
                Shown::Time | Shown::Hours => "time",
            }
        )
    })
}

/// A cell's text on one line: what cannot be shown becomes a space, also where it is written as `_x000D_`
/// (ECMA-376 part 1, 22.9.2.19).
fn tidy(text: &str) -> String {
    let mut tidied = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(letter) = rest.chars().next() {
        let (letter, length) = escaped(rest).map_or((letter, letter.len_utf8()), |letter| (letter, 7));
        tidied.push(if letter.is_control() { ' ' } else { letter });
        rest = &rest[length..];
    }
    tidied
}

fn escaped(text: &str) -> Option<char> {
    let code =
        text.strip_prefix("_x")?.get(..4).filter(|code| code.bytes().all(|c| c.is_ascii_hexdigit()))?;
    text.get(6..7).filter(|end| *end == "_")?;
    u32::from_str_radix(code, 16).ok().and_then(char::from_u32)
}

/// Lines as they are written.
#[derive(Debug, Default)]
struct Lines {
    text: String,
    /// How many lines the text has.
    written: usize,
    /// The row that is read, from 1.
    row: usize,
    /// The column behind the cell that was read last.
    next: usize,
    cells: Vec<String>,
    /// Bytes in the row's cells, also those that were put over.
    bytes: usize,
}

impl Lines {
    /// Begins a row; one that does not say its number follows the one before it.
    fn begin(&mut self, number: Option<&str>) -> Result<(), String> {
        self.finish();
        let row = number.map_or(Some(self.row + 1), |number| number.trim().parse::<usize>().ok());
        self.row = row.filter(|row| *row > self.row && *row < 10_000_000).ok_or_else(|| BROKEN.to_owned())?;
        self.next = 0;
        Ok(())
    }

    fn put(&mut self, place: Place, value: String) -> Result<(), String> {
        if value.trim().is_empty() {
            return Ok(());
        }
        if place.row == 0 {
            return Err(BROKEN.to_owned());
        }
        if place.column >= MOST_COLUMNS || place.row > MOST_LINES + 1 {
            return Err(format!(
                "Cell {} is filled; {MOST_COLUMNS} columns and {MOST_LINES} lines below the headings are the most that is taken in at once.",
                place.name()
            ));
        }
        self.bytes += value.len();
        if self.text.len() + self.bytes > MOST_BYTES {
            return Err(too_much_text());
        }
        if self.cells.len() <= place.column {
            self.cells.resize(place.column + 1, String::new());
        }
        self.cells[place.column] = value;
        Ok(())
    }

    /// Writes the row that was read, with the empty ones before it.
    fn finish(&mut self) {
        if self.cells.is_empty() {
            return;
        }
        while self.written + 1 < self.row {
            self.text.push('\n');
            self.written += 1;
        }
        for (at, cell) in self.cells.drain(..).enumerate() {
            if at > 0 {
                self.text.push(',');
            }
            if cell.contains([',', ';', '"']) {
                self.text.push('"');
                self.text.push_str(&cell.replace('"', "\"\""));
                self.text.push('"');
            } else {
                self.text.push_str(&cell);
            }
        }
        self.text.push('\n');
        self.written += 1;
        self.bytes = 0;
    }

    fn whole(mut self) -> Result<Option<String>, String> {
        self.finish();
        if self.text.len() > MOST_BYTES {
            return Err(too_much_text());
        }
        Ok(Some(self.text).filter(|text| !text.is_empty()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_named_as_in_a_spreadsheet() {
        for (name, row, column) in
            [("A1", 1, 0), ("B7", 7, 1), ("AA10", 10, 26), ("XFD1048576", 1_048_576, 16_383)]
        {
            assert_eq!(Place::named(name), Some(Place { row, column }));
            assert_eq!(Place { row, column }.name(), name);
        }
        for wrong in ["", "A", "7", "A0", "ABCD1", "A12345678", "A1B", "É1", "A-1", "[1"] {
            assert_eq!(Place::named(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_text_is_one_line() {
        assert_eq!(tidy("a_x000D_\nb\u{7}"), "a  b ");
        assert_eq!(tidy("_x005F_x000D_"), "_x000D_");
        assert_eq!(tidy("_x00é_ _xD800_ _x"), "_x00é_ _xD800_ _x");
    }
}
