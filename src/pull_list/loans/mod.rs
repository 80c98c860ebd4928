//! What the studio lends (C10): vessels, stands and other hard goods that come back. Each event holds them from the day
//! on which its pull list leaves the shelf to the day on which they are back; what is booked on any day must not be
//! more than the studio owns.
//!
//! What an event takes is what its pull list says ([`pull::lent`](super::pull::lent)): one way to compute it.
//! What came back is counted once it has; what was broken or is missing is taken off `material.owned` in the same
//! transaction, through the price list's store, which owns that table. So `owned` is always what stands on the shelf
//! or is out, for the stem order and the pull list too, and the dated rows here say why it went down.
//!
//! May import the stages before this one and this stage's own rooms.

pub mod bookings;
pub mod charges;
pub mod forms;
pub mod holds;
pub mod pages;
pub mod store;

use crate::ground::dates::Day;
use crate::ground::ids::MaterialId;
use crate::ground::money::Money;

/// From when to when an event keeps what it is lent, in days about its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Period {
    /// Counts saves; 0 where nothing was typed.
    pub version: i64,
    /// Days before the event on which it leaves the shelf.
    pub leaves_before: i64,
    /// Days after the event on which it is back.
    pub returns_after: i64,
}

impl Period {
    /// Where nothing was typed: the day before to the day after. Common practice, no published source.
    pub const USUAL: Period = Period { version: 0, leaves_before: 1, returns_after: 1 };

    /// The first day on which it is not on the shelf.
    #[must_use]
    pub fn leaves(&self, event: Day) -> Day {
        event.plus(-self.leaves_before)
    }

    /// The last day on which it is not on the shelf.
    #[must_use]
    pub fn returns(&self, event: Day) -> Day {
        event.plus(self.returns_after)
    }
}

/// How an event's loans were counted back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Count {
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// When.
    pub on: Day,
    /// By whom.
    pub by: String,
    /// Whether what is lost is charged to the client.
    pub charged: bool,
    /// What to remember.
    pub note: String,
    /// What came back of each material.
    pub lines: Vec<CountedLine>,
}

/// What came back of one material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CountedLine {
    /// Of which.
    pub material: MaterialId,
    /// How many left the door.
    pub taken: i64,
    /// How many are on the shelf again, good.
    pub back: i64,
    /// How many are broken.
    pub broken: i64,
    /// How many are lost.
    pub missing: i64,
    /// What each lost one is charged at.
    pub charge_each: Money,
}

impl CountedLine {
    /// Broken and missing together: no longer owned.
    #[must_use]
    pub const fn lost(&self) -> i64 {
        self.broken.saturating_add(self.missing)
    }

    /// How many have not come back yet and are not given up.
    #[must_use]
    pub const fn still_out(&self) -> i64 {
        self.taken.saturating_sub(self.back).saturating_sub(self.lost())
    }
}

impl Count {
    /// What came back of a material, if that was counted.
    #[must_use]
    pub fn line(&self, material: MaterialId) -> Option<&CountedLine> {
        self.lines.iter().find(|line| line.material == material)
    }
}
