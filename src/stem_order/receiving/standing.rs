//! How far a delivery is counted in, and what is short of a line. May import the placed orders' types.

use super::Receipt;
use crate::stem_order::placing::{PlacedDelivery, PlacedLine};

/// How far a delivery is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Nothing is expected of it any more.
    CalledOff,
    /// No line is counted.
    NotCounted,
    /// So many lines of so many are.
    Partly {
        /// Counted.
        counted: usize,
        /// In all.
        of: usize,
    },
    /// Every line is counted.
    AllIn,
}

impl Standing {
    /// How far this delivery is counted in. A line of which nothing is expected counts only where something came.
    #[must_use]
    pub fn of(delivery: &PlacedDelivery, receipts: &[Receipt]) -> Standing {
        let has = |line: &&PlacedLine| receipts.iter().any(|receipt| receipt.line == line.id);
        let meant = |line: &&PlacedLine| line.expected_stems() > 0 || has(line);
        let of = delivery.lines.iter().filter(meant).count();
        match delivery.lines.iter().filter(has).count() {
            _ if of == 0 => Standing::CalledOff,
            0 => Standing::NotCounted,
            counted if counted < of => Standing::Partly { counted, of },
            _ => Standing::AllIn,
        }
    }

    /// `Partly in, 14 of 22 lines`.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Standing::CalledOff => "Called off".into(),
            Standing::NotCounted => "Not counted".into(),
            Standing::Partly { counted, of } => format!("Partly in, {counted} of {of} lines"),
            Standing::AllIn => "All in".into(),
        }
    }

    /// The shape that goes with the words.
    #[must_use]
    pub fn shape(self) -> &'static str {
        match self {
            Standing::CalledOff => "off",
            Standing::NotCounted => "",
            Standing::Partly { .. } => "part",
            Standing::AllIn => "done",
        }
    }

    /// Whether something is still to be counted.
    #[must_use]
    pub fn is_open(self) -> bool {
        matches!(self, Standing::NotCounted | Standing::Partly { .. })
    }
}

/// What a count says against what was expected: so many short, or so many more than expected.
///
/// ```
/// use trug::stem_order::receiving::standing::against;
/// assert_eq!(against(120, 110, 4), "6 short");
/// assert_eq!(against(120, 116, 4), "");
/// assert_eq!(against(120, 130, 0), "10 more than expected");
/// ```
#[must_use]
pub fn against(expected: i64, good: i64, lost: i64) -> String {
    match expected.saturating_sub(good).saturating_sub(lost) {
        0 => String::new(),
        short if short > 0 => format!("{short} short"),
        over => format!("{} more than expected", over.saturating_neg()),
    }
}
