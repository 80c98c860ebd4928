//! A crew's day as rows to be ticked: load, leave, set up, hand over, strike, back.

use super::super::day::{Round, RunDay, Site};
use super::super::rounds::{Job, Leg, Stop, What};
use crate::events::hours::clock_words;
use crate::ground::dates::Day;

/// One row.
pub(super) struct Row {
    /// The same each time the sheet is made; empty where nothing is ticked.
    pub(super) key: String,
    /// Minutes from the midnight with which the day begins.
    pub(super) at: i64,
    /// `08:40`.
    pub(super) time: String,
    pub(super) what: String,
    pub(super) how: Vec<String>,
    /// By how much it is too late, in words; empty where it is not.
    pub(super) late: String,
    /// Where more is said: address and words.
    pub(super) link: Option<(String, &'static str)>,
    /// Whose it is, by place; of the load all of its events'.
    events: Vec<usize>,
}

/// The rows of a crew, in order; of one event only those that are its own.
pub(super) fn rows(run: &RunDay, round: &Round, day: Day, only: Option<usize>) -> Vec<Row> {
    let writer = Writer { run, round, day };
    let mut rows: Vec<Row> = round.stops.iter().flat_map(|stop| writer.stop(stop)).collect();
    rows.retain(|row| only.is_none_or(|only| row.events.contains(&only)));
    rows.sort_by_key(|row| row.at);
    rows
}

/// `08:40`; past midnight or before it the clock runs on.
pub(super) fn clock(minutes: i64) -> String {
    clock_words(minutes)
}

/// `2 h 40 min`.
pub(super) fn lasts(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

struct Writer<'a> {
    run: &'a RunDay,
    round: &'a Round,
    day: Day,
}

impl Writer<'_> {
    fn stop(&self, stop: &Stop) -> Vec<Row> {
        let Some(job) = self.round.jobs.get(stop.job) else { return Vec::new() };
        let Some(site) = self.run.sites.get(job.event) else { return Vec::new() };
        let mut rows: Vec<Row> = Vec::new();
        rows.extend(stop.load_from.map(|at| self.load(at, job)));
        rows.extend((stop.leg != Leg::Stay).then(|| self.leave(stop, job, site)));
        match job.what {
            What::SetUp => rows.extend(self.set_up(stop, job, site)),
            What::Strike => rows.extend(self.strike(stop, job, site)),
        }
        rows.extend(stop.back.map(|at| self.back(at, job)));
        rows
    }

    fn row(&self, what: &'static str, at: i64, job: &Job) -> Row {
        let event = self.run.sites.get(job.event).map_or(0, |site| site.event.id.0);
        let part = if job.what == What::SetUp && self.first_trip(job.event) != job.trip {
            format!("-{}", job.trip + 1)
        } else {
            String::new()
        };
        let later = at.div_euclid(24 * 60);
        let on = (later != 0).then(|| format!("On {}", self.day.plus(later).weekday_name()));
        Row {
            key: format!("e{event}-{what}{part}"),
            at,
            time: clock(at),
            what: String::new(),
            how: on.into_iter().collect(),
            late: String::new(),
            link: None,
            events: vec![job.event],
        }
    }

    fn first_trip(&self, event: usize) -> usize {
        let own = self.round.jobs.iter().filter(|job| job.event == event && job.what == What::SetUp);
        own.map(|job| job.trip).min().unwrap_or(0)
    }

    fn name(&self, event: usize) -> &str {
        self.run.sites.get(event).map_or("", |site| site.event.name.as_str())
    }

    fn load(&self, at: i64, job: &Job) -> Row {
        let events = self.round.loads.get(job.trip).cloned().unwrap_or_else(|| vec![job.event]);
        let names: Vec<&str> = events.iter().map(|event| self.name(*event)).collect();
        let van = self.round.van.as_deref().map_or_else(|| "the van".to_owned(), |van| format!("the {van}"));
        let many = self.round.loads.len();
        let number = if many > 1 { format!(", load {} of {many}", job.trip + 1) } else { String::new() };
        let path = match events.as_slice() {
            [one] => self.run.sites.get(*one).map(|site| format!("/events/{}/load", site.event.id)),
            _ => Some(format!("/load/{}", self.day)),
        };
        let mut row = self.row("load", at, job);
        row.what = format!("Load {van}{number}");
        row.how.push(format!("{}. The last one in comes off first.", names.join(", then ")));
        row.link = path.map(|path| (path, "Load sheet"));
        Row { events, ..row }
    }

    fn leave(&self, stop: &Stop, job: &Job, site: &Site) -> Row {
        let word = if job.what == What::SetUp { "leave" } else { "fetch" };
        let mut row = self.row(word, stop.leave, job);
        let venue = if site.event.venue.is_empty() { &site.event.name } else { &site.event.venue };
        row.what = format!("Leave for {venue}");
        let drive = lasts(stop.drive);
        row.how.push(match stop.leg {
            Leg::Between { typed: false } => {
                format!("{drive} by way of the studio at most: the drive between the two is not typed")
            }
            Leg::Studio if site.worked.is_assumed("drive") => format!("{drive} drive (assumed)"),
            _ => format!("{drive} drive"),
        });
        row
    }

    fn set_up(&self, stop: &Stop, job: &Job, site: &Site) -> Vec<Row> {
        let mut begin = self.row("set", stop.begin, job);
        let id = site.event.id;
        begin.what = format!("Set up {}", site.event.name);
        let by = job.by.map_or(0, |by| by);
        let assumed = if site.worked.is_assumed("set") { " (assumed)" } else { "" };
        begin.how.push(format!(
            "All must stand by {}. {} person-minutes{assumed}, {}",
            clock(by),
            job.work,
            people(job.people)
        ));
        if stop.arrive > job.from {
            begin.how.push(format!("It may be set up from {}", clock(job.from)));
        }
        let mut done = self.row("hand", stop.done, job);
        done.what = format!("It stands: hand {} over", site.event.name);
        done.late = late(job, stop, "after all must stand");
        done.link = Some((format!("/events/{id}/hand-over"), "Hand over"));
        let mut set_ups = self.round.jobs.iter().filter(|own| own.what == What::SetUp);
        if set_ups.any(|own| own.event == job.event && own.trip > job.trip) {
            (done.what, done.link) = ("This load stands; more is fetched".into(), None);
        }
        vec![begin, done]
    }

    fn strike(&self, stop: &Stop, job: &Job, site: &Site) -> Vec<Row> {
        let mut begin = self.row("strike", stop.begin, job);
        begin.what = format!("Strike {}", site.event.name);
        let assumed = if site.worked.is_assumed("strike") { " (assumed)" } else { "" };
        begin.how.push(format!("{} person-minutes{assumed}, {}", job.work, people(job.people)));
        begin.late = late(job, stop, "after its hour");
        begin.link = Some((format!("/events/{}/strike", site.event.id), "Strike list"));
        let mut done = self.row("off", stop.done, job);
        done.what = format!("Off site: {}", site.event.name);
        vec![begin, done]
    }

    fn back(&self, at: i64, job: &Job) -> Row {
        let word = if job.what == What::SetUp { "home" } else { "back" };
        let mut row = self.row(word, at, job);
        row.what = "Back at the studio".into();
        row
    }
}

fn late(job: &Job, stop: &Stop, after: &str) -> String {
    match job.late(stop) {
        0 => String::new(),
        late => format!("{} {after}", lasts(late)),
    }
}

fn people(people: i64) -> String {
    if people == 1 { "1 person".into() } else { format!("{people} people") }
}
