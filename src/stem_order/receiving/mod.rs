//! Receiving: what came of each delivery, counted in by line as good and lost; what was lost at the bench later; and
//! whom a short or dead stem touches, worst first, with what could stand in. May import earlier stages and the stem
//! order's need, placed orders and `losses`.
//!
//! **Invariants.** A line without a receipt is not counted yet. *Short* = expected − good − lost; more than expected is
//! kept and said. A receipt carries a version, so that two people counting at once lose nothing. A bench loss carries a
//! once-key, so that it is booked once however often the button is pressed.

pub mod forms;
pub mod pages;
pub mod shortage;
pub mod standing;
pub mod store;

use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{BenchLossId, EventId, MaterialId, PlacedLineId, SupplierId};

/// The most stems of one line that are counted, and the most that are lost at once.
pub const MOST_STEMS: i64 = 1_000_000;

/// What came of a placed line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Receipt {
    /// Which line.
    pub line: PlacedLineId,
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// Stems that came good.
    pub good: i64,
    /// Stems that came dead or broken.
    pub lost: i64,
    /// When they were counted in.
    pub received_on: Day,
}

/// A loss at the bench, as typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewBenchLoss {
    /// Pressed twice, booked once.
    pub once_key: String,
    /// Of what.
    pub material: MaterialId,
    /// From whom they came, as far as that is known.
    pub supplier: Option<SupplierId>,
    /// For which event they were meant, as far as that is known.
    pub event: Option<EventId>,
    /// How many.
    pub lost: i64,
    /// When.
    pub lost_on: Day,
    /// What to remember.
    pub note: String,
}

/// A loss at the bench, as a list shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BenchLoss {
    /// Its identity.
    pub id: BenchLossId,
    /// Of what.
    pub material_id: MaterialId,
    /// Its name.
    pub material: String,
    /// From whom; empty where it is not known.
    pub supplier: String,
    /// For which event; none where it is not known.
    pub event_id: Option<EventId>,
    /// That event's name; empty where it is not known.
    pub event: String,
    /// How many.
    pub lost: i64,
    /// When.
    pub lost_on: Day,
    /// What to remember.
    pub note: String,
    /// The moment it was booked.
    pub recorded_at: Moment,
}
