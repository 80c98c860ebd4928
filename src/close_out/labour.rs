//! Hours: planned by task, actual as typed; what both cost.
//!
//! May import: `rust_decimal`, `ground`, plain values of `prep` and of this room.

use rust_decimal::Decimal;

use super::figures::{Line, TaskHours};
use super::variance::Amount;
use super::{Hours, Kind, Task};
use crate::ground::choice::Choice;
use crate::ground::money::Money;
use crate::prep::event_work::Worked;

/// Minutes of each task as planned.
///
/// Conditioning and making come from the price list and the recipes; loading, setting and striking as the event's crew and
/// hours say; driving is there and back for the whole crew: 2 × minutes one way × crew.
#[must_use]
pub fn planned(conditioning: i64, making: i64, worked: &Worked) -> [(Task, i64); 6] {
    let driving = worked.drive.saturating_mul(2).saturating_mul(worked.crew);
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

/// Minutes of each task: planned, and typed where anyone typed any.
#[must_use]
pub fn hours(planned: &[(Task, i64)], typed: &[Hours]) -> Vec<TaskHours> {
    let row = |(task, planned): &(Task, i64)| {
        let mut own = typed.iter().filter(|hours| hours.task == *task).peekable();
        let actual =
            own.peek().is_some().then(|| own.map(|hours| hours.minutes).fold(0, i64::saturating_add));
        TaskHours { task: *task, planned: *planned, actual }
    };
    planned.iter().map(row).collect()
}

/// A cost line a task: at the studio's rate as planned, at the typed rate as it was. A task without typed hours stands as planned.
#[must_use]
pub fn lines(hours: &[TaskHours], typed: &[Hours], rate: Money, quoted_making: Amount) -> Vec<Line> {
    let line = |row: &TaskHours| {
        let planned = Amount::whole(row.planned, cost(row.planned, rate));
        let own = typed.iter().filter(|hours| hours.task == row.task);
        let paid = own.map(|hours| cost(hours.minutes, hours.rate.unwrap_or(rate))).sum();
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
            "Planned: there and back for the whole crew, by the event's crew and hours. A second way is typed."
        }
        Task::Load | Task::SetUp | Task::Strike => "Planned: as the event's crew and hours say.",
    };
    let typed = if row.actual.is_some() { "" } else { " No hours were typed: it stands as planned." };
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
        let hours = hours(&planned, &rows);
        let lines = lines(&hours, &rows, Money::from_minor(2_400), Amount::NONE);
        // 10 h at 24.00 were planned; 5 h at 24.00 and 6 h at 18.00 were worked: 228.00 for 11 h, at 24.00 264.00.
        let making = &lines[0];
        assert_eq!((making.planned.cost.minor(), making.actual.cost.minor()), (24_000, 22_800));
        assert_eq!((making.variance().price.minor(), making.variance().usage.minor()), (-3_600, 2_400));
        assert_eq!((lines[1].actual, hours[1].actual), (lines[1].planned, None));
        assert!(lines[1].working.contains("stands as planned"));
    }

    #[test]
    fn nobody_drives_less_than_there_and_back() {
        let worked = EventWork { drive_minutes: Some(40), crew: Some(3), ..EventWork::default() }.worked(0);
        assert_eq!(planned(0, 0, &worked)[3], (Task::Drive, 240));
    }
}
