//! What an event takes beside the making: loading, driving, setting up, striking, and with how many hands. What nobody
//! typed is taken as usual, by the number of pieces, and named as assumed. The clock of the event's day follows from it.
//! May import the stages before prep.

pub mod forms;
pub mod pages;
pub mod store;
pub mod times;
pub mod worked;

pub use times::{EventTimes, times};
pub use worked::Worked;

/// What was typed about an event's work.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct EventWork {
    /// Counts saves; 0 where nothing was typed.
    pub version: i64,
    /// Person-minutes of loading.
    pub load_minutes: Option<i64>,
    /// Minutes of driving, one way, by the clock.
    pub drive_minutes: Option<i64>,
    /// Person-minutes of setting up.
    pub set_minutes: Option<i64>,
    /// Person-minutes of striking.
    pub strike_minutes: Option<i64>,
    /// How many go along.
    pub crew: Option<i64>,
}
