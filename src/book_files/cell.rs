//! One value as the text of a cell, and back, without loss. Plain functions.
//!
//! Nothing at all (NULL) is an empty cell. In a column that may hold nothing, an empty text is a single apostrophe;
//! in one that may not, it is an empty cell. A text that a spreadsheet would take for a formula, or that begins with
//! an apostrophe, gets one apostrophe in front. Reading takes one leading apostrophe away; what follows is the text,
//! as it stands.

use super::dictionary::Meaning;
use crate::db::schema::{Column, Holds};

/// A value of the book.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Nothing.
    Null,
    /// A whole number.
    Integer(i64),
    /// A number with a fraction.
    Real(f64),
    /// A text.
    Text(String),
    /// Bytes.
    Blob(Vec<u8>),
}

/// What a spreadsheet takes for the start of a formula, in both widths.
const FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

/// The text as a cell.
///
/// ```
/// use trug::book_files::cell::text_cell;
/// assert_eq!(text_cell("ivory, 60 cm", true), "ivory, 60 cm");
/// assert_eq!(text_cell("=SUM(A1)", true), "'=SUM(A1)");
/// assert_eq!(text_cell("'tis", true), "''tis");
/// assert_eq!((text_cell("", true), text_cell("", false)), ("'".to_string(), String::new()));
/// ```
#[must_use]
pub fn text_cell(text: &str, may_be_empty: bool) -> String {
    let marked = if text.is_empty() {
        may_be_empty
    } else {
        text.starts_with(['\'', '\t', '\r', '\n']) || text.trim_start().starts_with(FORMULA)
    };
    if marked { format!("'{text}") } else { text.to_owned() }
}

/// A value as a cell; bytes are written by the caller, who knows their file's name.
#[must_use]
pub fn written(value: &Value, may_be_empty: bool) -> String {
    match value {
        Value::Null | Value::Blob(_) => String::new(),
        Value::Integer(number) => number.to_string(),
        Value::Real(number) => format!("{number:?}"),
        Value::Text(text) => text_cell(text, may_be_empty),
    }
}

/// A cell as a value, for every column but those of bytes.
///
/// # Errors
/// A sentence that says what the column wants.
pub fn read(cell: &str, column: &Column, meaning: Meaning) -> Result<Value, String> {
    if cell.is_empty() && (column.may_be_empty || column.holds != Holds::Text) {
        return if column.may_be_empty { Ok(Value::Null) } else { Err("this may not be empty.".into()) };
    }
    match column.holds {
        Holds::Integer => whole_number(cell).map(Value::Integer),
        Holds::Real => cell.parse().map(Value::Real).map_err(|_| format!("{} is not a number.", shown(cell))),
        Holds::Text | Holds::Blob => {
            let text = cell.strip_prefix('\'').unwrap_or(cell);
            meaning.check(text).map_err(|wanted| format!("{} is not {wanted}.", shown(text)))?;
            Ok(Value::Text(text.to_owned()))
        }
    }
}

fn whole_number(cell: &str) -> Result<i64, String> {
    let number: Option<i64> = cell.parse().ok();
    // One way of writing only, so that what is exported again is the same.
    number.filter(|number| number.to_string() == cell).ok_or_else(|| {
        format!("{} is not a whole number (written without signs, spaces or separators).", shown(cell))
    })
}

/// A cell as a message quotes it: short, on one line.
#[must_use]
pub fn shown(cell: &str) -> String {
    let short: String = cell.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect();
    let more = if cell.chars().count() > 40 { "…" } else { "" };
    format!("“{short}{more}”")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn column(holds: Holds, may_be_empty: bool) -> Column {
        Column { name: "c".into(), holds, may_be_empty, refers_to: None }
    }

    #[test]
    fn nothing_and_an_empty_text_differ() {
        let open = column(Holds::Text, true);
        assert_eq!(read("", &open, Meaning::Plain), Ok(Value::Null));
        assert_eq!(read("'", &open, Meaning::Plain), Ok(Value::Text(String::new())));
        let must = column(Holds::Text, false);
        assert_eq!(read("", &must, Meaning::Plain), Ok(Value::Text(String::new())));
        assert!(read("", &column(Holds::Integer, false), Meaning::Plain).is_err());
    }

    #[test]
    fn numbers_are_whole_and_written_one_way() {
        let open = column(Holds::Integer, true);
        assert_eq!(read("-3", &open, Meaning::Plain), Ok(Value::Integer(-3)));
        for wrong in ["1.5", "+3", "007", " 3", "1,000", "1e3", "99999999999999999999", "'3", "-0"] {
            assert!(read(wrong, &open, Meaning::Plain).unwrap_err().contains("whole number"), "{wrong}");
        }
    }

    #[test]
    fn a_message_quotes_little() {
        assert_eq!(shown(&"x".repeat(10_000)).chars().count(), 43);
        assert_eq!(shown("a\nb"), "“a b”");
    }

    proptest! {
        #[test]
        fn every_value_comes_back(text in any::<String>(), number in any::<i64>(), real in any::<f64>(), open in any::<bool>()) {
            let back = |value: &Value, holds| read(&written(value, open), &column(holds, open), Meaning::Plain);
            let text = Value::Text(text);
            prop_assert_eq!(back(&text, Holds::Text), Ok(text));
            prop_assert_eq!(back(&Value::Integer(number), Holds::Integer), Ok(Value::Integer(number)));
            prop_assume!(!real.is_nan());
            prop_assert_eq!(back(&Value::Real(real), Holds::Real), Ok(Value::Real(real)));
        }

        #[test]
        fn no_cell_of_text_starts_a_formula(text in "[ \t\r\n]{0,3}[=+@-].*", open in any::<bool>()) {
            prop_assert!(text_cell(&text, open).starts_with('\''));
        }
    }
}
