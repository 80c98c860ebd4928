//! Telephone numbers in what was typed, so that a finger on a phone can ring them (`tel:`, RFC 3966).
//!
//! A number is a run of 7 to 15 digits (E.164 has no longer ones) with spaces, points, hyphens, slashes and brackets between
//! them, and a plus before it. A nought in brackets behind a country's code is dialled only within that country: it is left
//! out (E.123 has none). *Law:* the parts together are the text.
//!
//! May import: nothing.

/// A part of a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// As it was typed.
    pub text: String,
    /// What is dialled; none where it is no number.
    pub dial: Option<String>,
}

/// A text in parts, its telephone numbers by themselves.
///
/// ```
/// use trug::pull_list::run_sheet::phones::parts;
/// let parts = parts("Steward, 01632 960 441; gate 12");
/// let dialled: Vec<_> = parts.iter().filter_map(|part| part.dial.as_deref()).collect();
/// assert_eq!(dialled, ["01632960441"]);
/// assert_eq!(parts[1].text, "01632 960 441");
/// ```
#[must_use]
pub fn parts(text: &str) -> Vec<Part> {
    let mut parts = Vec::new();
    let mut rest = text;
    let mut plain = String::new();
    while let Some(next) = rest.chars().next() {
        let run = run_of(rest);
        if let Some(dial) = dialled(run) {
            push(&mut parts, &mut plain);
            parts.push(Part { text: run.into(), dial: Some(dial) });
            rest = &rest[run.len()..];
        } else if run.is_empty() {
            plain.push(next);
            rest = &rest[next.len_utf8()..];
        } else {
            plain.push_str(run);
            rest = &rest[run.len()..];
        }
    }
    push(&mut parts, &mut plain);
    parts
}

fn push(parts: &mut Vec<Part>, plain: &mut String) {
    if !plain.is_empty() {
        parts.push(Part { text: std::mem::take(plain), dial: None });
    }
}

/// The run of digits that a text begins with, up to its last digit; nothing where it begins with none.
fn run_of(text: &str) -> &str {
    let begins = text.starts_with(|c: char| c == '+' || c == '(' || c.is_ascii_digit());
    if !begins {
        return "";
    }
    let inside = |c: char| c.is_ascii_digit() || matches!(c, ' ' | '.' | '-' | '/' | '(' | ')' | '\u{a0}');
    let end = text.char_indices().skip(1).find(|(_, c)| !inside(*c)).map_or(text.len(), |(at, _)| at);
    let last = text[..end].rfind(|c: char| c.is_ascii_digit());
    last.map_or("", |last| &text[..=last])
}

fn dialled(run: &str) -> Option<String> {
    let abroad = if run.starts_with('+') { run.replacen("(0)", "", 1) } else { run.to_owned() };
    let digits: String = abroad.chars().filter(char::is_ascii_digit).collect();
    let plus = if run.starts_with('+') { "+" } else { "" };
    (7..=15).contains(&digits.len()).then(|| format!("{plus}{digits}"))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn numbers_are_found_and_short_ones_are_not() {
        let dial = |text: &str| parts(text).into_iter().filter_map(|part| part.dial).collect::<Vec<_>>();
        assert_eq!(dial("+44 (0)1632 960-512, Mo"), ["+441632960512"]);
        assert_eq!(dial("(0)1632 960512"), ["01632960512"]);
        assert_eq!(dial("PO 20417; 3 doors"), Vec::<String>::new());
        assert_eq!(dial("a 01632 960441 b 01632 960442"), ["01632960441", "01632960442"]);
        assert!(dial("").is_empty() && parts("").is_empty());
        assert_eq!(dial("12345678901234567890"), Vec::<String>::new());
    }

    proptest! {
        #[test]
        fn the_parts_together_are_the_text(text in "\\PC{0,40}|[0-9+() ./-]{0,30}") {
            let parts = parts(&text);
            prop_assert_eq!(parts.iter().map(|part| part.text.as_str()).collect::<String>(), text);
            for dial in parts.iter().filter_map(|part| part.dial.as_ref()) {
                prop_assert!(dial.chars().all(|c| c == '+' || c.is_ascii_digit()));
            }
        }
    }
}
