//! The undominated choices against multiple-choice knapsacks solved by scipy's milp (`fixtures/fit-to-budget.json`, which
//! names its source; `fit_to_budget.py` makes it again).

use serde::Deserialize;
use trug::quotes::budget::frontier::{Cost, frontier};

#[derive(Deserialize)]
struct Fixture {
    problems: Vec<Problem>,
}

#[derive(Deserialize)]
struct Problem {
    name: String,
    groups: Vec<Vec<(i64, i64)>>,
    budget: i64,
    most_worth: Option<i64>,
}

#[test]
fn the_best_within_a_budget_is_that_of_a_general_solver() {
    let fixture: Fixture = serde_json::from_str(include_str!("../fixtures/fit-to-budget.json")).unwrap();
    assert_eq!(fixture.problems.len(), 60);
    for problem in fixture.problems {
        let cost = |(net, worth): &(i64, i64)| Cost { nets: vec![*net], worth: *worth };
        let groups: Vec<Vec<Cost>> =
            problem.groups.iter().map(|group| group.iter().map(cost).collect()).collect();
        let choices = frontier(&groups).unwrap();
        let within = choices.iter().filter(|choice| choice.nets[0] <= problem.budget);
        let best = within.map(|choice| choice.worth).max();
        assert_eq!(best, problem.most_worth, "{}", problem.name);
    }
}
