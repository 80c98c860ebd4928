//! What the studio is reminded of, in one list, the worst first: orders that close, counts to be confirmed, quotes and
//! changes without an answer, parts to be invoiced, invoices due and overdue, loans that are not back. Each leads to where
//! it is done; each can be put off until a day, by whom is kept. May import every stage.
//!
//! # Invariants
//! - A reminder is derived; only that somebody saw to it is kept, as a row that is never changed.
//! - Its key names what it is about as it stands: a new version of a quote is a new reminder.
//! - An event that was called off or lost reminds of nothing but money that is owed either way; one that is past only of
//!   loans and money.

pub mod forms;
pub mod gathered;
pub mod listing;
pub mod pages;
pub mod store;

use crate::ground::dates::Day;
use crate::ground::ids::EventId;
use crate::ground::money::Money;

/// How much it presses; the worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Pressing {
    /// It cannot be made good later: orders that close today, or closed and were missed.
    Now,
    /// Its day is past.
    Late,
    /// It is time.
    Due,
    /// It comes soon.
    Soon,
}

impl Pressing {
    /// The shape of its mark, and its word.
    #[must_use]
    pub const fn mark(self) -> (&'static str, &'static str) {
        match self {
            Pressing::Now => ("late", "Today"),
            Pressing::Late => ("late", "Late"),
            Pressing::Due => ("part", "Now"),
            Pressing::Soon => ("asked", "Soon"),
        }
    }
}

/// One reminder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reminder {
    /// What it is about, for marks.
    pub key: String,
    /// How much it presses.
    pub pressing: Pressing,
    /// The day it is counted by: when it was, or is, to be done.
    pub day: Day,
    /// Of which event, if of one.
    pub event: Option<EventId>,
    /// What to do: `Ask Ada North about the quote`.
    pub what: String,
    /// Why.
    pub why: String,
    /// What is open of the invoice that it names, if it names one.
    pub owed: Option<Money>,
    /// What the link says.
    pub label: &'static str,
    /// Where it is done.
    pub path: String,
}

/// When the desk reminds, in days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rules {
    /// Counts saves; 0 where nothing was saved yet.
    pub version: i64,
    /// A quote that was not answered for so long.
    pub unanswered: i64,
    /// So long before a quote's last day.
    pub before_last: i64,
    /// So long before an event open counts are confirmed.
    pub counts: i64,
    /// So long before an invoice is to be paid.
    pub before_due: i64,
}

impl Rules {
    /// The usual days (common practice, no published source).
    pub const USUAL: Rules = Rules { version: 0, unanswered: 5, before_last: 3, counts: 21, before_due: 3 };
}

/// That somebody saw to a reminder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// What it is about.
    pub key: String,
    /// When.
    pub on: Day,
    /// Who; may be empty.
    pub by: String,
    /// The day on which it is shown again.
    pub again_on: Day,
}

/// The reminders of a day: those to see to, and those put off with their mark.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reminders {
    /// The worst first; with the last mark, if it was seen to before.
    pub open: Vec<(Reminder, Option<Mark>)>,
    /// Not shown until their day.
    pub put_off: Vec<(Reminder, Mark)>,
}

impl Reminders {
    /// Those of one event.
    #[must_use]
    pub fn of_event(mut self, event: EventId) -> Reminders {
        self.open.retain(|(reminder, _)| reminder.event == Some(event));
        self.put_off.retain(|(reminder, _)| reminder.event == Some(event));
        self
    }
}
