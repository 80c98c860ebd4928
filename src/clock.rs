//! The one place that asks the machine what time it is. Everything else is told.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::ground::dates::{Day, Moment};

/// Where "now" comes from.
#[derive(Debug, Clone, Copy)]
pub enum Clock {
    /// The machine's clock.
    Machine,
    /// A fixed moment, for tests and samples.
    Fixed(Moment),
}

impl Clock {
    /// The present moment.
    #[must_use]
    #[expect(clippy::disallowed_methods, reason = "this is the clock")]
    pub fn now(self) -> Moment {
        match self {
            Clock::Machine => Moment(Timestamp::now()),
            Clock::Fixed(moment) => moment,
        }
    }

    /// The present day in a time zone.
    #[must_use]
    pub fn today(self, zone: &TimeZone) -> Day {
        Day(self.now().0.to_zoned_datetime(zone.clone()).date())
    }
}
