//! Where a kind of work is done: conditioning, vessels, cutting, and the benches where pieces of a kind are made. Nothing is
//! to be set up: stations follow from the steps and the recipes' categories. May import: this stage's plan, `recipes`' types.

use super::Step;
use super::plan::{PrepDay, PrepStep, PrepTask};
use crate::ground::choice::{Choice, choices};
use crate::recipes::Category;

choices! {
    /// The stations, in the order in which a day goes through them.
    Station {
        /// What comes through the door is stripped, re-cut and stood in water.
        Conditioning "conditioning" "Conditioning"
        /// Vessels are dressed, ribbon and wire are cut.
        Vessels "vessels" "Vessels and ribbon"
        /// Foliage and stems are cut to length.
        Cutting "cutting" "Cutting"
        /// What other pieces are made with.
        Parts "parts" "Parts of other pieces"
        /// What stands on tables.
        Tables "tables" "Table pieces"
        /// What stands at a ceremony.
        Ceremony "ceremony" "Ceremony pieces"
        /// Hung, built or freestanding.
        Large "large" "Large pieces"
        /// Anything else that is made.
        Other "other" "Other pieces"
        /// Bouquets, buttonholes, corsages: last.
        Personal "personal" "Personal flowers"
    }
}

impl Station {
    /// Where a task is done.
    #[must_use]
    pub fn of(task: &PrepTask, step: Step) -> Station {
        match (step, task.makes.map(|makes| makes.category)) {
            (Step::Condition, _) => Station::Conditioning,
            (Step::Dress, _) => Station::Vessels,
            (Step::Cut, _) => Station::Cutting,
            (Step::Make, Some(Category::Part)) => Station::Parts,
            (Step::Make, Some(Category::Table)) => Station::Tables,
            (Step::Make, Some(Category::Ceremony)) => Station::Ceremony,
            (Step::Make, Some(Category::Installation)) => Station::Large,
            (Step::Make, Some(Category::Personal)) => Station::Personal,
            (Step::Make, Some(Category::Other) | None) => Station::Other,
        }
    }
}

/// The stations that have work on a day, in their order.
#[must_use]
pub fn stations(day: &PrepDay) -> Vec<Station> {
    let works = |station: &Station| {
        day.steps.iter().any(|step| step.tasks.iter().any(|task| at(*station, step, task)))
    };
    Station::ALL.iter().copied().filter(works).collect()
}

/// What a station does of a day: its tasks, their minutes and cautions, under the day's events.
#[must_use]
pub fn part(day: &PrepDay, station: Station) -> PrepDay {
    let steps = day.steps.iter().map(|step| {
        let tasks = step.tasks.iter().filter(|task| at(station, step, task)).cloned();
        PrepStep { step: step.step, tasks: tasks.collect() }
    });
    let steps: Vec<PrepStep> = steps.filter(|step| !step.tasks.is_empty()).collect();
    let tasks = steps.iter().flat_map(|step| &step.tasks);
    let minutes = tasks.fold(0, |sum: i64, task| sum.saturating_add(task.minutes));
    let cautions = day.cautions_at.get(&station).cloned().unwrap_or_default();
    PrepDay { steps, minutes, cautions, ..day.clone() }
}

fn at(station: Station, step: &PrepStep, task: &PrepTask) -> bool {
    Station::of(task, step.step) == station
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::ground::caution::Caution;
    use crate::ground::ids::RecipeId;
    use crate::prep::plan::Makes;

    fn task(key: &str, category: Option<Category>, minutes: i64) -> PrepTask {
        PrepTask {
            key: key.into(),
            count: 1,
            unit: String::new(),
            what: key.into(),
            how: Vec::new(),
            wanted_for: String::new(),
            not_before: None,
            minutes,
            working: String::new(),
            makes: category.map(|category| Makes { recipe: RecipeId(1), category }),
        }
    }

    fn day() -> PrepDay {
        let make =
            [("bowl", Category::Table), ("arch", Category::Installation), ("buttonhole", Category::Personal)];
        let make = make.into_iter().map(|(key, category)| task(key, Some(category), 10)).collect();
        PrepDay {
            day: "2026-05-15".parse().unwrap(),
            events: vec!["Supper".into()],
            steps: vec![
                PrepStep { step: Step::Condition, tasks: vec![task("rose", None, 6)] },
                PrepStep { step: Step::Make, tasks: make },
            ],
            minutes: 36,
            cautions: vec![Caution::Flame, Caution::Sharp],
            cautions_at: BTreeMap::from([
                (Station::Conditioning, vec![Caution::Sharp]),
                (Station::Tables, vec![Caution::Flame, Caution::Sharp]),
            ]),
        }
    }

    #[test]
    fn every_task_stands_at_one_station_and_no_minute_is_lost() {
        let day = day();
        let stations = stations(&day);
        assert_eq!(stations, [Station::Conditioning, Station::Tables, Station::Large, Station::Personal]);
        let parts: Vec<PrepDay> = stations.iter().map(|station| part(&day, *station)).collect();
        assert_eq!(parts.iter().map(|part| part.minutes).sum::<i64>(), day.minutes);
        let keys =
            parts.iter().flat_map(|part| &part.steps).flat_map(|step| &step.tasks).map(|task| &*task.key);
        assert_eq!(keys.collect::<Vec<_>>(), ["rose", "bowl", "arch", "buttonhole"]);
        assert_eq!(parts[0].cautions, [Caution::Sharp], "no flame where nothing burns");
        assert!(part(&day, Station::Cutting).steps.is_empty());
    }
}
