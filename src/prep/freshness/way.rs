//! The way of a stem from the door to the last guest: stretches that follow each other without a gap.
//!
//! May import: the room's temperatures, prep's event work, `ground`, types of earlier rooms, `jiff` civil times.

use jiff::ToSpan;
use jiff::civil::DateTime;

use super::temperatures::Temperatures;
use crate::events::Event;
use crate::ground::choice::choices;
use crate::ground::dates::Day;
use crate::prep::event_work::EventTimes;
use crate::prep::plan::{BENCH_CLOSES, BENCH_OPENS, IN_WATER_BY};
use crate::price_list::Care;

choices! {
    /// Where flowers stand on their way.
    Place {
        /// Buds open in water, out of the cooler.
        Opening "opening" "Opening, out of the cooler"
        /// Stems in water, cold.
        Cooler "cooler" "Cooler"
        /// While the pieces are made.
        Bench "bench" "Bench"
        /// Pieces until they are loaded.
        Finished "finished" "Finished piece"
        /// On the road.
        Van "van" "Van"
        /// From the door of the venue to the event's end.
        Venue "venue" "Venue"
    }
}

/// The moments of a stem's way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Journey {
    /// It stands in water in the studio.
    pub arrives: DateTime,
    /// It comes to the bench.
    pub made_from: DateTime,
    /// The pieces of that day are finished.
    pub made_by: DateTime,
    /// The van leaves.
    pub leaves: DateTime,
    /// It stands at the venue.
    pub on_site: DateTime,
    /// Guests see it.
    pub seen: DateTime,
    /// The event ends.
    pub ends: DateTime,
}

/// A stretch at one temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leg {
    /// Where.
    pub place: Place,
    /// From when.
    pub from: DateTime,
    /// Until when.
    pub to: DateTime,
    /// How warm, in °C.
    pub celsius: i64,
}

impl Journey {
    /// The way of what arrives on a day and is made up on another, by the clock of its event.
    #[must_use]
    pub fn of(event: &Event, times: &EventTimes, (arrives, made): (Day, Day)) -> Journey {
        let marks = event.hours().marks();
        let end = marks.iter().find(|mark| mark.what == "End").map(|mark| mark.minutes);
        let midnight = event.day.0.at(0, 0, 0, 0);
        let ends = end.and_then(|minutes| midnight.checked_add(minutes.minutes()).ok());
        Journey {
            arrives: arrives.0.to_datetime(IN_WATER_BY.0),
            made_from: made.0.to_datetime(BENCH_OPENS.0),
            made_by: made.0.to_datetime(BENCH_CLOSES.0),
            leaves: times.leave,
            on_site: times.on_site,
            seen: times.set_by,
            ends: ends.unwrap_or(times.strike_from),
        }
        .in_order()
    }

    /// Pulls what is late back before what follows it, and nothing before the arrival: a piece that is made on the event's own
    /// day is finished when the van leaves.
    #[must_use]
    pub fn in_order(self) -> Journey {
        let ends = self.ends.max(self.arrives);
        let on_site = self.on_site.min(ends);
        let leaves = self.leaves.min(on_site);
        let made_by = self.made_by.min(leaves);
        let made_from = self.made_from.min(made_by);
        let at_least = |moment: DateTime| moment.max(self.arrives);
        Journey {
            arrives: self.arrives,
            made_from: at_least(made_from),
            made_by: at_least(made_by),
            leaves: at_least(leaves),
            on_site: at_least(on_site),
            seen: at_least(self.seen.min(ends)),
            ends,
        }
    }

    /// When a bud is open: so many days after it was stood in water; none where there is nothing to open.
    #[must_use]
    pub fn open_from(&self, care: &Care) -> Option<DateTime> {
        let days = care.opening_days.clamp(0, 10_000);
        (days > 0).then(|| self.arrives.checked_add(days.days()).unwrap_or(DateTime::MAX))
    }
}

/// The stretches of a way, in order, without a gap from the arrival to the end; none of no length.
///
/// ```
/// use trug::prep::freshness::temperatures::Temperatures;
/// use trug::prep::freshness::way::{Journey, way};
/// use trug::ground::choice::Choice;
/// use trug::price_list::{Care, CareSource};
/// let care = Care {
///     conditioning_minutes: 0, hydrate_hours: 4, opening_days: 1, holding_days: Some(5), storage_celsius: Some(2),
///     vase_days: Some(7), cut_keeps_hours: None, source: CareSource::Own,
/// };
/// let at = |text: &str| text.parse().unwrap();
/// let journey = Journey {
///     arrives: at("2026-05-13T10:00"), made_from: at("2026-05-15T08:00"), made_by: at("2026-05-15T18:00"),
///     leaves: at("2026-05-16T09:00"), on_site: at("2026-05-16T10:00"), seen: at("2026-05-16T14:00"),
///     ends: at("2026-05-16T23:00"),
/// };
/// let legs = way(&care, &journey, &Temperatures::USUAL);
/// let told: Vec<_> = legs.iter().map(|leg| (leg.place.code(), leg.hours(), leg.celsius)).collect();
/// assert_eq!(told, [
///     ("opening", 24.0, 18), ("cooler", 22.0, 2), ("bench", 10.0, 18), ("finished", 15.0, 18), ("van", 1.0, 16), ("venue", 13.0, 21),
/// ]);
/// ```
#[must_use]
pub fn way(care: &Care, journey: &Journey, temperatures: &Temperatures) -> Vec<Leg> {
    let opens = journey.open_from(care).unwrap_or(journey.arrives).min(journey.made_from);
    let stops = [
        (Place::Opening, opens, temperatures.bench),
        (Place::Cooler, journey.made_from, temperatures.cooler_for(care)),
        (Place::Bench, journey.made_by, temperatures.bench),
        (Place::Finished, journey.leaves, temperatures.finished()),
        (Place::Van, journey.on_site, temperatures.van),
        (Place::Venue, journey.ends, temperatures.venue),
    ];
    let mut from = journey.arrives;
    let mut legs = Vec::new();
    for (place, to, celsius) in stops {
        if from < to {
            legs.push(Leg { place, from, to, celsius });
            from = to;
        }
    }
    legs
}

impl Leg {
    /// How long it takes, in hours.
    #[must_use]
    #[expect(clippy::float_arithmetic, reason = "hours of ageing are measured nature; no money")]
    pub fn hours(&self) -> f64 {
        self.to.duration_since(self.from).as_secs_f64() / 3600.0
    }
}
