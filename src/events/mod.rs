//! Events from enquiry to close: date, venue, places, pieces and their counts.
//! May import `ground`, `db`, `web`, `studio`, `price_list`, `recipes`, `clients`.
//!
//! # Saving pieces from another room's grid
//! A grid with the repeated keys of [`forms::PieceRows`] (identity, place, recipe name, count, rule, note) is read in
//! three steps, all inside one write transaction:
//! 1. `let known = store::recipe_names(&mut tx, event).await?` (every recipe, and removed ones the event still uses);
//! 2. `rows.parse("pieces", &known, &formats)` gives [`NewPiece`]s, or messages named `pieces-{row}-{cell}`
//!    (the ids that the grid script keeps); each [`NewPiece::row`] tells which row it came from;
//! 3. `store::keep_pieces(&mut tx, event, &pieces).await?` gives their identities in the same order. Known pieces keep
//!    theirs, so that what later rooms attach to them survives; pieces left out are removed, and empty places with them.
//!
//! A save is stale where `rows.seen` differs from [`fingerprint`] of the pieces in the book.

pub mod counts;
pub mod forms;
pub mod hours;
pub mod notices;
pub mod pages;
pub mod recipe_names;
pub mod sets;
pub mod store;

use counts::{Made, Party};
use hours::Hours;

use crate::ground::choice::{Choice, choices};
use crate::ground::dates::{Day, TimeOfDay};
use crate::ground::formats::Formats;
use crate::ground::ids::{ClientId, EventId, PieceId, PlaceId, RecipeId};
use crate::ground::money::Money;
use crate::ground::quantity::Quantity;

choices! {
    /// By what a piece is counted.
    CountRule {
        /// So many.
        Number "number" "in all"
        /// So many a table.
        PerTable "per_table" "a table"
        /// So many a guest.
        PerGuest "per_guest" "a guest"
    }
}

choices! {
    /// How an event ended.
    Ending {
        /// Not booked.
        Lost "lost" "Lost"
        /// Called off after booking.
        Cancelled "cancelled" "Cancelled"
        /// Done and closed out.
        Closed "closed" "Closed"
    }
}

/// A date that cannot move, with everything the client said.
#[derive(Debug, Clone)]
pub struct Event {
    /// Its identity.
    pub id: EventId,
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// Whose it is.
    pub client_id: ClientId,
    /// The client's name.
    pub client_name: String,
    /// What it is called.
    pub name: String,
    /// The day.
    pub day: Day,
    /// From when the studio may set up.
    pub set_up_time: Option<TimeOfDay>,
    /// When guests arrive.
    pub start_time: Option<TimeOfDay>,
    /// When it ends.
    pub end_time: Option<TimeOfDay>,
    /// When the studio takes down.
    pub strike_time: Option<TimeOfDay>,
    /// Where.
    pub venue: String,
    /// Its address.
    pub venue_address: String,
    /// Whom to ask for there.
    pub venue_contact: String,
    /// How many guests.
    pub guests: Option<i64>,
    /// How many tables, if said.
    pub tables: Option<i64>,
    /// How many seats a table.
    pub seats: Option<i64>,
    /// What the client wants to spend.
    pub budget: Option<Money>,
    /// What to remember.
    pub note: String,
    /// When they asked.
    pub enquired_on: Day,
    /// When and how it ended.
    pub ended: Option<(Day, Ending)>,
}

/// A recipe with a count at a place.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Its identity.
    pub id: PieceId,
    /// In which event.
    pub event_id: EventId,
    /// Where it stands.
    pub place_id: PlaceId,
    /// That place's name.
    pub place: String,
    /// What it is.
    pub recipe_id: RecipeId,
    /// That recipe's name.
    pub recipe: String,
    /// By what it is counted.
    pub rule: CountRule,
    /// How many, by that rule.
    pub count: Quantity,
    /// What to remember.
    pub note: String,
}

/// An event as typed in, without whose it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewEvent {
    /// What it is called.
    pub name: String,
    /// The day.
    pub day: Day,
    /// Set-up, start, end, strike.
    pub hours: Hours,
    /// Where.
    pub venue: String,
    /// Its address.
    pub venue_address: String,
    /// Whom to ask for there.
    pub venue_contact: String,
    /// Guests, tables if said, seats a table.
    pub party: Party,
    /// What the client wants to spend.
    pub budget: Option<Money>,
    /// What to remember.
    pub note: String,
}

/// A piece as typed in a grid.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPiece {
    /// In which row it was typed, from 0, empty rows counted.
    pub row: usize,
    /// Which piece of the book it is, if it is one.
    pub id: Option<PieceId>,
    /// Where it stands, by name.
    pub place: String,
    /// What it is.
    pub recipe_id: RecipeId,
    /// By what it is counted.
    pub rule: CountRule,
    /// How many, by that rule.
    pub count: Quantity,
    /// What to remember.
    pub note: String,
}

/// Tells one state of an event's pieces from another, so that a stale save is noticed.
#[must_use]
pub fn fingerprint(pieces: &[Piece]) -> String {
    let seen = |piece: &Piece| {
        (piece.id, piece.place.clone(), piece.recipe_id, piece.rule, piece.count, piece.note.clone())
    };
    crate::ground::fingerprint::fingerprint(&pieces.iter().map(seen).collect::<Vec<_>>())
}

impl Event {
    /// Whether it still counts for orders and prep.
    #[must_use]
    pub fn is_open(&self) -> bool {
        !matches!(self.ended, Some((_, Ending::Lost | Ending::Cancelled)))
    }

    /// Set-up, start, end, strike.
    #[must_use]
    pub fn hours(&self) -> Hours {
        Hours {
            set_up: self.set_up_time,
            start: self.start_time,
            end: self.end_time,
            strike: self.strike_time,
        }
    }

    /// What its counts go by.
    #[must_use]
    pub fn party(&self) -> Party {
        Party { guests: self.guests, tables: self.tables, seats: self.seats }
    }

    /// How many tables: as said, or ceil(guests ÷ seats).
    #[must_use]
    pub fn table_count(&self) -> Option<i64> {
        self.party().table_count()
    }

    /// How many of a piece are made: whole pieces, rounded up. None where guests or tables are still open.
    #[must_use]
    pub fn count_of(&self, piece: &Piece) -> Option<i64> {
        counts::pieces(piece.rule, piece.count, self.table_count(), self.guests)
    }

    /// How many of a piece are made, with the sum behind it.
    #[must_use]
    pub fn made(&self, piece: &Piece) -> Made {
        self.party().made(piece.rule, piece.count)
    }

    /// The line under its name: `Sat 16 May 2026, 14:00 to 23:00, Tithe Barn, 90 guests`.
    #[must_use]
    pub fn line(&self, formats: &Formats) -> String {
        let guests = self.guests.map(|guests| format!("{guests} guests"));
        let parts = [
            Some(formats.weekday(self.day)),
            self.hours().words(),
            Some(self.venue.clone()).filter(|venue| !venue.is_empty()),
            guests,
            self.ended.map(|(day, how)| format!("{} {}", how.label().to_lowercase(), formats.day(day))),
        ];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}
