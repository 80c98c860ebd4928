//! The studio's calendar for other programs (RFC 5545): order cut-offs, deliveries, days at the bench, events, loans
//! that leave and come back, quotes that end. As a file to take along, and as a feed at an address that nobody can guess.
//!
//! Nothing is typed here: every [`Entry`] is derived from what the rooms know. An entry's `uid` belongs to the thing it
//! tells of (an event, a supplier's delivery day, a day at the bench), so that what moves is updated in the reader's
//! calendar and does not stand there twice. Names, days and venues go out; money, notes and telephone numbers do not.
//!
//! May import every stage and the desk's own rooms.

pub mod content_lines;
pub mod entries;
pub mod forms;
pub mod gathered;
pub mod pages;
pub mod store;
pub mod written;

use jiff::civil::DateTime;

use crate::ground::choice::choices;
use crate::ground::dates::{Day, Moment};

choices! {
    /// What an entry tells of; its label is the category in the reader's calendar.
    Kind {
        /// An event, and the van's way to it and back.
        Event "event" "Event"
        /// An order closes.
        CutOff "cut_off" "Order cut-off"
        /// Flowers or goods come.
        Delivery "delivery" "Delivery"
        /// Work at the bench.
        Bench "bench" "Bench"
        /// What is lent leaves or comes back.
        Loan "loan" "Loan"
        /// A quote can no longer be accepted.
        Quote "quote" "Quote"
    }
}

/// How sure an entry is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standing {
    /// It is booked, placed or due.
    Firm,
    /// An event without an accepted quote, a delivery that is not ordered.
    Tentative,
    /// It was called off: the reader's calendar strikes it.
    CalledOff,
}

/// When an entry is, by the studio's clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum When {
    /// Whole days, both included.
    Days {
        /// The first.
        first: Day,
        /// The last.
        last: Day,
    },
    /// From an hour to an hour.
    Hours {
        /// From.
        from: DateTime,
        /// Until.
        until: DateTime,
    },
}

impl When {
    /// One whole day.
    #[must_use]
    pub const fn day(day: Day) -> When {
        When::Days { first: day, last: day }
    }

    /// Its first and its last day.
    #[must_use]
    pub fn days(&self) -> (Day, Day) {
        match self {
            When::Days { first, last } => (*first, *last),
            When::Hours { from, until } => (Day(from.date()), Day(until.date())),
        }
    }

    /// For sorting: where it begins.
    #[must_use]
    pub fn begins(&self) -> DateTime {
        match self {
            When::Days { first, .. } => first.0.at(0, 0, 0, 0),
            When::Hours { from, .. } => *from,
        }
    }
}

/// One thing in the calendar.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Entry {
    /// What it is within the book, the same for as long as the thing is: `event-12`.
    pub uid: String,
    /// What it tells of.
    pub kind: Kind,
    /// When.
    pub when: When,
    /// In a line.
    pub summary: String,
    /// Where; may be empty.
    pub location: String,
    /// In several lines; may be empty.
    pub description: String,
    /// Where it stands in Trug.
    pub path: String,
    /// How sure.
    pub standing: Standing,
    /// How often the thing was saved since it was written down.
    pub sequence: i64,
}

/// The days that a calendar covers, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Covered {
    /// The first.
    pub from: Day,
    /// The last.
    pub to: Day,
}

impl Covered {
    /// What the feed covers on a day: four weeks back, thirteen months ahead.
    #[must_use]
    pub fn by_feed(today: Day) -> Covered {
        Covered { from: today.plus(-28), to: today.plus(396) }
    }

    /// Whether an entry lies in it, if only in part.
    #[must_use]
    pub fn meets(&self, when: &When) -> bool {
        let (first, last) = when.days();
        first <= self.to && last >= self.from
    }
}

/// The calendar's own row in the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Feed {
    /// Counts saves of the reminder, so that a stale one is noticed.
    pub version: i64,
    /// Tells this book's entries from another's.
    pub book: String,
    /// The secret part of the feed's address and since when it holds; none where there is no feed.
    pub token: Option<(String, Moment)>,
    /// Minutes before orders close at which the reader's calendar rings.
    pub reminder: Option<i64>,
}
