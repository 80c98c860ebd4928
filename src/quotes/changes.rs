//! What changed from one version of a quote to the next: pieces and money.
//!
//! May import: the room's documents and plain values of the ground.

use super::document::{Document, DocumentLine};
use crate::ground::choice::Choice;
use crate::ground::money::Money;

/// One difference.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// A line that the older one has not.
    Added {
        /// What and where.
        what: String,
        /// How many.
        count: Option<i64>,
    },
    /// A line that the newer one has not.
    Removed {
        /// What and where.
        what: String,
    },
    /// More or fewer of it.
    Count {
        /// What and where.
        what: String,
        /// Before.
        from: Option<i64>,
        /// After.
        to: Option<i64>,
    },
    /// Another amount: a price, a discount, a charge, tax, the total.
    Amount {
        /// Of what.
        what: String,
        /// Before.
        from: Money,
        /// After.
        to: Money,
    },
    /// Other words, terms, days, names.
    Words {
        /// Of what.
        what: &'static str,
    },
}

/// The differences, lines first, then money from top to bottom; the total always stands last if it differs.
#[must_use]
pub fn changes(older: &Document, newer: &Document) -> Vec<Change> {
    let mut changes = Vec::new();
    for pair in pairs(older, newer) {
        match pair {
            (Some(old), Some(new)) => changes.extend(line_changes(&old, &new)),
            (None, Some(new)) => changes.push(Change::Added { what: new.what(), count: new.line.count }),
            (Some(old), None) => changes.push(Change::Removed { what: old.what() }),
            (None, None) => {}
        }
    }
    changes.extend(money(older, newer));
    let last =
        changes.iter().position(|change| matches!(change, Change::Amount { what, .. } if what == TOTAL));
    let total = last.map(|at| changes.remove(at));
    changes.extend(other_words(older, newer).into_iter().map(|what| Change::Words { what }));
    changes.extend(total);
    changes
}

const TOTAL: &str = "Total";

/// A line where it stands.
#[derive(Clone, Copy)]
pub(super) struct Placed<'a> {
    place: &'a str,
    pub line: &'a DocumentLine,
}

impl Placed<'_> {
    fn same(&self, other: &Placed) -> bool {
        match (self.line.piece, other.line.piece) {
            (Some(one), Some(two)) => one == two,
            (None, None) => self.line.name == other.line.name && self.place == other.place,
            _ => false,
        }
    }

    /// What and where.
    pub(super) fn what(&self) -> String {
        if self.place.is_empty() {
            self.line.name.clone()
        } else {
            format!("{}, {}", self.line.name, self.place)
        }
    }
}

/// A line of an older document and of a newer one, where each has it.
pub(super) type Pair<'a> = (Option<Placed<'a>>, Option<Placed<'a>>);

/// The lines of two documents side by side, each once: the newer one's in their order, then what it has no more.
pub(super) fn pairs<'a>(older: &'a Document, newer: &'a Document) -> Vec<Pair<'a>> {
    let mut before = lines(older);
    let mut pairs: Vec<Pair> = Vec::new();
    for new in lines(newer) {
        let at = before.iter().position(|old| old.same(&new));
        pairs.push((at.map(|at| before.remove(at)), Some(new)));
    }
    pairs.extend(before.into_iter().map(|old| (Some(old), None)));
    pairs
}

fn lines(document: &Document) -> Vec<Placed<'_>> {
    let mut lines = Vec::new();
    for place in &document.places {
        lines.extend(place.lines.iter().map(|line| Placed { place: &place.place, line }));
    }
    lines
}

fn line_changes(old: &Placed, new: &Placed) -> Vec<Change> {
    if old.what() != new.what() {
        // The piece became another one, or stands elsewhere.
        return vec![
            Change::Removed { what: old.what() },
            Change::Added { what: new.what(), count: new.line.count },
        ];
    }
    let count = (old.line.count != new.line.count).then(|| Change::Count {
        what: new.what(),
        from: old.line.count,
        to: new.line.count,
    });
    let price = amount(format!("{}, each", new.what()), old.line.price, new.line.price);
    let off = amount(format!("{}, discount", new.what()), old.line.discount.amount, new.line.discount.amount);
    count.into_iter().chain(price).chain(off).collect()
}

fn money(older: &Document, newer: &Document) -> Vec<Change> {
    let mut changes: Vec<Change> = Vec::new();
    changes.extend(amount("Discount".into(), older.discount.amount, newer.discount.amount));
    for kind in super::ChargeKind::ALL {
        let of = |document: &Document| {
            let of_kind = document.charges.iter().filter(|charge| charge.kind == *kind);
            of_kind.map(|charge| charge.amount).sum::<Money>()
        };
        changes.extend(amount(kind.label().into(), of(older), of(newer)));
    }
    changes.extend(amount("Tax".into(), older.tax(), newer.tax()));
    changes.extend(amount(TOTAL.into(), older.total, newer.total));
    changes
}

fn amount(what: String, from: Money, to: Money) -> Option<Change> {
    (from != to).then_some(Change::Amount { what, from, to })
}

/// What differs beside lines and money.
pub(super) fn other_words(older: &Document, newer: &Document) -> Vec<&'static str> {
    let differs = [
        ("the words", older.words != newer.words),
        ("the terms", older.terms != newer.terms),
        ("how long it holds", older.valid_until != newer.valid_until),
        ("the payment", older.instalments != newer.instalments && older.total == newer.total),
        ("the event's day or place", older.event != newer.event),
        ("how many stems are in a piece", stems_differ(older, newer)),
        ("whether prices include tax", older.inclusive != newer.inclusive),
    ];
    differs.into_iter().filter(|(_, differs)| *differs).map(|(what, _)| what).collect()
}

/// Whether something was said to be in a piece and something else is now.
fn stems_differ(older: &Document, newer: &Document) -> bool {
    pairs(older, newer).into_iter().any(|(old, new)| match (old, new) {
        (Some(old), Some(new)) => {
            let (old, new) = (&old.line.stems, &new.line.stems);
            !old.is_empty() && !new.is_empty() && old != new
        }
        _ => false,
    })
}

#[cfg(test)]
pub(super) mod tests;
