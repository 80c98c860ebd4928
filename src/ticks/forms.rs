//! What a sheet sends: what was seen of each of its lines, and which boxes are ticked now. Without a script it is the whole
//! sheet, of which only what was touched is taken; with one it is a single line.

use serde::Deserialize;

use super::{HAND_LENGTH, LINE_LENGTH, Wish};
use crate::web::path::own_page;

/// A tick that waited longer than this for the network is said to be as old as this.
const MOST_WAITED: i64 = 30 * 24 * 60 * 60;

/// The boxes of a sheet as they were sent.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct TickForm {
    /// Who ticks.
    pub hand: String,
    /// The page to come back to.
    pub back: String,
    /// What was seen of each line: the tick's mark, whether it was ticked, the count, the line's key.
    pub seen: Vec<String>,
    /// The lines that are ticked.
    pub tick: Vec<String>,
    /// The tick's own mark, made on the device.
    pub mark: String,
    /// How many seconds ago it was set.
    pub ago: String,
    /// Whether every tick that was seen is to be taken back.
    pub clear: String,
}

/// A line as it was seen.
struct Seen {
    mark: Option<String>,
    ticked: bool,
    shown: Option<i64>,
    line: String,
}

impl TickForm {
    /// What was touched; none where what was sent is no sheet of ours.
    #[must_use]
    pub fn parse(&self) -> Option<Vec<Wish>> {
        let seen: Vec<Seen> = self.seen.iter().map(|seen| Seen::read(seen)).collect::<Option<_>>()?;
        let own = Some(self.mark.trim()).filter(|mark| !mark.is_empty());
        if own.is_some_and(|mark| !is_mark(mark) || mark.contains('-') || seen.len() != 1) {
            return None;
        }
        let clears = !self.clear.is_empty();
        let wish = |seen: Seen| {
            let done = !clears && self.tick.contains(&seen.line);
            let touched = if clears { seen.mark.is_some() } else { done != seen.ticked };
            let mark = own.map(str::to_owned);
            touched.then_some(Wish { line: seen.line, done, shown: seen.shown, seen: seen.mark, mark })
        };
        Some(seen.into_iter().filter_map(wish).collect())
    }

    /// Who ticks, in one line of a bearable length.
    #[must_use]
    pub fn hand(&self) -> String {
        name_of(&self.hand)
    }

    /// How many seconds ago it was set; 0 where nobody says.
    #[must_use]
    pub fn waited(&self) -> i64 {
        self.ago.trim().parse::<i64>().unwrap_or(0).clamp(0, MOST_WAITED)
    }

    /// The page to come back to: one of our own.
    #[must_use]
    pub fn page(&self) -> &str {
        own_page(&self.back).unwrap_or("/")
    }
}

impl Seen {
    fn read(text: &str) -> Option<Seen> {
        let mut parts = text.splitn(4, ' ');
        let (mark, ticked, shown, line) = (parts.next()?, parts.next()?, parts.next()?, parts.next()?);
        let shown = if shown == "-" { None } else { Some(shown.parse().ok()?) };
        let ticked = match ticked {
            "0" => false,
            "1" => true,
            _ => return None,
        };
        let mark = match mark {
            "-" => None,
            mark if is_mark(mark) => Some(mark.to_owned()),
            _ => return None,
        };
        is_key(line, LINE_LENGTH).then(|| Seen { mark, ticked, shown, line: line.to_owned() })
    }
}

/// Small letters, digits and hyphens, as our keys are.
#[must_use]
pub fn is_key(text: &str, most: usize) -> bool {
    let fits = (1..=most).contains(&text.len());
    fits && text.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')
}

fn is_mark(text: &str) -> bool {
    is_key(text, 80)
}

/// A name as it is kept.
#[must_use]
pub fn name_of(typed: &str) -> String {
    let words: Vec<&str> =
        typed.split(|c: char| c.is_whitespace() || c.is_control()).filter(|word| !word.is_empty()).collect();
    words.join(" ").chars().take(HAND_LENGTH).collect::<String>().trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(seen: &[&str], tick: &[&str]) -> TickForm {
        let owned = |list: &[&str]| list.iter().map(|one| (*one).to_owned()).collect();
        TickForm { seen: owned(seen), tick: owned(tick), ..TickForm::default() }
    }

    #[test]
    fn only_what_was_touched_is_taken() {
        let sheet = form(&["- 0 12 make-1", "here-4 1 3 dress-1", "here-5 1 - cut-1"], &["make-1", "cut-1"]);
        let wishes = sheet.parse().unwrap();
        let said: Vec<_> = wishes.iter().map(|wish| (wish.line.as_str(), wish.done, wish.shown)).collect();
        assert_eq!(said, [("make-1", true, Some(12)), ("dress-1", false, Some(3))]);
        assert_eq!(wishes[1].seen.as_deref(), Some("here-4"));
    }

    #[test]
    fn clearing_takes_back_what_was_seen_ticked_whatever_the_count() {
        let sheet = TickForm {
            clear: "1".into(),
            ..form(&["- 0 12 make-1", "a1 0 14 make-2", "a2 1 3 cut-1"], &["make-1"])
        };
        let lines: Vec<_> = sheet.parse().unwrap().into_iter().map(|wish| (wish.line, wish.done)).collect();
        assert_eq!(lines, [("make-2".into(), false), ("cut-1".into(), false)]);
    }

    #[test]
    fn what_is_no_sheet_of_ours_is_refused() {
        for seen in
            ["", "- 0 12", "- 2 12 make-1", "- 0 twelve make-1", "- 0 12 <b>", "A 0 12 make-1", "- 0 12 a b"]
        {
            assert!(form(&[seen], &[]).parse().is_none(), "{seen}");
        }
        let two = TickForm { mark: "0af3".into(), ..form(&["- 0 1 a", "- 0 1 b"], &["a"]) };
        assert!(two.parse().is_none(), "a mark names one tick");
    }

    #[test]
    fn nobody_is_sent_elsewhere() {
        for (address, page) in [
            ("/prep/2026-05-14?from=2026-05-11", "/prep/2026-05-14?from=2026-05-11"),
            ("//example.org", "/"),
            ("/\\example.org", "/"),
            ("https://example.org", "/"),
            ("/a\r\nb", "/"),
            ("", "/"),
        ] {
            assert_eq!(TickForm { back: address.into(), ..TickForm::default() }.page(), page);
        }
    }

    #[test]
    fn a_name_is_one_line_of_a_bearable_length() {
        assert_eq!(name_of("  Ada \n Lovelace "), "Ada Lovelace");
        assert_eq!(name_of(&"x".repeat(10_000)).len(), HAND_LENGTH);
    }
}
