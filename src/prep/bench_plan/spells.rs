//! The shifts of some days cut into spells at every moment at which a window begins or ends, with the room that loading,
//! driving, setting and striking leave for the bench.
//!
//! May import: this room's shifts, this stage's event work, `ground`, `jiff` civil times.

use std::collections::BTreeSet;

use jiff::civil::{DateTime, Time};

use super::shifts::{DayShift, Shifts};
use super::spread::Spell;
use super::tasks::MINUTE;
use crate::ground::dates::Day;
use crate::prep::event_work::times::later;
use crate::prep::event_work::{EventTimes, Worked};

/// Work at a fixed time by the crew of an event.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CrewJob {
    /// Which event, by its place in the weekend.
    pub event: usize,
    /// What: `Load`, `Drive there`, `Set up`, `Drive back`, `Strike`.
    pub what: &'static str,
    /// From when.
    pub from: DateTime,
    /// Until when.
    pub until: DateTime,
    /// Person-minutes.
    pub minutes: i64,
}

/// What crews do at fixed times: load, drive there, set up, drive back; later drive there, strike, drive back. Where there is
/// no time to drive back and there again, they stay.
#[must_use]
pub fn crew_jobs(times: &[EventTimes], worked: &[Worked]) -> Vec<CrewJob> {
    let mut jobs = Vec::new();
    for (event, (times, worked)) in times.iter().zip(worked).enumerate() {
        let set = times.set_ends(worked);
        let (home, out) = (later(set, worked.drive), later(times.strike_from, -worked.drive));
        let driven = worked.drive.saturating_mul(worked.crew);
        let comes_home = times.comes_home(worked);
        let strikes = worked.strike > 0;
        let all = [
            (true, "Load", times.load_from, times.leave, worked.load),
            (true, "Drive there", times.leave, times.on_site, driven),
            (true, "Set up", times.on_site, set, worked.set),
            (comes_home, "Drive back", set, home, driven),
            (comes_home && strikes, "Drive there", out, times.strike_from, driven),
            (strikes, "Strike", times.strike_from, times.off_site, worked.strike),
            (strikes, "Drive back", times.off_site, times.back, driven),
        ];
        let done = all.into_iter().filter(|(done, _, _, _, minutes)| *done && *minutes > 0);
        jobs.extend(done.map(|(_, what, from, until, minutes)| CrewJob {
            event,
            what,
            from,
            until,
            minutes,
        }));
    }
    jobs
}

/// Some days' shifts, cut into spells.
#[derive(Debug, Clone)]
pub struct Spells {
    /// The spells, in order of time.
    pub spells: Vec<Spell>,
    /// When each begins and ends.
    pub hours: Vec<(DateTime, DateTime)>,
    /// The first day.
    pub first: Day,
    /// For each day: its shift, what crews take of it, what they need beyond it, what they do outside it
    /// (thousandths of a person-minute).
    pub days: Vec<DayRoom>,
}

/// The room of one day, in thousandths of a person-minute.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct DayRoom {
    /// People × hours.
    pub shift: i64,
    /// What crews take of it.
    pub crew: i64,
    /// What crews need at the same time beyond it.
    pub crew_over: i64,
    /// What crews do before or after the shift: at night, on a day off.
    pub outside: i64,
}

impl Spells {
    /// Cuts the days from the first to the last of some windows.
    #[must_use]
    pub fn cut(shifts: &Shifts, jobs: &[CrewJob], edges: &BTreeSet<DateTime>) -> Spells {
        let moments = jobs.iter().flat_map(|job| [job.from, job.until]).chain(edges.iter().copied());
        let days: BTreeSet<Day> = moments.map(|moment| Day(moment.date())).collect();
        let (first, last) = match (days.first(), days.last()) {
            (Some(first), Some(last)) => (*first, *last),
            _ => {
                return Spells {
                    spells: Vec::new(),
                    hours: Vec::new(),
                    first: Day(jiff::civil::Date::MIN),
                    days: Vec::new(),
                };
            }
        };
        let mut cut = Spells { spells: Vec::new(), hours: Vec::new(), first, days: Vec::new() };
        for day in 0..=last.days_after(first) {
            cut.add_day(first.plus(day), (shifts, jobs, edges));
        }
        cut
    }

    fn add_day(&mut self, day: Day, (shifts, jobs, edges): (&Shifts, &[CrewJob], &BTreeSet<DateTime>)) {
        let (midnight, night) =
            (day.0.to_datetime(Time::midnight()), day.plus(1).0.to_datetime(Time::midnight()));
        let shift = shifts.day(day);
        let shift = DayShift { until: shift.until.min(night), ..shift };
        let within = edges.range(midnight..night).copied().filter(|edge| *edge > midnight);
        let mut moments: Vec<DateTime> = std::iter::once(midnight).chain(within).collect();
        moments.push(night);
        let mut room = DayRoom { shift: shift.minutes.saturating_mul(MINUTE), ..DayRoom::default() };
        for (from, until) in moments.iter().zip(&moments[1..]) {
            let (from, until) = (*from, *until);
            let whole = part((shift.from, shift.until, room.shift), (from, until));
            let (mut inside, mut outside) = (0_i64, 0_i64);
            for job in jobs {
                let all = (job.from, job.until, job.minutes.saturating_mul(MINUTE));
                let here = part(all, (from, until));
                let own = part(all, (from.max(shift.from), until.min(shift.until)));
                let own = if shift.minutes == 0 { 0 } else { own };
                inside = inside.saturating_add(own);
                outside = outside.saturating_add(here - own);
            }
            room.crew += inside.min(whole);
            room.crew_over += (inside - whole).max(0);
            room.outside = room.outside.saturating_add(outside);
            let day = day.days_after(self.first);
            self.spells.push(Spell { day, room: (whole - inside).max(0) });
            self.hours.push((from, until));
        }
        self.days.push(room);
    }

    /// The spells within a window: the first and the last.
    #[must_use]
    pub fn within(&self, from: DateTime, until: DateTime) -> Option<(usize, usize)> {
        let first = self.hours.partition_point(|(begins, _)| *begins < from);
        let end = self.hours.partition_point(|(_, ends)| *ends <= until);
        (first < end).then(|| (first, end - 1))
    }

    /// The day of a running number.
    #[must_use]
    pub fn day(&self, number: i64) -> Day {
        self.first.plus(number)
    }
}

/// What of some work, spread evenly from a moment to another, falls into a stretch: differences of rounded-down sums, so that
/// stretches add up to the whole. Work without length falls into the stretch in which it is.
fn part((from, until, work): (DateTime, DateTime, i64), (begins, ends): (DateTime, DateTime)) -> i64 {
    if begins >= ends {
        return 0;
    }
    let length = seconds(from, until);
    if length == 0 {
        return if begins <= from && from < ends { work } else { 0 };
    }
    let up_to = |moment: DateTime| {
        let gone = i128::from(seconds(from, moment.clamp(from, until)));
        i64::try_from(i128::from(work) * gone / i128::from(length)).unwrap_or(i64::MAX)
    };
    up_to(ends) - up_to(begins)
}

fn seconds(from: DateTime, until: DateTime) -> i64 {
    until.duration_since(from).as_secs().max(0)
}
