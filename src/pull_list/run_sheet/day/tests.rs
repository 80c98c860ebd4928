use super::super::clashes::Why;
use super::super::rounds::Leg;
use super::*;
use crate::events::Piece;
use crate::ground::quantity::Length;
use crate::ground::weight::Weight;
use crate::stem_order::samples;
use crate::studio::Studio;

fn drop(id: i64, name: &str, hours: [&str; 4], pieces: i64) -> PullInputs {
    let [set_up_time, start_time, end_time, strike_time] = hours.map(|time| time.parse().ok());
    let event =
        Event { set_up_time, start_time, end_time, strike_time, ..samples::event(id, name, "2026-05-16") };
    let pieces = vec![Piece { event_id: EventId(id), ..samples::piece(1, pieces) }];
    let recipe = samples::recipe(1, "Posy", &[samples::stems(1, 5_000)]);
    let book = samples::book(vec![recipe], vec![samples::flower(1, "Rose")]);
    PullInputs { event, pieces, book, kit: Vec::new(), extras: Vec::new() }
}

fn van(id: i64, name: &str, payload: i64) -> Van {
    Van {
        id: Some(VanId(id)),
        name: name.into(),
        length: Length::from_um(3_000_000),
        width: Length::from_um(1_500_000),
        height: Length::from_um(1_500_000),
        payload: Weight::from_grams(payload),
    }
}

fn crates() -> CrateKind {
    CrateKind {
        id: None,
        name: "Crate".into(),
        length: Length::from_um(600_000),
        width: Length::from_um(400_000),
        clear_height: Length::from_um(400_000),
        own_weight: Weight::from_grams(2_000),
        most_weight: Weight::from_grams(23_000),
        stackable: false,
    }
}

fn work(drive: i64, set: i64, crew: i64) -> EventWork {
    EventWork {
        version: 1,
        load_minutes: Some(40),
        drive_minutes: Some(drive),
        set_minutes: Some(set),
        strike_minutes: Some(60),
        crew: Some(crew),
    }
}

fn inputs(drops: Vec<PullInputs>, works: &[(i64, EventWork)]) -> DayInputs {
    DayInputs {
        day: "2026-05-16".parse().unwrap(),
        load: LoadInputs {
            drops,
            kinds: vec![crates()],
            vans: vec![van(1, "Van", 500_000), van(2, "Car", 200_000)],
        },
        works: works.iter().map(|(id, work)| (EventId(*id), *work)).collect(),
        drives: HashMap::new(),
        van: None,
        second: Vec::new(),
    }
}

fn planned(inputs: DayInputs) -> RunDay {
    run(inputs, &Studio::new_book().formats).unwrap()
}

fn two() -> DayInputs {
    let drops = vec![
        drop(2, "Supper", ["10:30", "12:00", "22:00", "22:10"], 8),
        drop(1, "Wedding", ["08:00", "14:00", "22:00", "22:00"], 12),
    ];
    inputs(drops, &[(1, work(30, 240, 2)), (2, work(20, 120, 2))])
}

#[test]
fn one_crew_sets_up_both_and_strikes_them_one_after_the_other() {
    let day = planned(two());
    assert_eq!(
        day.sites.iter().map(|site| site.event.name.as_str()).collect::<Vec<_>>(),
        ["Wedding", "Supper"]
    );
    let round = &day.rounds[0];
    // Done at 10:00, home at 10:30: no time to load and be there at 10:30, so both share a load.
    assert_eq!(round.loads, [vec![0, 1]]);
    assert_eq!((round.stops[0].load_from, round.stops[0].leave), (Some(410), 450));
    assert_eq!((round.stops[1].arrive, round.stops[1].done), (650, 710));
    let late: Vec<(usize, Why)> = round.clashes.iter().map(|clash| (clash.stop, clash.why)).collect();
    assert_eq!(late, [(3, Why::TwoPlaces)], "at 22:10 it still strikes the wedding");
    assert_eq!(round.stops[3].leg, Leg::Between { typed: false });
}

#[test]
fn a_second_crew_with_the_next_van_mends_it() {
    let day = planned(DayInputs { second: vec![EventId(2)], ..two() });
    assert_eq!(day.rounds.len(), 2);
    assert!(day.rounds.iter().all(|round| round.clashes.is_empty()));
    let vans: Vec<_> = day.rounds.iter().map(|round| round.van.as_deref()).collect();
    assert_eq!(vans, [Some("Van"), Some("Car")]);
    let other = planned(DayInputs { van: Some(VanId(2)), ..two() });
    assert_eq!(other.rounds[0].van.as_deref(), Some("Car"));
}

#[test]
fn a_typed_drive_is_shorter_than_by_way_of_the_studio() {
    let drives = HashMap::from([((EventId(1), EventId(2)), 12)]);
    let day = planned(DayInputs { drives, ..two() });
    let stop = &day.rounds[0].stops[1];
    assert_eq!((stop.leg, stop.arrive, stop.begin), (Leg::Between { typed: true }, 630, 630));
}

#[test]
fn a_load_that_needs_two_trips_is_set_up_in_two_parts() {
    let mut whole =
        inputs(vec![drop(1, "Wedding", ["08:00", "14:00", "22:00", ""], 40)], &[(1, work(30, 241, 2))]);
    whole.load.vans = vec![van(1, "Van", 25_000)];
    let day = planned(whole);
    let round = &day.rounds[0];
    let parts: Vec<&Job> = round.jobs.iter().filter(|job| job.what == What::SetUp).collect();
    assert!(parts.len() > 1, "{:?}", round.loads);
    assert_eq!(parts.iter().map(|job| job.work).sum::<i64>(), 241);
    assert_eq!(parts.iter().map(|job| job.load).sum::<i64>(), 20);
    assert!(round.stops[0].back.is_some() && round.stops[1].load_from >= round.stops[0].back);
}

#[test]
fn without_a_van_or_a_crate_it_is_one_trip_and_without_events_none() {
    let mut bare = two();
    (bare.load.kinds, bare.load.vans) = (Vec::new(), Vec::new());
    let day = planned(bare);
    assert_eq!((day.rounds[0].van.as_ref(), &day.rounds[0].loads), (None, &vec![vec![0, 1]]));
    assert!(planned(inputs(Vec::new(), &[])).rounds.is_empty());
}
