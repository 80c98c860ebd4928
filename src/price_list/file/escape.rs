//! Cells that a spreadsheet must not take for a formula, and taking that guard off again. Pure.
//!
//! A cell that begins with `=`, `+`, `-`, `@`, a tab or a carriage return gets an apostrophe in front; so does one that
//! begins with an apostrophe, or is the word `none` (which in a file empties a field), so that every text comes back.

const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

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
    text.starts_with(FORMULA) || text.starts_with('\'') || empties(text)
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
        fn every_text_comes_back(text in "['=+@\\-a\t ]{0,5}|(?i)none|\\PC{0,20}") {
            let cell = guarded(&text);
            prop_assert_eq!(unguarded(&cell), &text);
            prop_assert!(!cell.starts_with(FORMULA), "{}", cell);
            prop_assert!(!empties(&cell));
        }
    }
}
