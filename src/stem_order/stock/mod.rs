//! What lies in the cooler and on the shelf: lots of one material and one age, what of them is kept for which event, and
//! what was left over from deliveries. The need reads it; orders reserve from it.
//!
//! **Invariants.** A lot's count is of the day it was counted; what events on or after that day have reserved comes off it.
//! So a past event's reservation is drawn down by its date alone, and a new count supersedes it. A reservation of an event
//! that was called off, and one that was released, counts for nothing. Changes of a lot are rows of their own.
//!
//! May import `ground`, the stages before and the stage's calendar of arrivals; never placing or receiving, whose tables
//! are only read here.

pub mod forms;
pub mod holding;
pub mod left;
pub mod pages;
pub mod serving;
pub mod store;

use crate::ground::choice::choices;
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, MaterialId, StockLotId};

/// The most of one material that is counted.
pub const MOST: i64 = 10_000_000;

choices! {
    /// What happened to a lot.
    ChangeKind {
        /// It came into stock.
        TakenIn "taken_in" "Taken in"
        /// It was counted: so many were there.
        Counted "counted" "Counted"
        /// So many went.
        WrittenOff "written_off" "Written off"
    }
}

/// Some of one material, all of one age.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    /// Its identity.
    pub id: StockLotId,
    /// Counts changes, so that a stale count is noticed.
    pub version: i64,
    /// Of what.
    pub material: MaterialId,
    /// When it came; fresh stems keep from that day.
    pub arrived_on: Day,
    /// How many were there when it was last counted, less what was written off since.
    pub on_hand: i64,
    /// When that was.
    pub counted_on: Day,
    /// Where it came from, what to remember.
    pub note: String,
}

/// Pieces of a lot that are kept for an event and come off its count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reservation {
    /// Its identity.
    pub id: i64,
    /// Of which lot.
    pub lot: StockLotId,
    /// For which event.
    pub event: EventId,
    /// Its name.
    pub event_name: String,
    /// Its day.
    pub event_day: Day,
    /// How many.
    pub count: i64,
}

/// A line of a lot's history.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Its identity.
    pub id: i64,
    /// Of which lot.
    pub lot: StockLotId,
    /// What happened.
    pub kind: ChangeKind,
    /// To how many.
    pub count: i64,
    /// When.
    pub changed_on: Day,
    /// Why, in words.
    pub note: String,
    /// When it was recorded.
    pub recorded_at: Moment,
    /// When it was taken back, if it was.
    pub undone_at: Option<Moment>,
}

/// Pieces of a lot that an event of an order takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StockUse {
    /// Of which lot.
    pub lot: StockLotId,
    /// For which event.
    pub event: EventId,
    /// How many.
    pub count: i64,
}
