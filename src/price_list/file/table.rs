//! A file's text as lines of named cells: RFC 4180 with comma, semicolon or tab, headings in any order. Pure.

use std::borrow::Cow;

use super::columns::{COLUMNS, Subject, headed, place};
use super::escape::unguarded;
use super::sheet;

/// The most lines taken in at once.
pub const MOST_LINES: usize = 100_000;
/// The largest file, in bytes.
pub const MOST_BYTES: usize = 64 * 1024 * 1024;

const SEPARATORS: [u8; 3] = [b',', b';', b'\t'];
/// Stands in a line of its own behind the text: if it is swallowed, a quotation mark was never closed.
const END: &str = "\u{1}end";

/// A file as read.
#[derive(Debug, Clone, Default)]
pub struct Table {
    /// Headings that are none of ours; their cells are left aside.
    pub unknown: Vec<String>,
    /// The lines below the headings that hold anything.
    pub lines: Vec<Line>,
    /// Which of [`COLUMNS`] stands at each place of a line.
    places: Vec<Option<usize>>,
}

/// One line.
#[derive(Debug, Clone)]
pub struct Line {
    /// Its number in the file, from 1, as an editor counts.
    pub number: u64,
    /// Whether it has more filled cells than there are headings.
    pub too_long: bool,
    cells: Vec<String>,
}

impl Table {
    /// What a line's cell says, its guard taken off; empty where the column is missing.
    #[must_use]
    pub fn text<'a>(&self, line: &'a Line, of: Subject, field: &str) -> &'a str {
        let column = place(of, field);
        let at = self.places.iter().position(|known| known.is_some() && *known == column);
        unguarded(at.and_then(|at| line.cells.get(at)).map_or("", |cell| cell.trim()))
    }

    /// The filled cells of a line that tell of something: the place of the column and the cell as it stands.
    pub fn filled<'a>(&'a self, line: &'a Line, of: Subject) -> impl Iterator<Item = (usize, &'a str)> + 'a {
        self.places.iter().zip(&line.cells).filter_map(move |(column, cell)| {
            let column = (*column).filter(|column| COLUMNS[*column].of == of)?;
            let cell = cell.trim();
            Some((column, cell)).filter(|(_, cell)| !cell.is_empty())
        })
    }
}

/// The text of an uploaded file, or why it is none: UTF-8 or, with a byte-order mark, UTF-16; of a spreadsheet's own file
/// the first sheet that holds anything.
pub fn decode(bytes: &[u8]) -> Result<String, String> {
    let save_as = "Save the sheet as \u{201c}CSV UTF-8\u{201d} and take that file in.";
    if bytes.starts_with(b"PK\x03\x04") {
        return sheet::read(bytes);
    }
    if bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        return Err("This is a spreadsheet of the older kind (.xls), or one with a password. Save it as .xlsx without a password, or as CSV, and take that file in.".into());
    }
    let text = match bytes {
        [0xFF, 0xFE, rest @ ..] => utf16(rest, u16::from_le_bytes),
        [0xFE, 0xFF, rest @ ..] => utf16(rest, u16::from_be_bytes),
        [0xEF, 0xBB, 0xBF, rest @ ..] => utf8(rest),
        other => utf8(other),
    };
    let text = text.map_err(|line| {
        format!("This is not a text file, or not one in UTF-8: line {line} holds bytes that are no letters. {save_as}")
    })?;
    match text.find(|c: char| c.is_control() && !matches!(c, '\t' | '\n' | '\r')) {
        Some(at) => Err(format!(
            "This is not a text file: line {} holds signs that cannot be shown. {save_as}",
            text[..at].matches('\n').count() + 1
        )),
        None => Ok(text),
    }
}

/// Text, or the line with what is none.
fn utf8(bytes: &[u8]) -> Result<String, usize> {
    let line = |at: usize| bytes.get(..at).unwrap_or(bytes).split(|byte| *byte == b'\n').count();
    std::str::from_utf8(bytes).map(str::to_owned).map_err(|error| line(error.valid_up_to()))
}

fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Result<String, usize> {
    let units = bytes.chunks(2).map(|pair| match pair {
        [low, high] => unit([*low, *high]),
        // Half a letter at the end: a lone surrogate stands in, which is refused.
        _ => 0xD800,
    });
    let mut text = String::with_capacity(bytes.len() / 2);
    for letter in char::decode_utf16(units) {
        text.push(letter.map_err(|_| text.matches('\n').count() + 1)?);
    }
    Ok(text)
}

/// Reads a text as a table, or says why it is none.
pub fn read(text: &str) -> Result<Table, String> {
    // One way to end a line, so that lines are counted as an editor counts them.
    let unix = if text.contains('\r') {
        Cow::Owned(text.replace("\r\n", "\n").replace('\r', "\n"))
    } else {
        Cow::Borrowed(text)
    };
    let text = unix.trim_start_matches('\u{feff}');
    if text.trim().is_empty() {
        return Err("There is nothing in it.".into());
    }
    let separator = separator_of(text)?;
    let with_end = format!("{text}\n{END}\n");
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .from_reader(with_end.as_bytes());
    let mut records = reader.records();
    let Some(Ok(headings)) = records.next() else {
        return Err("Its first line cannot be read.".into());
    };
    let mut table = headed_table(&headings)?;
    let mut open_since = 1;
    for record in records {
        let record = record.map_err(|_| "It cannot be read as lines of cells.".to_owned())?;
        if record.get(0) == Some(END) {
            return whole(table);
        }
        open_since = record.position().map_or(0, |position| line_at(&with_end, position));
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        if table.lines.len() == MOST_LINES {
            return Err(too_many(text));
        }
        table.lines.push(line_of(&record, open_since, headings.len()));
    }
    Err(format!("A quotation mark in the line that begins at line {open_since} is opened and never closed."))
}

/// The line on which a record begins: the reader tells where it began to look, before the empty lines that it passed over.
fn line_at(text: &str, position: &csv::Position) -> u64 {
    let from = usize::try_from(position.byte()).ok().and_then(|from| text.get(from..)).unwrap_or_default();
    (position.line()..)
        .zip(from.bytes().chain([0]))
        .find(|(_, byte)| *byte != b'\n')
        .map_or(0, |(line, _)| line)
}

fn whole(table: Table) -> Result<Table, String> {
    if table.lines.is_empty() {
        return Err("It has headings and no line below them.".into());
    }
    Ok(table)
}

fn too_many(text: &str) -> String {
    format!(
        "It has about {} lines; {MOST_LINES} is the most that is taken in at once. Split it into several files.",
        text.lines().count()
    )
}

fn line_of(record: &csv::StringRecord, number: u64, headings: usize) -> Line {
    let too_long = record.iter().skip(headings).any(|cell| !cell.trim().is_empty());
    let cells = record.iter().take(headings).map(str::to_owned).collect();
    Line { number, too_long, cells }
}

fn headed_table(headings: &csv::StringRecord) -> Result<Table, String> {
    let mut table = Table::default();
    for heading in headings {
        let column = headed(unguarded(heading.trim()));
        if column.is_some_and(|column| table.places.contains(&Some(column))) {
            return Err(format!("The column \u{201c}{}\u{201d} stands in it twice.", heading.trim()));
        }
        if column.is_none() && !heading.trim().is_empty() {
            table.unknown.push(crate::ground::formats::clipped(heading));
        }
        table.places.push(column);
    }
    Ok(table)
}

/// The separator with which the first line yields the most headings of ours.
fn separator_of(text: &str) -> Result<u8, String> {
    let ours = |separator: u8| {
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator)
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        let first = reader.records().next().and_then(Result::ok).unwrap_or_default();
        let found: Vec<usize> = first.iter().take(500).filter_map(headed).collect();
        let naming = [Subject::Material, Subject::Supplier].map(|of| place(of, "name"));
        let told = found.iter().any(|column| naming.contains(&Some(*column)));
        (told, found.len())
    };
    let best = SEPARATORS.into_iter().rev().max_by_key(|separator| ours(*separator)).unwrap_or(b',');
    if ours(best).0 {
        Ok(best)
    } else {
        Err("Its first line must hold headings, among them \u{201c}material\u{201d} or \u{201c}supplier\u{201d}, with commas, semicolons or tabs between.".into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str) -> Vec<(u64, String, String)> {
        let table = read(text).unwrap();
        let text = |line, field| table.text(line, Subject::Material, field).to_owned();
        table.lines.iter().map(|line| (line.number, text(line, "name"), text(line, "note"))).collect()
    }

    #[test]
    fn any_separator_and_any_order_of_columns() {
        let expected = vec![(2, "Rose".to_owned(), "a, b; c".to_owned())];
        assert_eq!(rows("material,note\nRose,\"a, b; c\"\n"), expected);
        assert_eq!(rows("NOTE;Material\r\n\"a, b; c\";Rose"), expected);
        assert_eq!(rows("\u{feff}note\tmaterial\ra, b; c\tRose\r"), expected);
        let third = rows("material,note\r\nIvy,\r\nRose,x\r\n");
        assert_eq!(third[1], (3, "Rose".to_owned(), "x".to_owned()));
    }

    #[test]
    fn quoted_newlines_and_quotation_marks_stay_in_their_cell() {
        let text = "material,note\n\"5\"\" bowl\",\"one\ntwo\"\n\n,\nIvy,x\n";
        let expected =
            vec![(2, "5\" bowl".to_owned(), "one\ntwo".to_owned()), (6, "Ivy".to_owned(), "x".to_owned())];
        assert_eq!(rows(text), expected);
    }

    #[test]
    fn a_line_has_its_number_whatever_is_empty_above_it() {
        let numbers = |text| rows(text).iter().map(|(number, ..)| *number).collect::<Vec<_>>();
        assert_eq!(numbers("\n\nmaterial\n\n\nRose\n\nIvy\n"), [6, 8]);
        assert_eq!(numbers("material\r\nRose\r\n\r\n\r\n\r\nIvy"), [2, 6]);
    }

    #[test]
    fn a_bare_inch_mark_from_a_pasted_sheet_is_kept() {
        assert_eq!(rows("material\tnote\n5\" bowl\tx\n")[0].1, "5\" bowl");
    }

    #[test]
    fn short_lines_are_filled_up_and_long_ones_marked() {
        let table = read("material,note\nRose\nIvy,x,,\nBox,x,y\n").unwrap();
        let long: Vec<bool> = table.lines.iter().map(|line| line.too_long).collect();
        assert_eq!(long, [false, false, true]);
    }

    #[test]
    fn what_is_no_table_is_named() {
        for (text, words) in [
            ("", "nothing in it"),
            (" \n\n", "nothing in it"),
            ("colour,kind\nred,flower\n", "must hold headings"),
            ("Dear all,\nplease find attached\n", "must hold headings"),
            ("material,kind\n", "no line below"),
            ("material,Material\nRose,Ivy\n", "twice"),
            ("material,note\nRose,\"open\nIvy,x\n", "begins at line 2"),
        ] {
            let message = read(text).unwrap_err();
            assert!(message.contains(words), "{text:?}: {message}");
        }
    }

    #[test]
    fn too_many_lines_are_refused_with_the_limit() {
        let text = format!("material\n{}", "Rose\n".repeat(MOST_LINES + 1));
        assert!(read(&text).unwrap_err().contains("100000 is the most"));
        let text = format!("material\n{}", "Rose\n".repeat(MOST_LINES));
        assert_eq!(read(&text).unwrap().lines.len(), MOST_LINES);
    }

    #[test]
    fn foreign_columns_are_left_aside() {
        let table = read("material,shelf\nRose,3\n").unwrap();
        assert_eq!(table.unknown, ["shelf"]);
    }

    #[test]
    fn bytes_become_text_or_a_sentence() {
        assert_eq!(decode(b"\xEF\xBB\xBFmaterial\n"), Ok("material\n".to_owned()));
        assert_eq!(decode(b"\xFF\xFEm\0\xE9\0"), Ok("m\u{e9}".to_owned()));
        assert_eq!(decode(b"\xFE\xFF\0m"), Ok("m".to_owned()));
        for (bytes, words) in [
            (&b"PK\x03\x04rest"[..], "is broken or encrypted"),
            (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "older kind (.xls)"),
            (b"material\nRos\xE9\n", "line 2 holds bytes"),
            (b"\x7FELF\x02\x01\0\0", "signs that cannot be shown"),
            (b"\xFF\xFEm\0\xE9", "not a text file"),
        ] {
            let message = decode(bytes).unwrap_err();
            assert!(message.contains(words), "{message}");
        }
    }
}
