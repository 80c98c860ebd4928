//! A clash in words: what cannot be done in time, by how much, why, and what would mend it.

use super::super::clashes::{Clash, Why};
use super::super::day::{Round, RunDay};
use super::super::rounds::{Job, Leg, Stop, What};
use super::timeline::{clock, lasts};
use crate::ground::ids::EventId;

/// A clash as the page shows it.
pub(super) struct ClashWords {
    /// What and by how much.
    pub(super) what: String,
    /// Why.
    pub(super) why: String,
    /// What would mend it.
    pub(super) mend: Vec<String>,
    /// The event that a second crew might take.
    pub(super) event: EventId,
    /// Whether another crew would help.
    pub(super) second: bool,
}

/// The clashes of one crew; `spare` is a van that nobody drives.
pub(super) fn clash_words(run: &RunDay, round: &Round, spare: Option<&str>) -> Vec<ClashWords> {
    round.clashes.iter().filter_map(|clash| words(run, round, clash, spare)).collect()
}

fn words(run: &RunDay, round: &Round, clash: &Clash, spare: Option<&str>) -> Option<ClashWords> {
    let stop = round.stops.get(clash.stop)?;
    let job = round.jobs.get(stop.job)?;
    let event = &run.sites.get(job.event)?.event;
    let before = clash.stop.checked_sub(1).and_then(|at| round.stops.get(at));
    let before = before.and_then(|stop| Some((stop, round.jobs.get(stop.job)?)));
    let name = |job: &Job| run.sites.get(job.event).map_or("", |site| site.event.name.as_str());
    let late = lasts(clash.late);
    let what = match (job.what, job.by) {
        (What::SetUp, Some(by)) => {
            format!("{} stands at {}, {late} after {}", event.name, clock(stop.done), clock(by))
        }
        _ => format!("{} is struck from {}, {late} after {}", event.name, clock(stop.begin), clock(job.from)),
    };
    let why =
        before.map_or_else(|| too_long(job, clash), |before| why(clash, (stop, job), before, name(before.1)));
    let second = clash.why != Why::TooLong;
    let mend = mends(clash, (stop, job), before.map(|(_, job)| (job, name(job))), spare);
    Some(ClashWords { what, why, mend, event: event.id, second })
}

fn too_long(job: &Job, clash: &Clash) -> String {
    let window = job.by.map_or(0, |by| by - job.from);
    format!(
        "The work takes {} for {}, and there is {}: {} too little.",
        lasts(job.minutes()),
        people(job.people),
        if window > 0 { lasts(window) } else { "no time".into() },
        lasts(clash.late)
    )
}

fn why(clash: &Clash, (stop, job): (&Stop, &Job), (last, before): (&Stop, &Job), name: &str) -> String {
    let work = if before.what == What::SetUp { "setting up" } else { "striking" };
    match clash.why {
        Why::TooLong => too_long(job, clash),
        Why::TwoPlaces => format!(
            "The crew is needed at two places at once: it is {work} {name} until {}, and must begin here at {} at the latest, {} before.",
            clock(last.done),
            clock(job.latest_begin()),
            lasts(last.done - job.latest_begin())
        ),
        Why::LateForLoad => format!(
            "The van is back from {name} at {}, is loaded until {} and here at {}.",
            clock(last.back.unwrap_or(last.done)),
            clock(stop.leave),
            clock(stop.arrive)
        ),
        Why::Drive => format!(
            "{name} is done at {}, the drive takes {}, so the crew is here at {} and must begin at {} at the latest.",
            clock(last.done),
            lasts(stop.drive),
            clock(stop.arrive),
            clock(job.latest_begin())
        ),
    }
}

fn mends(
    clash: &Clash,
    (stop, job): (&Stop, &Job),
    before: Option<(&Job, &str)>,
    spare: Option<&str>,
) -> Vec<String> {
    let mut mends = Vec::new();
    let late = lasts(clash.late);
    if clash.why == Why::TooLong {
        mends.extend(
            clash.enough.map(|enough| format!("{enough} people instead of {} would do.", job.people)),
        );
        mends.push(format!("Or ask the venue to let you in {late} earlier."));
        return mends;
    }
    if let (Some(enough), Some((before, name))) = (clash.enough, before) {
        mends.push(format!("{enough} people instead of {} at {name} would do.", before.people));
    }
    let van = spare.map_or_else(|| "a van to be hired".to_owned(), |van| format!("the {van}"));
    mends.push(format!("A second crew of {} with {van} takes it.", job.people));
    if stop.leg == (Leg::Between { typed: false }) {
        mends.push("Type the drive between the two venues below, if it is shorter.".into());
    }
    mends.push(match job.what {
        What::SetUp => format!("Or leave the stop before {late} earlier."),
        What::Strike => format!("Or agree with the venue to strike {late} later."),
    });
    mends
}

fn people(people: i64) -> String {
    if people == 1 { "one".into() } else { people.to_string() }
}
