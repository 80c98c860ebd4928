//! Cells that a spreadsheet must not take for a formula, and taking that guard off again. Pure.
//!
//! A cell that begins with `=`, `+`, `-`, `@` (also behind spaces, also in full width, which East Asian spreadsheets take
//! for the same), a tab or a line break gets an apostrophe in front; so does one that begins with an apostrophe, or is the
//! word `none` (which in a file empties a field), so that every text comes back.

/// What a spreadsheet takes for the start of a formula, in both widths.
const FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];
/// What a cell may not begin with either: a spreadsheet may pass over it, or make an apostrophe of it.
const BEFORE: [char; 4] = ['\'', '\t', '\r', '\n'];

/// A text as it stands in a cell.
///
/// ```
/// use trug::price_list::file::escape::{guarded, unguarded};
/// assert_eq!(guarded("=1+2"), "'=1+2");
/// assert_eq!(unguarded("'=1+2"), "=1+2");
/// assert_eq!(unguarded("'Tis white"), "'Tis white");
/// ```
#[must_use]
pub fn guarded(text: &str) -> String {
    if needs_guard(text) { format!("'{text}") } else { text.to_owned() }
}

/// The text of a cell.
#[must_use]
pub fn unguarded(cell: &str) -> &str {
    cell.strip_prefix('\'').filter(|rest| needs_guard(rest)).unwrap_or(cell)
}

fn needs_guard(text: &str) -> bool {
    text.starts_with(BEFORE) || text.trim_start().starts_with(FORMULA) || empties(text)
}

/// Whether a cell says that a field shall be empty.
#[must_use]
pub fn empties(cell: &str) -> bool {
    cell.trim().eq_ignore_ascii_case("none")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn every_text_comes_back(text in "['=+@＝－\\-a\t\r\n ]{0,5}|(?i)none|\\PC{0,20}") {
            let cell = guarded(&text);
            prop_assert_eq!(unguarded(&cell), &text);
            prop_assert!(!cell.trim_start().starts_with(FORMULA), "{}", cell);
            prop_assert!(!cell.starts_with(['\t', '\r', '\n']), "{}", cell);
            prop_assert!(!empties(&cell));
        }
    }
}
