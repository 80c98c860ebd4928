//! Content lines of iCalendar text (RFC 5545, 3.1 and 3.3.11): escaped, folded at 75 octets, ended by CRLF.
//!
//! Our own, since the general crate folds a last part of 75 octets behind its blank: a line of 76. Pure.

/// A line holds so many octets at most, its end not counted.
const MOST_OCTETS: usize = 75;

/// Text that grows line by line.
#[derive(Debug, Default)]
pub struct ContentLines(String);

impl ContentLines {
    /// Adds a line whose value is written as it is: a date, an address, a word of the standard's.
    pub fn add(&mut self, name: &str, value: &str) {
        self.0.push_str(&folded(&format!("{name}:{}", plain(value))));
        self.0.push_str("\r\n");
    }

    /// Adds a line of text.
    pub fn add_text(&mut self, name: &str, text: &str) {
        self.add(name, &escaped(text));
    }

    /// Everything written.
    #[must_use]
    pub fn done(self) -> String {
        self.0
    }
}

/// A long line in parts of at most 75 octets, each but the first behind a blank that belongs to the folding. No letter
/// is torn apart.
///
/// ```
/// use trug::desk::calendar::content_lines::folded;
/// let line = format!("SUMMARY:{}", "é".repeat(40));
/// // 8 octets of name, 33 letters of two: 74. One more letter would make 76.
/// assert_eq!(folded(&line), format!("SUMMARY:{}\r\n {}", "é".repeat(33), "é".repeat(7)));
/// ```
#[must_use]
pub fn folded(line: &str) -> String {
    let mut folded = String::with_capacity(line.len() + line.len() / MOST_OCTETS * 3);
    let mut octets = 0;
    for letter in line.chars() {
        if octets + letter.len_utf8() > MOST_OCTETS {
            folded.push_str("\r\n ");
            octets = 1;
        }
        folded.push(letter);
        octets += letter.len_utf8();
    }
    folded
}

/// Text with what has a meaning of its own in a calendar escaped: `\`, `;`, `,` and line ends. Colons have none.
///
/// ```
/// use trug::desk::calendar::content_lines::escaped;
/// assert_eq!(escaped("14 × a, b; c\\d: e\r\nf"), r"14 × a\, b\; c\\d: e\nf");
/// ```
#[must_use]
pub fn escaped(text: &str) -> String {
    let lines = text.replace("\r\n", "\n").replace('\r', "\n");
    let mut escaped = String::with_capacity(lines.len());
    for letter in lines.chars() {
        match letter {
            '\\' | ';' | ',' => escaped.extend(['\\', letter]),
            '\n' => escaped.push_str("\\n"),
            _ => escaped.push(letter),
        }
    }
    escaped
}

/// Without control characters, which a calendar cannot hold.
fn plain(value: &str) -> String {
    value.chars().filter(|c| !c.is_control() || *c == '\t').collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_line_of_just_75_octets_is_not_folded_and_no_part_is_longer() {
        let just = "x".repeat(75);
        assert_eq!(folded(&just), just);
        // 75, then 74 behind the blank, then the rest.
        let long = "x".repeat(75 + 74 + 1);
        let parts: Vec<usize> = folded(&long).split("\r\n").map(str::len).collect();
        assert_eq!(parts, [75, 75, 2]);
    }

    #[test]
    fn a_letter_of_four_octets_moves_to_the_next_line_whole() {
        let line = format!("{}🌿", "x".repeat(73));
        assert_eq!(folded(&line), format!("{}\r\n 🌿", "x".repeat(73)));
    }

    #[test]
    fn what_a_calendar_cannot_hold_is_left_out() {
        let mut lines = ContentLines::default();
        lines.add_text("SUMMARY", "one\r\ntwo\rthree\u{7}\u{0}\tfour");
        lines.add("URL", "http://localhost/\r\nX-EVIL:1");
        assert_eq!(lines.done(), "SUMMARY:one\\ntwo\\nthree\tfour\r\nURL:http://localhost/X-EVIL:1\r\n");
    }

    proptest! {
        /// Unfolding gives back what was folded; no line is longer than the standard allows.
        #[test]
        fn folding_loses_nothing(line in "[^\r\n]{0,400}") {
            let folded = folded(&line);
            prop_assert!(folded.split("\r\n").all(|part| part.len() <= 75));
            prop_assert_eq!(folded.replace("\r\n ", ""), line);
        }
    }
}
