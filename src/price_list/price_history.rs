//! Which price of an offer's history holds on a day. Pure; the store's queries follow the same rule.

use super::entries::PriceEntry;
use crate::ground::dates::Day;

/// How one entry of the history stands on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PriceStanding {
    /// It holds.
    Holds,
    /// Its first day is still to come.
    Announced,
    /// A later price or its own last day ended it.
    Past,
    /// Another price was written for the same first day after it.
    Corrected,
}

/// The price that holds on a day: the one with the latest first day up to then, of several with that first day the
/// one written last; none where its last day is over by then.
#[must_use]
pub fn in_force(history: &[PriceEntry], on: Day) -> Option<&PriceEntry> {
    history
        .iter()
        .filter(|entry| entry.from_day <= on)
        .max_by_key(|entry| (entry.from_day, entry.id))
        .filter(|entry| entry.until_day.is_none_or(|until| until >= on))
}

/// How an entry of the history stands on a day.
#[must_use]
pub fn standing(history: &[PriceEntry], entry: &PriceEntry, on: Day) -> PriceStanding {
    let corrected = history.iter().any(|other| other.from_day == entry.from_day && other.id > entry.id);
    if corrected {
        PriceStanding::Corrected
    } else if entry.from_day > on {
        PriceStanding::Announced
    } else if in_force(history, on).is_some_and(|holds| holds.id == entry.id) {
        PriceStanding::Holds
    } else {
        PriceStanding::Past
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::ids::{OfferId, OfferPriceId};
    use crate::ground::money::Money;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn entry(id: i64, from: &str, until: Option<&str>, price: i64) -> PriceEntry {
        PriceEntry {
            id: OfferPriceId(id),
            offer_id: OfferId(1),
            from_day: day(from),
            until_day: until.map(day),
            price: Money::from_minor(price),
            recorded_at: "2026-01-01T08:00:00Z".parse().unwrap(),
        }
    }

    fn holds(history: &[PriceEntry], on: &str) -> Option<i64> {
        in_force(history, day(on)).map(|entry| entry.price.minor())
    }

    #[test]
    fn a_price_holds_until_the_next_begins() {
        let history = [entry(1, "2026-01-01", None, 100), entry(2, "2026-03-01", None, 120)];
        assert_eq!(holds(&history, "2025-12-31"), None);
        assert_eq!(holds(&history, "2026-02-28"), Some(100));
        assert_eq!(holds(&history, "2026-03-01"), Some(120));
    }

    #[test]
    fn a_last_day_ends_it_and_nothing_older_returns() {
        let history = [entry(1, "2026-01-01", None, 100), entry(2, "2026-03-01", Some("2026-03-31"), 90)];
        assert_eq!(holds(&history, "2026-03-31"), Some(90));
        assert_eq!(holds(&history, "2026-04-01"), None);
        assert_eq!(standing(&history, &history[1], day("2026-04-01")), PriceStanding::Past);
    }

    #[test]
    fn the_last_word_for_a_day_counts() {
        let history = [entry(1, "2026-01-01", None, 100), entry(2, "2026-01-01", None, 110)];
        assert_eq!(holds(&history, "2026-01-01"), Some(110));
        assert_eq!(standing(&history, &history[0], day("2026-01-02")), PriceStanding::Corrected);
        assert_eq!(standing(&history, &history[1], day("2025-01-02")), PriceStanding::Announced);
        assert_eq!(standing(&history, &history[1], day("2026-01-02")), PriceStanding::Holds);
    }
}
