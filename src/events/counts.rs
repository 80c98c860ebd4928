//! Counts by rule (C1): per table, per guest, tables from guests and seats; each with its working in words.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::CountRule;
use crate::ground::quantity::Quantity;

/// ceil(guests ÷ seats).
///
/// ```
/// use trug::events::counts::tables;
/// assert_eq!(tables(90, 8), Some(12));
/// assert_eq!(tables(96, 8), Some(12));
/// assert_eq!(tables(90, 0), None);
/// ```
#[must_use]
pub fn tables(guests: i64, seats: i64) -> Option<i64> {
    (guests > 0 && seats > 0).then(|| guests / seats + i64::from(guests % seats > 0))
}

/// How many whole pieces a rule makes, rounded up; none where what it counts by is not known.
#[must_use]
pub fn pieces(rule: CountRule, count: Quantity, tables: Option<i64>, guests: Option<i64>) -> Option<i64> {
    let by = match rule {
        CountRule::Number => 1,
        CountRule::PerTable => tables?,
        CountRule::PerGuest => guests?,
    };
    count.decimal().checked_mul(Decimal::from(by))?.ceil().to_i64()
}

/// What counts go by: guests, seats a table, and tables where they are said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Party {
    /// How many guests.
    pub guests: Option<i64>,
    /// How many tables, if said.
    pub tables: Option<i64>,
    /// How many seats a table.
    pub seats: Option<i64>,
}

/// How many of a piece are made, with the sum behind it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// Whole pieces; none while the count is open.
    pub count: Option<i64>,
    /// The sum in words, or what is still to be said.
    pub words: String,
}

impl Party {
    /// How many tables: as said, or ceil(guests ÷ seats).
    #[must_use]
    pub fn table_count(&self) -> Option<i64> {
        self.tables.or_else(|| tables(self.guests?, self.seats?))
    }

    /// How the number of tables comes about.
    #[must_use]
    pub fn table_words(&self) -> Option<String> {
        let count = self.table_count()?;
        Some(match (self.tables, self.guests, self.seats) {
            (None, Some(guests), Some(seats)) => {
                let rounded = if guests % seats == 0 { "" } else { ", rounded up" };
                format!("{} = {guests} guests ÷ {seats} seats{rounded}", named(count, "table"))
            }
            _ => named(count, "table"),
        })
    }

    /// How many of a piece are made, with the sum behind it.
    ///
    /// ```
    /// use trug::events::{CountRule, counts::Party};
    /// use trug::ground::quantity::Quantity;
    /// let party = Party { guests: Some(90), tables: None, seats: Some(8) };
    /// let made = party.made(CountRule::PerTable, Quantity::whole(2));
    /// assert_eq!(made.count, Some(24));
    /// assert_eq!(made.words, "2 a table × 12 tables (12 tables = 90 guests ÷ 8 seats, rounded up)");
    /// ```
    #[must_use]
    pub fn made(&self, rule: CountRule, count: Quantity) -> Made {
        let number = pieces(rule, count, self.table_count(), self.guests);
        let typed = count.decimal().normalize();
        let words = match (rule, self.table_words(), self.guests) {
            (CountRule::Number, ..) => format!("{typed} in all"),
            (CountRule::PerTable, Some(sum), _) => {
                let by = named(self.table_count().unwrap_or_default(), "table");
                let sum = if self.tables.is_some() { String::new() } else { format!(" ({sum})") };
                format!("{typed} a table × {by}{sum}")
            }
            (CountRule::PerGuest, _, Some(guests)) => {
                format!("{typed} a guest × {}", named(guests, "guest"))
            }
            (CountRule::PerTable, None, _) => {
                "Open: say how many tables, or how many guests and seats.".into()
            }
            (CountRule::PerGuest, _, None) => "Open: say how many guests.".into(),
        };
        let rounded = number.is_some() && !typed.is_integer();
        Made { count: number, words: if rounded { words + ", rounded up" } else { words } }
    }
}

fn named(count: i64, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn counts_follow_their_rule() {
        let half = Quantity::from_raw(500);
        assert_eq!(pieces(CountRule::Number, Quantity::whole(14), None, None), Some(14));
        assert_eq!(pieces(CountRule::PerTable, Quantity::whole(2), Some(12), None), Some(24));
        assert_eq!(pieces(CountRule::PerGuest, half, None, Some(91)), Some(46));
        assert_eq!(pieces(CountRule::PerGuest, half, Some(3), None), None);
    }

    #[test]
    fn the_working_stands_beside_the_count() {
        let party = Party { guests: Some(91), tables: Some(10), seats: Some(8) };
        let half = party.made(CountRule::PerGuest, Quantity::from_raw(500));
        assert_eq!(half, Made { count: Some(46), words: "0.5 a guest × 91 guests, rounded up".into() });
        let one = party.made(CountRule::PerTable, Quantity::whole(1));
        assert_eq!(one, Made { count: Some(10), words: "1 a table × 10 tables".into() });
    }

    #[test]
    fn an_open_count_says_what_is_missing() {
        let open = Party::default().made(CountRule::PerGuest, Quantity::whole(1));
        assert_eq!(open, Made { count: None, words: "Open: say how many guests.".into() });
        let seats = Party { seats: Some(8), ..Party::default() };
        assert!(seats.made(CountRule::PerTable, Quantity::whole(1)).words.contains("how many tables"));
    }

    #[test]
    fn giants_make_no_number_rather_than_a_wrong_one() {
        let most = Quantity::from_raw(i64::MAX);
        assert_eq!(pieces(CountRule::PerGuest, most, None, Some(i64::MAX)), None);
        assert_eq!(tables(i64::MAX, 2), Some(i64::MAX / 2 + 1));
    }

    proptest! {
        /// Every guest has a seat, and one table fewer would not do.
        #[test]
        fn tables_seat_everyone_and_no_table_is_idle(guests in 1_i64..1_000_000, seats in 1_i64..1_000) {
            let tables = tables(guests, seats).unwrap();
            prop_assert!(tables * seats >= guests);
            prop_assert!((tables - 1) * seats < guests);
        }

        /// Rounded up once: at least the exact count, less than one more.
        #[test]
        fn pieces_are_the_next_whole_number(raw in 1_i64..100_000_000, by in 1_i64..100_000) {
            let count = Quantity::from_raw(raw);
            let made = pieces(CountRule::PerTable, count, Some(by), None).unwrap();
            prop_assert!(made * 1000 >= raw * by);
            prop_assert!((made - 1) * 1000 < raw * by);
        }

        /// More tables or guests never make fewer pieces.
        #[test]
        fn counts_grow_with_the_party(raw in 1_i64..100_000, by in 1_i64..10_000, more in 0_i64..1_000) {
            let count = Quantity::from_raw(raw);
            let few = pieces(CountRule::PerGuest, count, None, Some(by));
            let many = pieces(CountRule::PerGuest, count, None, Some(by + more));
            prop_assert!(many >= few);
        }
    }
}
