//! What of a day cannot be done in time, why, by how much, and what would mend it.
//!
//! A set-up clashes where it is done after all must stand, a strike where it begins after its hour. If the crew came in time,
//! the work itself is too long. Else the job before is why: the crew is needed at both places at once where its work alone
//! runs past the latest moment at which this one may begin; else the van is back too late for another load; else the drive
//! between them is too long.
//!
//! *Law:* there is a clash for each late job and for no other.
//!
//! May import: this room's rounds.

use super::rounds::{Job, Stop, What};

/// Why a job is late.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Its own work takes longer than there is.
    TooLong,
    /// The crew is still at work elsewhere when it must begin.
    TwoPlaces,
    /// The van is back too late for this load.
    LateForLoad,
    /// The drive from the stop before takes too long.
    Drive,
}

/// A job that is not done in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Clash {
    /// At which stop, by its place.
    pub stop: usize,
    /// By how many minutes.
    pub late: i64,
    /// Why.
    pub why: Why,
    /// How many people would be enough: here where the work is too long, at the stop before where the drive is. None where
    /// no number would be.
    pub enough: Option<i64>,
}

/// The clashes of one crew's day, in order.
///
/// ```
/// use trug::pull_list::run_sheet::clashes::{Why, clashes};
/// use trug::pull_list::run_sheet::rounds::{Between, Job, What, round};
/// // Five hours of work for one from 9:00, while guests come at 12:00: two people would do.
/// let job = Job { event: 0, what: What::SetUp, trip: 0, load: 0, from: 540, by: Some(720), work: 300, people: 1, drive: 30 };
/// let found = clashes(&[job], &round(&[job], &Between::new()));
/// assert_eq!((found[0].why, found[0].late, found[0].enough), (Why::TooLong, 120, Some(2)));
/// ```
#[must_use]
pub fn clashes(jobs: &[Job], stops: &[Stop]) -> Vec<Clash> {
    let mut found = Vec::new();
    for (at, stop) in stops.iter().enumerate() {
        let Some(job) = jobs.get(stop.job) else { continue };
        let late = job.late(stop);
        if late == 0 {
            continue;
        }
        let before = at.checked_sub(1).and_then(|at| stops.get(at));
        let before = before.and_then(|before| Some((jobs.get(before.job)?, before)));
        let clash = match before.filter(|_| stop.arrive > job.from) {
            None => Clash { stop: at, late, why: Why::TooLong, enough: people_for(job, window(job)) },
            Some((own, before)) => {
                let why = after(job, stop, before);
                let enough = if why == Why::Drive { people_for(own, own.minutes() - late) } else { None };
                Clash { stop: at, late, why, enough }
            }
        };
        found.push(clash);
    }
    found
}

fn after(job: &Job, stop: &Stop, before: &Stop) -> Why {
    if before.done > job.latest_begin() {
        return Why::TwoPlaces;
    }
    if job.what == What::SetUp && stop.load_from.is_some() { Why::LateForLoad } else { Why::Drive }
}

fn window(job: &Job) -> i64 {
    job.by.map_or(0, |by| by - job.from)
}

/// How many people do a job in so many minutes.
fn people_for(job: &Job, minutes: i64) -> Option<i64> {
    (minutes > 0)
        .then(|| job.work.saturating_add(minutes - 1) / minutes)
        .filter(|people| *people > job.people)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::rounds::{Between, round};
    use super::*;

    fn job(event: usize, what: What, (from, by): (i64, Option<i64>), trip: usize) -> Job {
        Job { event, what, trip, load: 20, from, by, work: 120, people: 2, drive: 30 }
    }

    fn found(jobs: &[Job]) -> Vec<Clash> {
        clashes(jobs, &round(jobs, &Between::new()))
    }

    #[test]
    fn each_cause_has_its_name() {
        let first = job(0, What::SetUp, (540, Some(720)), 0);
        // Free at 10:00, there at 11:00, done at 12:00.
        let tight = job(1, What::SetUp, (600, Some(710)), 0);
        assert_eq!(found(&[first, tight]), [Clash { stop: 1, late: 10, why: Why::Drive, enough: Some(3) }]);
        // Another load: back at 10:30, away at 10:50, there at 11:20, done at 12:20.
        let other_load = Job { trip: 1, ..tight };
        let late = Clash { stop: 1, late: 30, why: Why::LateForLoad, enough: None };
        assert_eq!(found(&[first, other_load]), [late]);
        let at_once = job(1, What::SetUp, (540, Some(610)), 0);
        assert_eq!(found(&[first, at_once])[0].why, Why::TwoPlaces);
        let strikes = [job(0, What::Strike, (1_400, None), 0), job(1, What::Strike, (1_410, None), 0)];
        // Free at 24:20, fifty minutes after the other should have begun, and an hour's drive.
        let clash = Clash { stop: 1, late: 110, why: Why::TwoPlaces, enough: None };
        assert_eq!(found(&strikes), [clash]);
        assert!(found(&[first]).is_empty() && found(&[]).is_empty());
    }

    #[test]
    fn no_number_of_people_mends_what_has_no_time() {
        let after_guests = job(0, What::SetUp, (720, Some(700)), 0);
        assert_eq!(found(&[after_guests])[0].enough, None);
    }

    proptest! {
        #[test]
        fn every_late_job_is_named_and_no_other(
            times in prop::collection::vec((0_i64..1_400, 0_i64..400, 0_i64..900, 1_i64..5, 0_i64..90), 1..7),
        ) {
            let jobs: Vec<Job> = times.iter().enumerate().map(|(event, (from, lasts, work, people, drive))| Job {
                work: *work, people: *people, drive: *drive, ..job(event, What::SetUp, (*from, Some(from + lasts)), event % 3)
            }).collect();
            let stops = round(&jobs, &Between::new());
            let found = clashes(&jobs, &stops);
            let late: Vec<usize> = (0..jobs.len()).filter(|at| jobs[*at].late(&stops[*at]) > 0).collect();
            prop_assert_eq!(found.iter().map(|clash| clash.stop).collect::<Vec<_>>(), late);
            // As many people as are named are enough.
            for clash in found.iter().filter(|clash| clash.why == Why::TooLong) {
                let Some(enough) = clash.enough else { continue };
                let alone = [Job { people: enough, ..jobs[clash.stop] }];
                prop_assert!(clashes(&alone, &round(&alone, &Between::new())).is_empty());
            }
        }
    }
}
