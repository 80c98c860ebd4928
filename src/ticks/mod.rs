//! Ticks on the sheets that are worked from (goods-in, prep, pull, load, run, strike): kept in the book, so that several people tick the same
//! sheet on several devices and lose nothing. A sheet has a key (`prep-2026-05-14`, `pull-12`, `load-2026-05-16`), each of
//! its lines has one that stays the same when the sheet is computed again. It knows no
//! stage but the studio, and stands before the stem order, whose goods-in sheet is the first that is ticked off. Rooms read
//! [`store::ticks`], make a [`sheet::Sheet`] of it and write their boxes with `templates/parts/ticks.html`.
//!
//! **Invariants.** A tick is a row that is never rewritten; the latest row of a line counts. Whoever takes a tick back says
//! which one was seen: a newer one stays. A tick remembers the count it was set at: where the plan now says another, the
//! line is not done. A tick carries its own mark: sent twice, it is kept once.

pub mod forms;
pub mod pages;
pub mod settle;
pub mod sheet;
pub mod store;

use std::collections::HashMap;

use crate::ground::dates::Moment;

/// The longest key of a sheet.
pub const SHEET_LENGTH: usize = 64;
/// The longest key of a line.
pub const LINE_LENGTH: usize = 120;
/// The longest name of who ticks.
pub const HAND_LENGTH: usize = 40;

/// A line that was ticked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tick {
    /// Its own name, no other tick has it.
    pub mark: String,
    /// The count that the line showed.
    pub shown: Option<i64>,
    /// Who ticked; empty where nobody said.
    pub hand: String,
    /// When.
    pub at: Moment,
}

/// The ticks of one sheet.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ticks {
    /// Grows with every tick set or taken back.
    pub version: i64,
    lines: HashMap<String, Tick>,
}

/// A tick that is to be set or taken back, as it was sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wish {
    /// Of which line.
    pub line: String,
    /// Whether it is ticked.
    pub done: bool,
    /// The count that the line showed.
    pub shown: Option<i64>,
    /// The mark of the tick that was seen on it.
    pub seen: Option<String>,
    /// Its own mark, where it was made on the device.
    pub mark: Option<String>,
}

impl Ticks {
    /// Ticks by line.
    #[must_use]
    pub fn new(version: i64, lines: HashMap<String, Tick>) -> Ticks {
        Ticks { version, lines }
    }

    /// The tick on a line.
    #[must_use]
    pub fn of(&self, line: &str) -> Option<&Tick> {
        self.lines.get(line)
    }

    /// All ticked lines, in no order.
    pub fn lines(&self) -> impl Iterator<Item = (&str, &Tick)> {
        self.lines.iter().map(|(line, tick)| (line.as_str(), tick))
    }
}
