//! Days on which nothing is delivered and no order is taken, and feast days. They are the studio's to enter, for every
//! supplier or for one; the well-known movable ones can be ticked from a reckoned list.
//!
//! May import `ground` and the stages before the stem order.

pub mod feasts;
pub mod forms;
pub mod pages;
pub mod store;

use crate::ground::choice::choices;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{ClosedDayId, SupplierId};

/// In so many days before a feast prices and supply are tight (common practice, no published source).
pub const FEAST_DAYS: i64 = 7;

choices! {
    /// What a day in the calendar means for orders.
    DayKind {
        /// Nothing is delivered, no order is taken.
        Closed "closed" "Closed"
        /// Everything as usual, but flowers are dear and scarce before it.
        Feast "feast" "Feast day, open"
        /// Both.
        ClosedFeast "closed_feast" "Feast day, closed"
    }
}

impl DayKind {
    /// Whether nothing is delivered and no order taken.
    #[must_use]
    pub const fn closes(self) -> bool {
        matches!(self, DayKind::Closed | DayKind::ClosedFeast)
    }

    /// Whether flowers are dear and scarce before it.
    #[must_use]
    pub const fn is_feast(self) -> bool {
        matches!(self, DayKind::Feast | DayKind::ClosedFeast)
    }
}

/// One day, or several in a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClosedDay {
    /// Its identity.
    pub id: ClosedDayId,
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// Whose; none is every supplier's.
    pub supplier_id: Option<SupplierId>,
    /// The first day.
    pub first_day: Day,
    /// The last day, included.
    pub last_day: Day,
    /// What it is called.
    pub name: String,
    /// What it means for orders.
    pub kind: DayKind,
}

impl ClosedDay {
    /// `Sun 17 May 2026`, or from when to when.
    #[must_use]
    pub fn days(&self, formats: &Formats) -> String {
        if self.first_day == self.last_day {
            return formats.weekday(self.first_day);
        }
        format!("{} to {}", formats.weekday(self.first_day), formats.weekday(self.last_day))
    }

    fn concerns(&self, supplier: SupplierId) -> bool {
        self.supplier_id.is_none_or(|own| own == supplier)
    }

    fn holds(&self, day: Day) -> bool {
        self.first_day <= day && day <= self.last_day
    }
}

/// A closed or feast day as typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewClosedDay {
    /// Whose; none is every supplier's.
    pub supplier_id: Option<SupplierId>,
    /// The first day.
    pub first_day: Day,
    /// The last day, included.
    pub last_day: Day,
    /// What it is called.
    pub name: String,
    /// What it means for orders.
    pub kind: DayKind,
}

/// All closed and feast days of the book.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ClosedDays(pub Vec<ClosedDay>);

impl ClosedDays {
    /// Why a supplier is closed on a day; none where it is open.
    #[must_use]
    pub fn closing(&self, supplier: SupplierId, day: Day) -> Option<&ClosedDay> {
        self.0.iter().find(|closed| closed.kind.closes() && closed.concerns(supplier) && closed.holds(day))
    }

    /// The feasts before which a supplier's delivery falls: in the [`FEAST_DAYS`] before, or on the feast itself.
    pub fn feasts(&self, supplier: SupplierId, delivery: Day) -> impl Iterator<Item = &ClosedDay> {
        self.0.iter().filter(move |feast| {
            let near = feast.first_day.plus(-FEAST_DAYS) <= delivery && delivery <= feast.last_day;
            feast.kind.is_feast() && feast.concerns(supplier) && near
        })
    }

    /// The last day from `day` backwards on which a supplier is open.
    #[must_use]
    pub fn last_open(&self, supplier: SupplierId, day: Day) -> Day {
        let mut open = day;
        // Each step leaves one row of the list behind for good.
        while let Some(closed) = self.closing(supplier, open) {
            open = closed.first_day.plus(-1);
        }
        open
    }
}
