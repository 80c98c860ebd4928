//! How far an event is, in a word and a shape; derived from its dated rows, never kept.

use crate::events::{Ending, Event};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::QuoteVersionId;
use crate::quotes;

/// How an event's quote stands.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Quoted {
    /// Nothing went out.
    #[default]
    NotSent,
    /// A version is with the client.
    Sent {
        /// Its number.
        number: i64,
        /// Since when.
        on: Day,
        /// The last day on which it can be accepted.
        valid_until: Option<Day>,
    },
    /// A version was accepted.
    Accepted {
        /// When.
        on: Day,
        /// A later version that waits for an answer: as a rule a change note.
        newer: Option<Newer>,
    },
    /// The last version was declined, and none was accepted.
    Declined {
        /// Its number.
        number: i64,
        /// When.
        on: Day,
    },
}

/// A version that waits for an answer while an earlier one is agreed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Newer {
    /// Which.
    pub version: QuoteVersionId,
    /// Its number.
    pub number: i64,
    /// Its number among the change notes.
    pub note: Option<i64>,
    /// Since when it is with the client.
    pub on: Day,
}

impl From<&quotes::Standing> for Quoted {
    fn from(quote: &quotes::Standing) -> Quoted {
        match &quote.accepted {
            Some(accepted) => Quoted::Accepted {
                on: accepted.on,
                newer: quote.awaits_answer().then_some(Newer {
                    version: quote.version_id,
                    number: quote.number,
                    note: quote.note.map(|(number, _)| number),
                    on: quote.sent_on,
                }),
            },
            None if quote.declined_on.is_some() => {
                Quoted::Declined { number: quote.number, on: quote.declined_on.unwrap_or(quote.sent_on) }
            }
            None => Quoted::Sent { number: quote.number, on: quote.sent_on, valid_until: quote.valid_until },
        }
    }
}

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
    pub fn of(event: &Event, quoted: &Quoted, today: Day, formats: &Formats) -> Standing {
        match (event.ended, quoted) {
            (Some((_, Ending::Lost)), _) => Standing::new("Lost", "off"),
            (Some((_, Ending::Cancelled)), _) => Standing::new("Cancelled", "off"),
            (Some((_, Ending::Closed)), _) => Standing::new("Closed", "done"),
            (None, _) if event.day < today => Standing::new("Past, not closed", "late"),
            (None, Quoted::Accepted { on, .. }) => {
                Standing::new(format!("Booked {}", formats.day(*on)), "done")
            }
            (None, Quoted::Sent { on, .. }) => Standing::new(format!("Quoted {}", formats.day(*on)), "asked"),
            (None, Quoted::Declined { on, .. }) => {
                Standing::new(format!("Quote declined {}", formats.day(*on)), "off")
            }
            (None, Quoted::NotSent) => Standing::new("Asked for", ""),
        }
    }
}
