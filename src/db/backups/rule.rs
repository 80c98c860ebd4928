//! Which of the daily backups are kept.

use std::collections::BTreeSet;

use crate::ground::dates::Day;

/// So many days, weeks and months keep a backup.
pub const DAYS: usize = 7;
/// See [`DAYS`].
pub const WEEKS: usize = 4;
/// See [`DAYS`].
pub const MONTHS: usize = 12;

/// Of the days that have a backup, those whose backup is kept: the newest of each of the last seven days, the last four
/// weeks (from Monday) and the last twelve months that have one. Days on which Trug did not run are not counted, so a
/// studio that is closed for a winter does not lose its autumn.
///
/// Source: rotation of backups by generations (day, week, month), common practice, no published source.
///
/// ```
/// use trug::db::backups::rule::kept;
/// use trug::ground::dates::Day;
///
/// let may: Vec<Day> = (1..=31).map(|day| format!("2026-05-{day:02}").parse().unwrap()).collect();
/// let kept: Vec<String> = kept(&may).iter().map(Day::to_string).collect();
/// // The last week, the Sundays of the weeks before, and with 31 May the month.
/// assert_eq!(kept.join(" "), "2026-05-10 2026-05-17 2026-05-24 2026-05-25 2026-05-26 2026-05-27 2026-05-28 \
///     2026-05-29 2026-05-30 2026-05-31");
/// ```
#[must_use]
pub fn kept(days: &[Day]) -> BTreeSet<Day> {
    let mut kept = newest_of(days, DAYS, |day| day.0);
    kept.extend(newest_of(days, WEEKS, |day| day.monday().0));
    kept.extend(newest_of(days, MONTHS, |day| day.0.first_of_month()));
    kept
}

/// The newest day of each of the last so many spans that have any.
fn newest_of<S: PartialEq>(days: &[Day], most: usize, span: impl Fn(Day) -> S) -> BTreeSet<Day> {
    let newest_first: BTreeSet<Day> = days.iter().copied().collect();
    let mut kept = BTreeSet::new();
    let mut last = None;
    for day in newest_first.into_iter().rev() {
        let this = Some(span(day));
        if last != this {
            if kept.len() == most {
                break;
            }
            kept.insert(day);
            last = this;
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::{DAYS, MONTHS, WEEKS, kept};
    use crate::ground::dates::Day;

    fn day(offset: i64) -> Day {
        "2024-01-01".parse::<Day>().unwrap().plus(offset)
    }

    proptest! {
        /// Made day by day and thinned out each time, the same backups stay as when the rule is applied once at the
        /// end: nothing that the rule wants was thrown away before.
        #[test]
        fn thinning_out_each_day_loses_nothing(ran in prop::collection::btree_set(0_i64..900, 1..300)) {
            let all: Vec<Day> = ran.iter().map(|offset| day(*offset)).collect();
            let mut left: Vec<Day> = Vec::new();
            for today in &all {
                left.push(*today);
                left = kept(&left).into_iter().collect();
            }
            prop_assert_eq!(&left, &kept(&all).into_iter().collect::<Vec<_>>());
            prop_assert!(left.len() <= DAYS + WEEKS + MONTHS);
            prop_assert_eq!(left.last(), all.last());
            for day in all.iter().rev().take(DAYS) {
                prop_assert!(left.contains(day));
            }
        }
    }
}
