//! Civil days, times of day and moments, kept as ISO text in the book.

use std::fmt;
use std::str::FromStr;

use jiff::civil::{Date, Time, Weekday};
use jiff::{Timestamp, ToSpan};
use serde::{Deserialize, Serialize};
use sqlx::encode::IsNull;
use sqlx::error::BoxDynError;
use sqlx::sqlite::{Sqlite, SqliteArgumentsBuffer, SqliteTypeInfo, SqliteValueRef};
use sqlx::{Decode, Encode, Type};

/// A civil day, without a time zone: the day of an event, of a delivery, of a price.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Day(pub Date);

impl Day {
    /// The day so many days later (earlier where negative); the calendar's end stays the calendar's end.
    #[must_use]
    pub fn plus(self, days: i64) -> Day {
        let days = days.clamp(-1_000_000, 1_000_000);
        let end = if days < 0 { Date::MIN } else { Date::MAX };
        Day(self.0.checked_add(days.days()).unwrap_or(end))
    }

    /// How many days after the other day this one is.
    #[must_use]
    pub fn days_after(self, other: Day) -> i64 {
        other.0.until(self.0).map_or(0, |span| i64::from(span.get_days()))
    }

    /// 0 for Monday to 6 for Sunday, the bit numbers of a weekday set.
    #[must_use]
    pub fn weekday_index(self) -> u8 {
        u8::try_from(self.0.weekday().to_monday_zero_offset()).unwrap_or(0)
    }

    /// The Monday of its week.
    #[must_use]
    pub fn monday(self) -> Day {
        self.plus(-i64::from(self.weekday_index()))
    }

    /// 0 for January to 11 for December, the bit numbers of a season.
    #[must_use]
    pub fn month_index(self) -> u8 {
        u8::try_from(self.0.month() - 1).unwrap_or(0)
    }

    /// The English name of its weekday, three letters.
    #[must_use]
    pub fn weekday_short(self) -> &'static str {
        WEEKDAYS_SHORT[usize::from(self.weekday_index())]
    }

    /// The English name of its weekday.
    #[must_use]
    pub fn weekday_name(self) -> &'static str {
        match self.0.weekday() {
            Weekday::Monday => "Monday",
            Weekday::Tuesday => "Tuesday",
            Weekday::Wednesday => "Wednesday",
            Weekday::Thursday => "Thursday",
            Weekday::Friday => "Friday",
            Weekday::Saturday => "Saturday",
            Weekday::Sunday => "Sunday",
        }
    }
}

/// A set of weekdays: bit 0 is Monday, bit 6 Sunday.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize, sqlx::Type)]
#[sqlx(transparent)]
#[serde(transparent)]
pub struct Weekdays(pub i64);

impl Weekdays {
    /// Whether the day's weekday is in the set.
    #[must_use]
    pub fn has(self, day: Day) -> bool {
        self.has_index(day.weekday_index())
    }

    /// Whether the weekday with this number (0 is Monday) is in the set.
    #[must_use]
    pub const fn has_index(self, index: u8) -> bool {
        (self.0 >> index) & 1 == 1
    }
}

/// A set of months: bit 0 is January, bit 11 December.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, sqlx::Type)]
#[sqlx(transparent)]
#[serde(transparent)]
pub struct Season(pub i64);

impl Season {
    /// The whole year.
    pub const ALL_YEAR: Season = Season(0xfff);

    /// Whether the day's month is in the set.
    #[must_use]
    pub fn has(self, day: Day) -> bool {
        self.has_index(day.month_index())
    }

    /// Whether the month with this number (0 is January) is in the set.
    #[must_use]
    pub const fn has_index(self, index: u8) -> bool {
        (self.0 >> index) & 1 == 1
    }
}

/// Three-letter names of the weekdays, Monday first.
pub const WEEKDAYS_SHORT: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
/// Three-letter names of the months.
pub const MONTHS_SHORT: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// A time of day in hours and minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct TimeOfDay(pub Time);

impl TimeOfDay {
    /// Minutes since midnight.
    #[must_use]
    pub fn minutes(self) -> i64 {
        i64::from(self.0.hour()) * 60 + i64::from(self.0.minute())
    }
}

/// A moment in UTC: when something was recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Moment(pub Timestamp);

impl fmt::Display for Day {
    /// ISO 8601: `2026-05-14`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Display for TimeOfDay {
    /// `09:30`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}:{:02}", self.0.hour(), self.0.minute())
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for Day {
    type Err = jiff::Error;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.trim().parse().map(Day)
    }
}

impl FromStr for TimeOfDay {
    type Err = jiff::Error;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Time::strptime("%H:%M", text.trim()).map(TimeOfDay)
    }
}

impl FromStr for Moment {
    type Err = jiff::Error;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.trim().parse().map(Moment)
    }
}

macro_rules! stored_as_text {
    ($($name:ident)*) => {$(
        impl Type<Sqlite> for $name {
            fn type_info() -> SqliteTypeInfo {
                <String as Type<Sqlite>>::type_info()
            }
            fn compatible(info: &SqliteTypeInfo) -> bool {
                <String as Type<Sqlite>>::compatible(info)
            }
        }

        impl<'r> Decode<'r, Sqlite> for $name {
            fn decode(value: SqliteValueRef<'r>) -> Result<Self, BoxDynError> {
                Ok(<&str as Decode<Sqlite>>::decode(value)?.parse()?)
            }
        }

        impl Encode<'_, Sqlite> for $name {
            fn encode_by_ref(&self, buffer: &mut SqliteArgumentsBuffer) -> Result<IsNull, BoxDynError> {
                <String as Encode<Sqlite>>::encode(self.to_string(), buffer)
            }
        }
    )*};
}

stored_as_text! { Day TimeOfDay Moment }

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    #[test]
    fn days_count_over_month_ends() {
        assert_eq!(day("2026-02-28").plus(1), day("2026-03-01"));
        assert_eq!(day("2026-03-01").days_after(day("2026-02-26")), 3);
        assert_eq!(day("2027-01-01").days_after(day("2026-01-01")), 365);
    }

    #[test]
    fn the_week_begins_on_monday() {
        assert_eq!(day("2026-05-17").weekday_name(), "Sunday");
        assert_eq!(day("2026-05-17").monday(), day("2026-05-11"));
        assert_eq!(day("2026-05-11").monday(), day("2026-05-11"));
    }

    #[test]
    fn times_are_hours_and_minutes() {
        assert_eq!("9:05".parse::<TimeOfDay>().unwrap().to_string(), "09:05");
        assert!("25:00".parse::<TimeOfDay>().is_err());
    }
}
