//! Well-known feast days of the flower trade and public holidays that follow a rule, to be ticked for the coming year.
//! Which of them close whose door the studio decides: what is proposed is common practice, no published source.
//!
//! Easter Sunday by the Gregorian computus (the anonymous rule that Meeus, *Astronomical Algorithms*, gives), valid in
//! every year of the Gregorian calendar. All others hang on it, on a date or on the n-th weekday of a month.
//!
//! May import `ground`.

use super::DayKind;
use crate::ground::dates::Day;

/// A day of a coming year that can be ticked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Proposed {
    /// What it is called.
    pub name: &'static str,
    /// When it is.
    pub day: Day,
    /// What it usually means for orders.
    pub kind: DayKind,
}

/// How a year's day is found.
#[derive(Debug, Clone, Copy)]
enum Rule {
    /// So many days after Easter Sunday (before it where negative).
    Easter(i64),
    /// On a day of a month.
    Date(i8, i8),
    /// On the n-th weekday (0 is Monday) of a month.
    Nth(i8, i64, i64),
}

const KNOWN: [(&str, Rule, DayKind); 13] = [
    ("New Year's Day", Rule::Date(1, 1), DayKind::Closed),
    ("Valentine's Day", Rule::Date(2, 14), DayKind::Feast),
    ("Women's Day", Rule::Date(3, 8), DayKind::Feast),
    ("Mothering Sunday", Rule::Easter(-21), DayKind::Feast),
    ("Good Friday", Rule::Easter(-2), DayKind::Closed),
    ("Easter Sunday", Rule::Easter(0), DayKind::ClosedFeast),
    ("Easter Monday", Rule::Easter(1), DayKind::Closed),
    ("Mother's Day", Rule::Nth(5, 6, 2), DayKind::Feast),
    ("Ascension Day", Rule::Easter(39), DayKind::Closed),
    ("Whit Monday", Rule::Easter(50), DayKind::Closed),
    ("Thanksgiving", Rule::Nth(11, 3, 4), DayKind::ClosedFeast),
    ("Christmas Day", Rule::Date(12, 25), DayKind::ClosedFeast),
    ("Boxing Day", Rule::Date(12, 26), DayKind::Closed),
];

/// The well-known days of the year that begins on a day, by day.
#[must_use]
pub fn proposed(from: Day) -> Vec<Proposed> {
    let mut days: Vec<Proposed> = [from.0.year(), from.0.year().saturating_add(1)]
        .into_iter()
        .flat_map(|year| KNOWN.map(|(name, rule, kind)| Proposed { name, day: on(year, rule), kind }))
        .filter(|proposed| from <= proposed.day && proposed.day < from.plus(365))
        .collect();
    days.sort_by_key(|proposed| (proposed.day, proposed.name));
    days
}

fn on(year: i16, rule: Rule) -> Day {
    match rule {
        Rule::Easter(after) => easter_sunday(year).plus(after),
        Rule::Date(month, day) => first_of(year, month).plus(i64::from(day) - 1),
        Rule::Nth(month, weekday, nth) => nth_weekday(year, month, weekday, nth),
    }
}

/// Easter Sunday in the Gregorian calendar.
///
/// From the year's place in the cycle of 19 years and its century follows the epact: so many days after 21 March the
/// paschal moon is full. Easter is the Sunday after it, in rare years a week earlier. Whole numbers: no rounding.
///
/// ```
/// use trug::stem_order::closed_days::feasts::easter_sunday;
/// assert_eq!(easter_sunday(2026).to_string(), "2026-04-05");
/// assert_eq!(easter_sunday(1818).to_string(), "1818-03-22"); // the earliest there can be
/// assert_eq!(easter_sunday(1943).to_string(), "1943-04-25"); // the latest
/// ```
#[must_use]
pub fn easter_sunday(year: i16) -> Day {
    let year_number = i64::from(year);
    let (in_cycle, century, in_century) = (year_number % 19, year_number / 100, year_number % 100);
    let moon_shift = (8 * century + 13) / 25;
    let epact = (19 * in_cycle + century - century / 4 - moon_shift + 15) % 30;
    let to_sunday = (32 + 2 * (century % 4) + 2 * (in_century / 4) - epact - in_century % 4) % 7;
    let week_back = (in_cycle + 11 * epact + 19 * to_sunday) / 433;
    // 22 March is the earliest.
    first_of(year, 3).plus(21 + epact + to_sunday - 7 * week_back)
}

/// The n-th weekday of a month, weekdays from Monday = 0.
fn nth_weekday(year: i16, month: i8, weekday: i64, nth: i64) -> Day {
    let first = first_of(year, month);
    let to_weekday = (weekday - i64::from(first.weekday_index())).rem_euclid(7);
    first.plus(to_weekday + 7 * (nth - 1))
}

fn first_of(year: i16, month: i8) -> Day {
    Day(jiff::civil::Date::new(year, month, 1).unwrap_or(jiff::civil::Date::MAX))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_year_ahead_holds_each_well_known_day_once() {
        let days = proposed("2026-05-04".parse().unwrap());
        assert_eq!(days.len(), KNOWN.len());
        assert_eq!((days[0].name, days[0].day.to_string()), ("Mother's Day", "2026-05-10".to_owned()));
        let named = |name| days.iter().find(|day| day.name == name).unwrap().day.to_string();
        assert_eq!(
            (named("Ascension Day"), named("Easter Sunday")),
            ("2026-05-14".into(), "2027-03-28".into())
        );
        assert_eq!(
            (named("Christmas Day"), named("Thanksgiving")),
            ("2026-12-25".into(), "2026-11-26".into())
        );
    }

    proptest! {
        /// Easter is a Sunday between 22 March and 25 April; the weekday days fall on their weekday in their week.
        #[test]
        fn movable_days_fall_where_they_must(year in 1583_i16..4000) {
            let easter = easter_sunday(year);
            prop_assert_eq!(easter.weekday_name(), "Sunday");
            let after = easter.days_after(first_of(year, 3));
            prop_assert!((21..=55).contains(&after), "{}", easter);
            let fourth = nth_weekday(year, 11, 3, 4);
            prop_assert_eq!(fourth.weekday_name(), "Thursday");
            prop_assert!((22..=28).contains(&fourth.0.day()));
        }
    }
}
