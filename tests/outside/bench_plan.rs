//! The spreading of bench work against `scipy.optimize.linprog` (fixture `bench-spread.json`, made by `remake_bench.py`), and
//! against published facts of earliest deadline first.

use serde::Deserialize;
use trug::prep::bench_plan::spread::{Load, Spell, least_overtime, spread};

#[derive(Deserialize)]
struct Fixture {
    problems: Vec<Problem>,
}

#[derive(Deserialize)]
struct Problem {
    spells: Vec<OwnSpell>,
    loads: Vec<OwnLoad>,
    overtime: i64,
    early: i64,
}

#[derive(Deserialize)]
struct OwnSpell {
    day: i64,
    room: i64,
}

#[derive(Deserialize)]
struct OwnLoad {
    first: usize,
    last: usize,
    work: i64,
}

#[test]
fn overtime_and_lateness_are_those_of_the_linear_program() {
    let fixture: Fixture = serde_json::from_str(include_str!("../fixtures/bench-spread.json")).unwrap();
    assert_eq!(fixture.problems.len(), 60);
    let over = fixture.problems.iter().filter(|problem| problem.overtime > 0).count();
    assert!((10..50).contains(&over), "both kinds are there: {over}");
    for problem in fixture.problems {
        let spells: Vec<Spell> =
            problem.spells.iter().map(|spell| Spell { day: spell.day, room: spell.room }).collect();
        let loads: Vec<Load> = problem
            .loads
            .iter()
            .map(|load| Load { first: load.first, last: load.last, work: load.work })
            .collect();
        let spread = spread(&spells, &loads);
        assert_eq!((spread.total_overtime(), spread.early), (problem.overtime, problem.early));
        assert_eq!(least_overtime(&spells, &loads), problem.overtime);
    }
}

/// Jobs of periodic tasks (computing time, period) over so many units of time, each due when the next one comes.
fn periodic(tasks: &[(i64, usize)], length: usize) -> Vec<Load> {
    let jobs = |(work, period): &(i64, usize)| {
        let (work, period) = (*work, *period);
        (0..length / period).map(move |at| Load { first: at * period, last: (at + 1) * period - 1, work })
    };
    tasks.iter().flat_map(jobs).collect()
}

/// C. L. Liu and J. W. Layland, Scheduling Algorithms for Multiprogramming in a Hard-Real-Time Environment, Journal of the ACM
/// 20 (1973), theorem 7: earliest deadline first meets every deadline of periodic tasks exactly if the sum of computing time ÷
/// period is at most 1. Tasks (2, 5) and (4, 7), which rates by period cannot meet, are often shown for it (from memory).
#[test]
fn periodic_tasks_fit_exactly_up_to_full_use() {
    let time: Vec<Spell> = (0..35).map(|day| Spell { day, room: 1 }).collect();
    let over = |tasks: &[(i64, usize)]| spread(&time, &periodic(tasks, 35)).total_overtime();
    assert_eq!(over(&[(2, 5), (4, 7)]), 0, "34 of 35 units are used");
    assert_eq!(over(&[(2, 5), (5, 7)]), 4, "39 units of work in 35");
}
