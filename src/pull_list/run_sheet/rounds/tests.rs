use proptest::prelude::*;

use super::*;

fn set_up(event: usize, trip: usize, (from, by): (i64, i64), drive: i64) -> Job {
    Job { event, what: What::SetUp, trip, load: 20, from, by: Some(by), work: 120, people: 2, drive }
}

fn strike(event: usize, from: i64, drive: i64) -> Job {
    Job { what: What::Strike, by: None, trip: 0, load: 0, ..set_up(event, 0, (from, 0), drive) }
}

#[test]
fn strikes_stand_between_set_ups_by_their_hours() {
    let jobs = in_order(
        vec![set_up(0, 0, (540, 700), 10), set_up(1, 0, (1_000, 1_100), 10)],
        vec![strike(1, 1_400, 10), strike(0, 900, 10)],
    );
    let order: Vec<(usize, What)> = jobs.iter().map(|job| (job.event, job.what)).collect();
    assert_eq!(order, [(0, What::SetUp), (0, What::Strike), (1, What::SetUp), (1, What::Strike)]);
}

#[test]
fn a_set_up_is_fetched_where_there_is_time() {
    // Done at 10:00, home at 10:30, loaded at 10:50, there at 11:00.
    let both = |from| [set_up(0, 0, (540, 840), 30), set_up(1, 0, (from, 900), 10)];
    assert_eq!(outings(&both(659), &Between::new()), [vec![0, 1]]);
    assert_eq!(outings(&both(660), &Between::new()), [vec![0], vec![1]]);
    assert!(outings(&[], &Between::new()).is_empty());
}

#[test]
fn another_load_is_fetched_and_a_night_is_spent_at_home() {
    let jobs = in_order(
        vec![set_up(0, 0, (540, 840), 30), set_up(1, 1, (600, 840), 10)],
        vec![strike(0, 1_400, 30), strike(1, 1_405, 10)],
    );
    let stops = round(&jobs, &Between::new());
    // Back at 10:30, loaded for twenty minutes, there at 11:00.
    assert_eq!((stops[0].back, stops[1].load_from, stops[1].arrive), (Some(630), Some(630), 660));
    assert_eq!((stops[1].back, stops[2].leg, stops[2].begin), (Some(730), Leg::Studio, 1_400));
    // Straight on to the second strike.
    assert_eq!((stops[3].leg, stops[3].begin), (Leg::Between { typed: false }, 1_500));
    assert_eq!(jobs[3].late(&stops[3]), 95);
    assert_eq!(stops[3].back, Some(1_570));
}

#[test]
fn whoever_has_no_time_to_go_home_stays() {
    let jobs = [set_up(0, 0, (540, 600), 60), strike(0, 660, 60)];
    let stops = round(&jobs, &Between::new());
    assert_eq!((stops[1].leg, stops[1].begin, stops[0].back), (Leg::Stay, 660, None));
}

fn jobs() -> impl Strategy<Value = (Vec<Job>, Between)> {
    let times = (0_i64..1_400, 0_i64..400, 0_i64..900, 1_i64..5, 0_i64..120, 0_i64..60, 0_usize..2);
    (prop::collection::vec(times, 1..6), prop::collection::vec(0_i64..200, 0..8)).prop_map(
        |(events, typed)| {
            let mut trip = 0;
            let mut set_ups = Vec::new();
            let mut strikes = Vec::new();
            for (event, (from, lasts, work, people, drive, load, another)) in events.into_iter().enumerate() {
                trip += another;
                let job = Job {
                    event,
                    what: What::SetUp,
                    trip,
                    load,
                    from,
                    by: Some(from + lasts),
                    work,
                    people,
                    drive,
                };
                set_ups.push(job);
                strikes.push(Job {
                    what: What::Strike,
                    by: None,
                    load: 0,
                    from: from + lasts + 60,
                    work: work / 2,
                    ..job
                });
            }
            set_ups.sort_by_key(|job| (job.trip, job.from));
            let pairs = (0..typed.len()).map(|at| (at % 3, at % 4)).filter(|(one, other)| one != other);
            (in_order(set_ups, strikes), pairs.zip(typed).collect())
        },
    )
}

proptest! {
    #[test]
    fn the_crew_is_at_one_place_at_a_time((jobs, between) in jobs()) {
        let stops = round(&jobs, &between);
        prop_assert_eq!(stops.len(), jobs.len());
        for (job, stop) in jobs.iter().zip(&stops) {
            prop_assert!(stop.leave + stop.drive == stop.arrive && stop.arrive <= stop.begin);
            prop_assert!(stop.begin >= job.from && stop.done - stop.begin == job.minutes());
            prop_assert_eq!(job.late(stop) == 0, job.by.map_or(stop.begin == job.from, |by| stop.done <= by));
        }
        for pair in stops.windows(2) {
            prop_assert!(pair[1].leave >= pair[0].done);
            let home = pair[0].back.unwrap_or(pair[0].done);
            prop_assert!(pair[1].load_from.unwrap_or(pair[1].leave) >= home);
            prop_assert_eq!(pair[0].back.is_some(), pair[1].leg == Leg::Studio);
        }
        prop_assert!(stops.last().is_some_and(|last| last.back.is_some()));
    }

    #[test]
    fn more_work_never_makes_a_later_job_earlier((jobs, between) in jobs(), which in 0_usize..12, more in 0_i64..500) {
        let before = round(&jobs, &between);
        let mut harder = jobs.clone();
        let at = which % jobs.len();
        harder[at].work += more;
        for (one, other) in before.iter().zip(&round(&harder, &between)) {
            prop_assert!(one.begin <= other.begin && one.done <= other.done);
        }
    }

    #[test]
    fn every_set_up_is_in_one_outing((jobs, between) in jobs()) {
        let set_ups: Vec<Job> = jobs.into_iter().filter(|job| job.what == What::SetUp).collect();
        let all: Vec<usize> = outings(&set_ups, &between).into_iter().flatten().collect();
        prop_assert_eq!(all, (0..set_ups.len()).collect::<Vec<_>>());
    }
}
