//! One crew's day with one van: in which order it sets up and strikes, and when it leaves, arrives and is done.
//!
//! Forward from the first job: leave = from − drive, or as soon as the van is loaded; begin = the later of arriving and of
//! when the venue lets the crew in; done = begin + work ÷ people, rounded up. Between two jobs the crew goes home where there
//! is time for it, must go home for another load, and else drives straight on. Between two venues it drives as long as was
//! typed, at most as long as by way of the studio; where nothing was typed, by way of the studio, which is never too short
//! (the triangle's inequality).
//!
//! Minutes from the midnight with which the day begins; whole ones.
//!
//! *Laws:* the crew is never at two places at once; no job begins before it may; more work never makes a later job earlier.
//!
//! May import: nothing but the standard library.

use std::collections::BTreeMap;

/// Setting up or taking down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// What was loaded is set up.
    SetUp,
    /// It is taken down.
    Strike,
}

/// Work of the crew at one event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Job {
    /// At which event, by its place in the day.
    pub event: usize,
    /// What is done.
    pub what: What,
    /// Which load of the van it is set up from; of no account for a strike.
    pub trip: usize,
    /// Minutes by the clock of loading its part.
    pub load: i64,
    /// From when it may begin.
    pub from: i64,
    /// By when it must be done; none where it only must begin in time.
    pub by: Option<i64>,
    /// Person-minutes.
    pub work: i64,
    /// How many people.
    pub people: i64,
    /// Minutes of driving from the studio, one way.
    pub drive: i64,
}

/// From where the crew comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leg {
    /// From the studio.
    Studio,
    /// Straight from the stop before; whether the drive was typed, or is by way of the studio.
    Between {
        /// Whether it was typed.
        typed: bool,
    },
    /// It stayed.
    Stay,
}

/// When the crew is where for a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stop {
    /// Which job, by its place.
    pub job: usize,
    /// When loading begins; none where nothing is loaded for it.
    pub load_from: Option<i64>,
    /// When it leaves where it was.
    pub leave: i64,
    /// From where.
    pub leg: Leg,
    /// Minutes of driving.
    pub drive: i64,
    /// When it arrives.
    pub arrive: i64,
    /// When work begins.
    pub begin: i64,
    /// When it is done.
    pub done: i64,
    /// When it is back at the studio, if it goes there next.
    pub back: Option<i64>,
}

/// Minutes of driving between two events, by their places in the day, where that was typed.
pub type Between = BTreeMap<(usize, usize), i64>;

impl Job {
    /// Minutes by the clock: work ÷ people, rounded up.
    #[must_use]
    pub fn minutes(&self) -> i64 {
        let people = self.people.max(1);
        self.work.max(0).saturating_add(people - 1) / people
    }

    /// The latest moment at which it may begin so that it is in time.
    #[must_use]
    pub fn latest_begin(&self) -> i64 {
        self.by.map_or(self.from, |by| by - self.minutes())
    }

    /// By how many minutes a job done so is late.
    #[must_use]
    pub fn late(&self, stop: &Stop) -> i64 {
        let late = self.by.map_or(stop.begin - self.from, |by| stop.done - by);
        late.max(0)
    }
}

/// The order of a day's jobs: set-ups stay in theirs, strikes in the order of their hours between them.
#[must_use]
pub fn in_order(set_ups: Vec<Job>, mut strikes: Vec<Job>) -> Vec<Job> {
    strikes.sort_by_key(|job| (job.from, job.event));
    let mut set_ups = set_ups.into_iter().peekable();
    let mut strikes = strikes.into_iter().peekable();
    let mut jobs = Vec::new();
    loop {
        let strike_first = match (set_ups.peek(), strikes.peek()) {
            (Some(set_up), Some(strike)) => strike.from < set_up.from,
            (set_up, _) => set_up.is_none(),
        };
        match if strike_first { strikes.next() } else { set_ups.next() } {
            Some(job) => jobs.push(job),
            None => return jobs,
        }
    }
}

/// Which set-ups share a load of the van, by place: one has a load of its own where there is time to go home and fetch it, so
/// that its flowers wait in the cooler and not in the van.
#[must_use]
pub fn outings(set_ups: &[Job], between: &Between) -> Vec<Vec<usize>> {
    let mut outings: Vec<Vec<usize>> = Vec::new();
    let mut before: Option<(Job, i64)> = None;
    for (at, job) in set_ups.iter().enumerate() {
        let fetched = before.is_none_or(|(last, free)| free + last.drive + job.load + job.drive <= job.from);
        let arrives = before.map_or(job.from, |(last, free)| free + drive_between(&last, job, between).0);
        match outings.last_mut().filter(|_| !fetched) {
            Some(outing) => outing.push(at),
            None => outings.push(vec![at]),
        }
        before = Some((*job, arrives.max(job.from) + job.minutes()));
    }
    outings
}

/// The stops of one crew, in the order of its jobs.
///
/// ```
/// use trug::pull_list::run_sheet::rounds::{Between, Job, What, round};
/// let set_up = |event, trip, from, by, drive| Job {
///     event, what: What::SetUp, trip, load: 30, from, by: Some(by), work: 240, people: 2, drive,
/// };
/// // From 9:00 by 14:00, half an hour away; from 11:00 by 13:00, ten minutes away, with the same load.
/// let jobs = [set_up(0, 0, 540, 840, 30), set_up(1, 0, 660, 780, 10)];
/// let stops = round(&jobs, &Between::new());
/// assert_eq!((stops[0].load_from, stops[0].leave, stops[0].done), (Some(450), 510, 660));
/// // By way of the studio it is 40 minutes: there at 11:40, done at 13:40, 40 minutes late.
/// assert_eq!((stops[1].arrive, stops[1].done, jobs[1].late(&stops[1])), (700, 820, 40));
/// // Typed as a quarter of an hour, only 15.
/// let stops = round(&jobs, &Between::from([((0, 1), 15)]));
/// assert_eq!(jobs[1].late(&stops[1]), 15);
/// ```
#[must_use]
pub fn round(jobs: &[Job], between: &Between) -> Vec<Stop> {
    let mut stops: Vec<Stop> = Vec::new();
    let mut aboard = None;
    for (at, job) in jobs.iter().enumerate() {
        let load = job.what == What::SetUp && aboard != Some(job.trip);
        let next = match stops.last_mut() {
            None => from_studio(jobs, at, (i64::MIN / 2, load)),
            Some(last) => after(jobs, at, (last, load), between),
        };
        if load {
            aboard = Some(job.trip);
        }
        stops.push(next);
    }
    if let Some(last) = stops.last_mut() {
        last.back = jobs.get(last.job).map(|job| last.done + job.drive);
    }
    stops
}

fn after(jobs: &[Job], at: usize, (last, load): (&mut Stop, bool), between: &Between) -> Stop {
    let (job, before) = (&jobs[at], &jobs[last.job]);
    let home = last.done + before.drive;
    let time_for_it = job.what == What::Strike && home + job.drive <= job.from;
    if load || time_for_it {
        last.back = Some(home);
        return from_studio(jobs, at, (home, load));
    }
    if before.event == job.event {
        return at_work(job, at, Stop { leave: last.done, leg: Leg::Stay, ..nowhere(at) });
    }
    let (drive, typed) = drive_between(before, job, between);
    let leave = last.done.max(job.from - drive);
    at_work(job, at, Stop { leave, drive, leg: Leg::Between { typed }, ..nowhere(at) })
}

fn from_studio(jobs: &[Job], at: usize, (ready, load): (i64, bool)) -> Stop {
    let job = &jobs[at];
    let shares = jobs.iter().filter(|own| own.what == What::SetUp && own.trip == job.trip);
    let loading = if load { shares.map(|own| own.load.max(0)).sum() } else { 0 };
    let leave = (ready + loading).max(job.from - job.drive);
    let load_from = load.then_some(leave - loading);
    at_work(job, at, Stop { leave, load_from, drive: job.drive, ..nowhere(at) })
}

fn nowhere(job: usize) -> Stop {
    Stop {
        job,
        load_from: None,
        leave: 0,
        leg: Leg::Studio,
        drive: 0,
        arrive: 0,
        begin: 0,
        done: 0,
        back: None,
    }
}

fn at_work(job: &Job, at: usize, stop: Stop) -> Stop {
    let arrive = stop.leave + stop.drive;
    let begin = arrive.max(job.from);
    Stop { job: at, arrive, begin, done: begin + job.minutes(), ..stop }
}

fn drive_between(from: &Job, to: &Job, between: &Between) -> (i64, bool) {
    let by_studio = from.drive + to.drive;
    match between.get(&(from.event, to.event)) {
        Some(typed) => ((*typed).min(by_studio), true),
        None => (by_studio, false),
    }
}

#[cfg(test)]
mod tests;
