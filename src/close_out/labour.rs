//! Hours: planned by task, actual as typed; what both cost.
//!
//! May import: `rust_decimal`, `ground`, plain values of `prep` and of this room.

use std::collections::BTreeMap;

use rust_decimal::{Decimal, RoundingStrategy};

use super::figures::{Line, TaskHours};
use super::proposals::Made;
use super::variance::Amount;
use super::{Hours, Kind, Task};
use crate::ground::choice::Choice;
use crate::ground::ids::RecipeId;
use crate::ground::money::Money;
use crate::prep::event_work::Worked;

/// Minutes of each task as planned.
///
/// Conditioning and making come from the price list and the recipes; loading, setting and striking as the event's crew and
/// hours say; driving is rides × minutes one way × crew, as the bench plan has them: there and back, and a second time where
/// the crew comes home between setting up and striking.
#[must_use]
pub fn planned(conditioning: i64, making: i64, worked: &Worked, rides: i64) -> [(Task, i64); 6] {
    let driving = worked.drive.saturating_mul(rides).saturating_mul(worked.crew);
    [
        (Task::Condition, conditioning),
        (Task::Make, making),
        (Task::Load, worked.load),
        (Task::Drive, driving),
        (Task::SetUp, worked.set),
        (Task::Strike, worked.strike),
    ]
}

/// minutes × rate ÷ 60, rounded half up.
///
/// ```
/// use trug::close_out::labour::cost;
/// use trug::ground::money::Money;
/// assert_eq!(cost(50, Money::from_minor(2_200)), Money::from_minor(1_833)); // 50 minutes at 22.00 an hour
/// ```
#[must_use]
pub fn cost(minutes: i64, rate: Money) -> Money {
    Money::rounded(Decimal::from(minutes) * rate.decimal() / Decimal::from(60))
}

/// Minutes of each task: planned, and typed where anyone typed any. Where making was typed for some pieces only, those of the
/// others (`untyped`) stand as planned beside it.
#[must_use]
pub fn hours(planned: &[(Task, i64)], typed: &[Hours], untyped: i64) -> Vec<TaskHours> {
    let row = |(task, planned): &(Task, i64)| {
        let mut own = typed.iter().filter(|hours| hours.task == *task).peekable();
        let any = own.peek().is_some();
        let as_planned = if any && *task == Task::Make { untyped } else { 0 };
        let actual = any.then(|| own.map(|hours| hours.minutes).fold(as_planned, i64::saturating_add));
        TaskHours { task: *task, planned: *planned, actual, as_planned }
    };
    planned.iter().map(row).collect()
}

/// The recipes for whose pieces nobody typed making hours, where they were typed for others by name. Hours for all pieces
/// leave none.
#[must_use]
pub fn untyped(made: &BTreeMap<RecipeId, Made>, typed: &[Hours]) -> Vec<RecipeId> {
    let making: Vec<Option<RecipeId>> =
        typed.iter().filter(|hours| hours.task == Task::Make).map(|hours| hours.recipe).collect();
    if making.is_empty() || making.contains(&None) {
        return Vec::new();
    }
    let left = |(recipe, made): &(&RecipeId, &Made)| {
        made.count > 0 && made.minutes > Decimal::ZERO && !making.contains(&Some(**recipe))
    };
    made.iter().filter(left).map(|(recipe, _)| *recipe).collect()
}

/// Minutes that the pieces of some recipes were planned to take, rounded half up.
#[must_use]
pub fn planned_of(made: &BTreeMap<RecipeId, Made>, recipes: &[RecipeId]) -> i64 {
    let own = recipes.iter().filter_map(|recipe| made.get(recipe));
    let minutes: Decimal = own.map(|made| made.minutes * Decimal::from(made.count)).sum();
    i64::try_from(minutes.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero))
        .unwrap_or(i64::MAX)
}

/// A cost line a task: at the studio's rate as planned, at the typed rate as it was. A task without typed hours stands as planned.
#[must_use]
pub fn lines(hours: &[TaskHours], typed: &[Hours], rate: Money, quoted_making: Amount) -> Vec<Line> {
    let line = |row: &TaskHours| {
        let planned = Amount::whole(row.planned, cost(row.planned, rate));
        let own = typed.iter().filter(|hours| hours.task == row.task);
        let paid: Money = own.map(|hours| cost(hours.minutes, hours.rate.unwrap_or(rate))).sum();
        let paid = paid + cost(row.as_planned, rate);
        let actual = row.actual.map_or(planned, |minutes| Amount::whole(minutes, paid));
        let quoted = if row.task == Task::Make { quoted_making } else { Amount::NONE };
        Line {
            kind: Kind::Labour,
            what: row.task.label().into(),
            unit: MINUTES.into(),
            quoted,
            planned,
            actual,
            working: working(row),
        }
    };
    hours.iter().filter(|row| row.planned > 0 || row.actual.is_some()).map(line).collect()
}

/// The unit of hours: they are kept in minutes and shown in hours.
pub const MINUTES: &str = "minutes";

fn working(row: &TaskHours) -> String {
    let planned = match row.task {
        Task::Condition => "Planned: the price list's minutes a bunch × the bunches that were ordered.",
        Task::Make => {
            "Planned: the recipes' minutes × the pieces as they stand. Quoted: the same with the accepted version's counts."
        }
        Task::Drive => {
            "Planned: there and back for the whole crew, by the event's crew and hours; twice where there is time to come home between setting up and striking. What one drive serves for several events is typed."
        }
        Task::Load | Task::SetUp | Task::Strike => "Planned: as the event's crew and hours say.",
    };
    let typed = match (row.actual, row.as_planned) {
        (None, _) => " No hours were typed: it stands as planned.",
        (Some(_), 0) => "",
        _ => " Pieces for which no hours were typed stand as planned.",
    };
    format!("{planned}{typed}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prep::event_work::EventWork;

    fn typed(task: Task, minutes: i64, rate: Option<i64>) -> Hours {
        Hours { task, recipe: None, who: "Ida".into(), minutes, rate: rate.map(Money::from_minor) }
    }

    #[test]
    fn hours_at_another_rate_are_a_rate_variance() {
        let planned = [(Task::Make, 600), (Task::Strike, 60)];
        let rows = [typed(Task::Make, 300, None), typed(Task::Make, 360, Some(1_800))];
        let hours = hours(&planned, &rows, 0);
        let lines = lines(&hours, &rows, Money::from_minor(2_400), Amount::NONE);
        // 10 h at 24.00 were planned; 5 h at 24.00 and 6 h at 18.00 were worked: 228.00 for 11 h, at 24.00 264.00.
        let making = &lines[0];
        assert_eq!((making.planned.cost.minor(), making.actual.cost.minor()), (24_000, 22_800));
        assert_eq!((making.variance().price.minor(), making.variance().usage.minor()), (-3_600, 2_400));
        assert_eq!((lines[1].actual, hours[1].actual), (lines[1].planned, None));
        assert!(lines[1].working.contains("stands as planned"));
    }

    #[test]
    fn making_typed_for_some_pieces_leaves_the_others_as_planned() {
        let of = |name: &str, count, minutes: i64| Made { name: name.into(), count, minutes: minutes.into() };
        let made = BTreeMap::from([(RecipeId(1), of("Bowl", 10, 15)), (RecipeId(2), of("Row", 4, 5))]);
        let one = Hours { recipe: Some(RecipeId(1)), ..typed(Task::Make, 200, None) };
        let left = untyped(&made, std::slice::from_ref(&one));
        assert_eq!((left.as_slice(), planned_of(&made, &left)), ([RecipeId(2)].as_slice(), 20));
        let hours = hours(&[(Task::Make, 170)], std::slice::from_ref(&one), 20);
        assert_eq!(hours[0].actual, Some(220));
        let lines = lines(&hours, &[one], Money::from_minor(6_000), Amount::NONE);
        assert_eq!(lines[0].actual, Amount::whole(220, Money::from_minor(22_000)));
        // Hours for all pieces, or none at all, leave nothing out.
        assert!(untyped(&made, &[typed(Task::Make, 9, None)]).is_empty() && untyped(&made, &[]).is_empty());
    }

    #[test]
    fn the_whole_crew_drives_each_ride() {
        let worked = EventWork { drive_minutes: Some(40), crew: Some(3), ..EventWork::default() }.worked(0);
        assert_eq!(planned(0, 0, &worked, 2)[3], (Task::Drive, 240));
        assert_eq!(planned(0, 0, &worked, 4)[3], (Task::Drive, 480));
    }
}
