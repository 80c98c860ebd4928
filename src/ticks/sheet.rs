//! A sheet's lines with their ticks, in words: what stands at each box, and how much is done. May import: this room's
//! types, `studio`'s settings.

use std::sync::Arc;

use super::{Tick, Ticks};
use crate::ground::dates::{Day, TimeOfDay};
use crate::studio::Studio;

/// How far a line is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Not ticked.
    Open,
    /// Ticked, at the count that it shows now.
    Done,
    /// Ticked at another count.
    Otherwise {
        /// How many it was ticked at.
        done: i64,
        /// How many it shows now.
        now: i64,
    },
}

/// A line that can be ticked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetLine {
    /// The same each time the sheet is made.
    pub key: String,
    /// How many it shows, where it shows a count.
    pub count: Option<i64>,
    /// What it is once ticked: `done`, `out`, `back`, `in`.
    pub word: &'static str,
}

/// Who reads a sheet, where and when.
#[derive(Debug, Clone)]
pub struct Reader {
    /// Who ticks on this device; empty where nobody said.
    pub hand: String,
    /// The settings.
    pub studio: Arc<Studio>,
    /// The studio's day.
    pub today: Day,
}

/// A sheet as its page shows it.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Its key.
    pub key: String,
    /// The page that it stands on.
    pub back: String,
    lines: Vec<SheetLine>,
    ticks: Ticks,
    reader: Reader,
}

/// What stands at a box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TickBox {
    /// Whether it is ticked.
    pub ticked: bool,
    /// How many the line shows; empty where it shows none.
    pub count: String,
    /// `done`, `out`, `back`, `in`.
    pub word: &'static str,
    /// `ticked by Ada, 14:05`, `12 done, now 14 (Ada, 14:05)`; empty where it is open.
    pub note: String,
    /// Whether it was ticked at another count.
    pub otherwise: bool,
    /// What was seen of the line, to be sent along: mark, ticked, count, key.
    pub seen: String,
}

/// How far a line with this count is.
///
/// ```
/// use trug::ticks::Tick;
/// use trug::ticks::sheet::{Standing, standing};
/// let tick = Tick { mark: "a".into(), shown: Some(12), hand: String::new(), at: "2026-05-14T12:05:00Z".parse().unwrap() };
/// assert_eq!(standing(Some(&tick), Some(12)), Standing::Done);
/// assert_eq!(standing(Some(&tick), Some(14)), Standing::Otherwise { done: 12, now: 14 });
/// assert_eq!(standing(None, Some(14)), Standing::Open);
/// ```
#[must_use]
pub fn standing(tick: Option<&Tick>, count: Option<i64>) -> Standing {
    match (tick, tick.and_then(|tick| tick.shown), count) {
        (None, ..) => Standing::Open,
        (Some(_), Some(done), Some(now)) if done != now => Standing::Otherwise { done, now },
        _ => Standing::Done,
    }
}

/// How many of the lines are done.
#[must_use]
pub fn done(lines: &[SheetLine], ticks: &Ticks) -> usize {
    let done = |line: &&SheetLine| standing(ticks.of(&line.key), line.count) == Standing::Done;
    lines.iter().filter(done).count()
}

/// `14 of 37 done`; each word by itself: `14 of 37 out, 3 of 10 back`.
#[must_use]
pub fn tally(lines: &[SheetLine], ticks: &Ticks) -> String {
    let mut words: Vec<&str> = Vec::new();
    for line in lines {
        if !words.contains(&line.word) {
            words.push(line.word);
        }
    }
    let tally = words.into_iter().map(|word| {
        let own: Vec<SheetLine> = lines.iter().filter(|line| line.word == word).cloned().collect();
        format!("{} of {} {word}", done(&own, ticks), own.len())
    });
    tally.collect::<Vec<_>>().join(", ")
}

impl SheetLine {
    /// A line with a count.
    #[must_use]
    pub fn counted(key: impl Into<String>, count: i64, word: &'static str) -> SheetLine {
        SheetLine { key: key.into(), count: Some(count), word }
    }

    /// A line without one.
    #[must_use]
    pub fn single(key: impl Into<String>, word: &'static str) -> SheetLine {
        SheetLine { key: key.into(), count: None, word }
    }
}

impl Reader {
    /// `Ada, 14:05`; with the day where that is not today.
    #[must_use]
    pub fn signed(&self, tick: &Tick) -> String {
        let there = tick.at.0.to_zoned_datetime(self.studio.zone.clone());
        let (day, time) = (Day(there.date()), TimeOfDay(there.time()));
        let when = match self.today.days_after(day) {
            0 => time.to_string(),
            1..=6 => format!("{} {time}", day.weekday_short()),
            _ => format!("{} {time}", self.studio.formats.day(day)),
        };
        if tick.hand.is_empty() { when } else { format!("{}, {when}", tick.hand) }
    }
}

impl Sheet {
    /// A sheet with its lines and their ticks.
    #[must_use]
    pub fn new(key: String, back: String, lines: Vec<SheetLine>, ticks: Ticks, reader: Reader) -> Sheet {
        Sheet { key, back, lines, ticks, reader }
    }

    /// Who ticks on this device.
    #[must_use]
    pub fn hand(&self) -> &str {
        &self.reader.hand
    }

    /// How much is done.
    #[must_use]
    pub fn tally(&self) -> String {
        tally(&self.lines, &self.ticks)
    }

    /// What stands at the box of a line; nothing for one that this sheet has not.
    #[must_use]
    pub fn at(&self, key: &str) -> Option<TickBox> {
        let line = self.lines.iter().find(|line| line.key == key)?;
        let tick = self.ticks.of(key);
        let standing = standing(tick, line.count);
        let signed = tick.map(|tick| self.reader.signed(tick)).unwrap_or_default();
        let named = tick.is_some_and(|tick| !tick.hand.is_empty());
        let note = match standing {
            Standing::Open => String::new(),
            Standing::Done if named => format!("ticked by {signed}"),
            Standing::Done => format!("ticked {signed}"),
            Standing::Otherwise { done, now } => format!("{done} {}, now {now} ({signed})", line.word),
        };
        let ticked = standing == Standing::Done;
        let mark = tick.map_or("-", |tick| tick.mark.as_str());
        let count = line.count.map(|count| count.to_string()).unwrap_or_default();
        let shown = if count.is_empty() { "-" } else { &count };
        let seen = format!("{mark} {} {shown} {key}", i32::from(ticked));
        let otherwise = matches!(standing, Standing::Otherwise { .. });
        Some(TickBox { ticked, word: line.word, note, otherwise, seen, count })
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use super::*;

    fn sheet() -> Sheet {
        let tick = |mark: &str, shown, hand: &str, at: &str| Tick {
            mark: mark.into(),
            shown,
            hand: hand.into(),
            at: at.parse().unwrap(),
        };
        let ticks = HashMap::from([
            ("a".into(), tick("m1", Some(12), "Ada", "2026-05-14T12:05:00Z")),
            ("b".into(), tick("m2", Some(3), "", "2026-05-13T07:00:00Z")),
            ("c-back".into(), tick("m3", Some(4), "Bo", "2026-03-01T07:00:00Z")),
        ]);
        let lines = vec![
            SheetLine::counted("a", 14, "out"),
            SheetLine::counted("b", 3, "out"),
            SheetLine::counted("c", 4, "out"),
            SheetLine::counted("c-back", 4, "back"),
        ];
        let reader = Reader {
            hand: "Bo".into(),
            studio: Arc::new(Studio::new_book()),
            today: "2026-05-14".parse().unwrap(),
        };
        Sheet::new("pull-1".into(), "/events/1/pull-list".into(), lines, Ticks::new(3, ticks), reader)
    }

    #[test]
    fn a_line_that_the_plan_changed_says_both_counts_and_is_not_done() {
        let sheet = sheet();
        let changed = sheet.at("a").unwrap();
        assert!(changed.otherwise && !changed.ticked);
        assert!(changed.note.starts_with("12 out, now 14 (Ada, "), "{}", changed.note);
        assert_eq!(changed.seen, "m1 0 14 a");
        assert_eq!(sheet.tally(), "1 of 3 out, 1 of 1 back");
    }

    #[test]
    fn a_tick_says_by_whom_and_when_as_far_as_it_is_known() {
        let sheet = sheet();
        assert!(sheet.at("b").unwrap().note.starts_with("ticked Wed "), "{}", sheet.at("b").unwrap().note);
        let old = sheet.at("c-back").unwrap();
        assert!(old.note.starts_with("ticked by Bo, 1 Mar 2026"), "{}", old.note);
        let open = sheet.at("c").unwrap();
        assert_eq!((open.note.as_str(), open.seen.as_str()), ("", "- 0 4 c"));
        assert_eq!(sheet.at("nowhere"), None);
    }
}
