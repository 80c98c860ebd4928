//! How far an event is, in a word and a shape; derived from its dated rows, never kept.

use crate::events::{Ending, Event};
use crate::ground::dates::Day;

/// A word and the style class of its shape.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// The word.
    pub word: String,
    /// The shape: empty is a hollow ring.
    pub shape: &'static str,
}

impl Standing {
    fn new(word: impl Into<String>, shape: &'static str) -> Standing {
        Standing { word: word.into(), shape }
    }

    /// How far an event is on a day.
    #[must_use]
    pub fn of(event: &Event, today: Day) -> Standing {
        match event.ended {
            Some((_, Ending::Lost)) => Standing::new("Lost", "off"),
            Some((_, Ending::Cancelled)) => Standing::new("Cancelled", "off"),
            Some((_, Ending::Closed)) => Standing::new("Closed", "done"),
            None if event.day < today => Standing::new("Past, not closed", "late"),
            None => Standing::new("Asked for", ""),
        }
    }
}
