//! The bench's hours: assumptions that turn days into hours, each common practice, no published source.

use jiff::ToSpan;
use jiff::civil::{DateTime, Time, time};

use crate::events::Event;
use crate::ground::dates::{Day, TimeOfDay};

/// What arrives on a day is taken to stand in water by then.
pub const IN_WATER_BY: TimeOfDay = TimeOfDay(time(10, 0, 0, 0));
/// Work at the bench is taken to begin then.
pub const BENCH_OPENS: TimeOfDay = TimeOfDay(time(8, 0, 0, 0));
/// The last piece of a day is taken to be made by then.
pub const BENCH_CLOSES: TimeOfDay = TimeOfDay(time(18, 0, 0, 0));
/// By then an event is set where it says nothing itself.
const SET_BY: Time = time(12, 0, 0, 0);

/// A time on a day.
pub(super) fn at(day: Day, time: TimeOfDay) -> DateTime {
    day.0.to_datetime(time.0)
}

/// So many hours later, or earlier where negative.
pub(crate) fn hours_after(moment: DateTime, hours: i64) -> DateTime {
    moment.checked_add(hours.clamp(-100_000, 100_000).hours()).unwrap_or(moment)
}

/// By when a piece made on a day is finished: by the set-up on the event's own day, else by the end of bench work.
pub(super) fn made_by(event: &Event, make_day: Day) -> DateTime {
    if make_day < event.day {
        return at(make_day, BENCH_CLOSES);
    }
    event.day.0.to_datetime(event.set_up_time.or(event.start_time).map_or(SET_BY, |time| time.0))
}

/// `Fri 14:00`.
#[must_use]
pub fn said(moment: DateTime) -> String {
    format!("{} {}", Day(moment.date()).weekday_short(), TimeOfDay(moment.time()))
}
