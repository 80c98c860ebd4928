//! The usual figures where nothing was typed. All are Trug's own assumptions, no published source; they are there so that
//! a week can be planned before anyone has typed a figure, and each is named as assumed wherever it is used.
//!
//! May import: this room's types.

use super::EventWork;

/// Person-minutes of loading a piece.
pub const LOAD_A_PIECE: i64 = 2;
/// Person-minutes of loading at the least.
pub const LOAD_AT_LEAST: i64 = 20;
/// Minutes of driving, one way.
pub const DRIVE: i64 = 30;
/// Person-minutes of setting a piece.
pub const SET_A_PIECE: i64 = 4;
/// Person-minutes of setting up at the least.
pub const SET_AT_LEAST: i64 = 30;
/// Person-minutes of striking a piece.
pub const STRIKE_A_PIECE: i64 = 2;
/// Person-minutes of striking at the least.
pub const STRIKE_AT_LEAST: i64 = 20;
/// How many go along.
pub const CREW: i64 = 2;

/// An event's work with the usual figures filled in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Worked {
    /// Person-minutes of loading.
    pub load: i64,
    /// Minutes of driving, one way, by the clock.
    pub drive: i64,
    /// Person-minutes of setting up.
    pub set: i64,
    /// Person-minutes of striking.
    pub strike: i64,
    /// How many go along, at least one.
    pub crew: i64,
    /// Which of them nobody typed: `load`, `drive`, `set`, `strike`, `crew`.
    pub assumed: Vec<&'static str>,
}

impl EventWork {
    /// The work of an event of so many pieces: as typed, else minutes a piece × pieces, at least a least figure.
    ///
    /// ```
    /// use trug::prep::event_work::EventWork;
    /// let typed = EventWork { drive_minutes: Some(45), ..EventWork::default() };
    /// let worked = typed.worked(30);
    /// assert_eq!((worked.load, worked.drive, worked.set, worked.strike, worked.crew), (60, 45, 120, 60, 2));
    /// assert_eq!(worked.assumed, ["load", "set", "strike", "crew"]);
    /// ```
    #[must_use]
    pub fn worked(&self, pieces: i64) -> Worked {
        let mut assumed = Vec::new();
        let mut taken = |typed: Option<i64>, name: &'static str, usual: i64| {
            typed.unwrap_or_else(|| {
                assumed.push(name);
                usual
            })
        };
        let by_piece = |each: i64, least: i64| pieces.max(0).saturating_mul(each).max(least);
        let load = taken(self.load_minutes, "load", by_piece(LOAD_A_PIECE, LOAD_AT_LEAST));
        let drive = taken(self.drive_minutes, "drive", DRIVE);
        let set = taken(self.set_minutes, "set", by_piece(SET_A_PIECE, SET_AT_LEAST));
        let strike = taken(self.strike_minutes, "strike", by_piece(STRIKE_A_PIECE, STRIKE_AT_LEAST));
        let crew = taken(self.crew, "crew", CREW).max(1);
        Worked { load, drive, set, strike, crew, assumed }
    }
}

impl Worked {
    /// Whether a figure was assumed.
    #[must_use]
    pub fn is_assumed(&self, name: &str) -> bool {
        self.assumed.contains(&name)
    }

    /// Minutes by the clock that person-minutes take the crew, rounded up.
    #[must_use]
    pub fn by_the_clock(&self, person_minutes: i64) -> i64 {
        person_minutes.saturating_add(self.crew - 1) / self.crew
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_event_still_takes_the_least_and_typed_nothing_is_nothing() {
        let worked = EventWork { strike_minutes: Some(0), ..EventWork::default() }.worked(1);
        assert_eq!((worked.load, worked.set, worked.strike), (LOAD_AT_LEAST, SET_AT_LEAST, 0));
        assert!(worked.is_assumed("load") && !worked.is_assumed("strike"));
    }

    #[test]
    fn the_clock_rounds_up() {
        let worked = EventWork { crew: Some(3), ..EventWork::default() }.worked(0);
        assert_eq!((worked.by_the_clock(61), worked.by_the_clock(60), worked.by_the_clock(0)), (21, 20, 0));
    }
}
