//! Counts by rule (C1): per table, per guest, tables from guests and seats.

use rust_decimal::Decimal;

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
    (guests > 0 && seats > 0).then(|| (guests + seats - 1) / seats)
}

/// How many whole pieces a rule makes, rounded up; none where what it counts by is not known.
#[must_use]
pub fn pieces(rule: CountRule, count: Quantity, tables: Option<i64>, guests: Option<i64>) -> Option<i64> {
    let by = match rule {
        CountRule::Number => 1,
        CountRule::PerTable => tables?,
        CountRule::PerGuest => guests?,
    };
    i64::try_from((count.decimal() * Decimal::from(by)).ceil()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_follow_their_rule() {
        let half = Quantity::from_raw(500);
        assert_eq!(pieces(CountRule::Number, Quantity::whole(14), None, None), Some(14));
        assert_eq!(pieces(CountRule::PerTable, Quantity::whole(2), Some(12), None), Some(24));
        assert_eq!(pieces(CountRule::PerGuest, half, None, Some(91)), Some(46));
        assert_eq!(pieces(CountRule::PerGuest, half, Some(3), None), None);
    }
}
