//! Events from enquiry to close: date, venue, places, pieces and their counts.
//! May import `ground`, `db`, `web`, `studio`, `price_list`, `recipes`, `clients`.

pub mod counts;
pub mod pages;
pub mod store;

use crate::ground::choice::choices;
use crate::ground::dates::{Day, TimeOfDay};
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

impl Event {
    /// Whether it still counts for orders and prep.
    #[must_use]
    pub fn is_open(&self) -> bool {
        !matches!(self.ended, Some((_, Ending::Lost | Ending::Cancelled)))
    }

    /// How many tables: as said, or ceil(guests ÷ seats).
    #[must_use]
    pub fn table_count(&self) -> Option<i64> {
        self.tables.or_else(|| counts::tables(self.guests?, self.seats?))
    }

    /// How many of a piece are made: whole pieces, rounded up. None where guests or tables are still open.
    #[must_use]
    pub fn count_of(&self, piece: &Piece) -> Option<i64> {
        counts::pieces(piece.rule, piece.count, self.table_count(), self.guests)
    }
}
