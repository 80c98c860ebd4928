//! The form of what only the studio knows: hours by task, costs that stand nowhere else.

use rust_decimal::Decimal;
use serde::Deserialize;

use super::{CostFor, Hours, OtherCost, Task, Typed};
use crate::ground::choice::Choice;
use crate::ground::formats::{Formats, read_decimal, read_whole};
use crate::ground::ids::RecipeId;
use crate::web::forms::{Checker, Difference, FieldErrors};

/// More minutes in one row than this are a slip of the finger: a thousand hours.
const MOST_MINUTES: i64 = 60_000;
/// More rows than this are no event's.
const MOST_ROWS: usize = 200;

/// Hours and costs, as typed: columns of two grids.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(default)]
pub struct CloseOutForm {
    pub version: String,
    pub hours_task: Vec<String>,
    pub hours_recipe: Vec<String>,
    pub hours_who: Vec<String>,
    pub hours_time: Vec<String>,
    pub hours_rate: Vec<String>,
    pub cost_what: Vec<String>,
    pub cost_kind: Vec<String>,
    pub cost_planned: Vec<String>,
    pub cost_amount: Vec<String>,
}

/// One row of hours.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoursRow {
    pub at: usize,
    pub task: String,
    pub recipe: String,
    pub who: String,
    pub time: String,
    pub rate: String,
}

/// One row of costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostRow {
    pub at: usize,
    pub what: String,
    pub kind: String,
    pub planned: String,
    pub amount: String,
}

impl HoursRow {
    fn is_empty(&self) -> bool {
        [&self.who, &self.time, &self.rate].iter().all(|cell| cell.trim().is_empty())
    }
}

impl CostRow {
    fn is_empty(&self) -> bool {
        [&self.what, &self.planned, &self.amount].iter().all(|cell| cell.trim().is_empty())
    }
}

impl CloseOutForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(typed: &Typed, formats: &Formats) -> CloseOutForm {
        let mut form = CloseOutForm { version: typed.version.to_string(), ..CloseOutForm::default() };
        for row in &typed.hours {
            form.hours_task.push(row.task.code().into());
            form.hours_recipe.push(row.recipe.map(|id| id.to_string()).unwrap_or_default());
            form.hours_who.push(row.who.clone());
            form.hours_time.push(clock(row.minutes));
            form.hours_rate.push(row.rate.map(|rate| formats.money_input(rate)).unwrap_or_default());
        }
        for row in &typed.costs {
            form.cost_what.push(row.what.clone());
            form.cost_kind.push(row.kind.code().into());
            form.cost_planned.push(formats.money_input(row.planned));
            form.cost_amount.push(formats.money_input(row.amount));
        }
        form
    }

    /// Rows of hours, with three empty ones behind them.
    #[must_use]
    pub fn hours(&self) -> Vec<HoursRow> {
        let row = |at| HoursRow {
            at,
            task: cell(&self.hours_task, at),
            recipe: cell(&self.hours_recipe, at),
            who: cell(&self.hours_who, at),
            time: cell(&self.hours_time, at),
            rate: cell(&self.hours_rate, at),
        };
        (0..self.hours_time.len().min(MOST_ROWS) + 3).map(row).collect()
    }

    /// Rows of costs, with three empty ones behind them.
    #[must_use]
    pub fn costs(&self) -> Vec<CostRow> {
        let row = |at| CostRow {
            at,
            what: cell(&self.cost_what, at),
            kind: cell(&self.cost_kind, at),
            planned: cell(&self.cost_planned, at),
            amount: cell(&self.cost_amount, at),
        };
        (0..self.cost_what.len().min(MOST_ROWS) + 3).map(row).collect()
    }

    /// Reads the form: what was typed, or every message. `recipes` are those that may be named.
    pub fn parse(&self, recipes: &[(RecipeId, String)], formats: &Formats) -> Result<Typed, FieldErrors> {
        let mut c = Checker::new(formats);
        let version = read_whole(&self.version).unwrap_or(0);
        let mut typed = Typed { version, ..Typed::default() };
        for row in self.hours().iter().filter(|row| !row.is_empty()) {
            typed.hours.push(hours(&mut c, row, recipes));
        }
        for row in self.costs().iter().filter(|row| !row.is_empty()) {
            typed.costs.push(cost(&mut c, row));
        }
        c.done(typed)
    }

    /// Where this form and a newer one differ, grid by grid.
    #[must_use]
    pub fn differences(&self, theirs: &CloseOutForm) -> Vec<Difference> {
        let hours = |form: &CloseOutForm| {
            let rows = form.hours();
            let words = rows.iter().filter(|row| !row.is_empty()).map(|row| {
                [&row.task, &row.recipe, &row.who, &row.time, &row.rate]
                    .map(|cell| cell.trim().to_owned())
                    .join(" ")
            });
            words.collect::<Vec<_>>().join("; ")
        };
        let costs = |form: &CloseOutForm| {
            let rows = form.costs();
            let words = rows.iter().filter(|row| !row.is_empty()).map(|row| {
                [&row.what, &row.kind, &row.planned, &row.amount].map(|cell| cell.trim().to_owned()).join(" ")
            });
            words.collect::<Vec<_>>().join("; ")
        };
        let (ours, others) = ([hours(self), costs(self)], [hours(theirs), costs(theirs)]);
        crate::web::forms::differences(&[("Hours", &ours[0], &others[0]), ("Costs", &ours[1], &others[1])])
    }
}

fn cell(column: &[String], at: usize) -> String {
    column.get(at).cloned().unwrap_or_default()
}

fn hours(c: &mut Checker, row: &HoursRow, recipes: &[(RecipeId, String)]) -> Hours {
    let field = |cell: &str| format!("hours-{}-{cell}", row.at);
    let recipe = recipes.iter().find(|(id, _)| id.to_string() == row.recipe).map(|(id, _)| *id);
    if recipe.is_none() && !row.recipe.trim().is_empty() {
        c.refuse(field("recipe"), "Choose one of the event's pieces, or all of them.");
    }
    let minutes = minutes(&row.time);
    if minutes.is_none() {
        c.refuse(field("time"), "Hours as 3.5 or 3:30, at most 1000.");
    }
    let task: Task = c.pick(&field("task"), &row.task);
    Hours {
        task,
        recipe: recipe.filter(|_| task == Task::Make),
        who: c.line(&field("who"), &row.who),
        minutes: minutes.unwrap_or_default(),
        rate: c.money_or_none(&field("rate"), &row.rate),
    }
}

fn cost(c: &mut Checker, row: &CostRow) -> OtherCost {
    let field = |cell: &str| format!("costs-{}-{cell}", row.at);
    OtherCost {
        what: c.name(&field("what"), &row.what, "what it was"),
        kind: c.pick::<CostFor>(&field("kind"), &row.kind),
        planned: c.money_or_zero(&field("planned"), &row.planned),
        amount: c.money(&field("amount"), &row.amount),
    }
}

/// Hours as typed, in minutes: `3.5`, `3,5` or `3:30`.
fn minutes(text: &str) -> Option<i64> {
    let text = text.trim();
    let minutes: i64 = if let Some((hours, minutes)) = text.split_once(':') {
        let (hours, minutes) = (read_whole(hours)?, read_whole(minutes)?);
        let within = (0..=1_000).contains(&hours) && (0..60).contains(&minutes) && !text.starts_with('-');
        within.then_some(hours * 60 + minutes)?
    } else {
        let hours = read_decimal(text).ok()?;
        let within = (Decimal::ZERO..=Decimal::ONE_THOUSAND).contains(&hours);
        i64::try_from(within.then_some(hours * Decimal::from(60))?.round()).ok()?
    };
    (minutes <= MOST_MINUTES).then_some(minutes)
}

/// Minutes as `3:30`.
#[must_use]
pub fn clock(minutes: i64) -> String {
    let sign = if minutes < 0 { "−" } else { "" };
    let minutes = minutes.unsigned_abs();
    format!("{sign}{}:{:02}", minutes / 60, minutes % 60)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn form(time: &str, amount: &str) -> CloseOutForm {
        let one = |text: &str| vec![text.to_owned()];
        CloseOutForm {
            version: "0".into(),
            hours_task: one("make"),
            hours_recipe: one("4"),
            hours_who: one("Ida"),
            hours_time: one(time),
            hours_rate: one(""),
            cost_what: one("Petrol"),
            cost_kind: one("travel"),
            cost_planned: one(""),
            cost_amount: one(amount),
        }
    }

    #[test]
    fn hours_are_read_both_ways_and_kept_in_minutes() {
        let (formats, recipes) = (Studio::new_book().formats, [(RecipeId(4), "Posy".to_owned())]);
        let typed = form("3:30", "18.40").parse(&recipes, &formats).unwrap();
        assert_eq!((typed.hours[0].minutes, typed.costs[0].amount.minor()), (210, 1_840));
        assert_eq!(form("3.5", "1").parse(&recipes, &formats).unwrap().hours[0].minutes, 210);
        let again = CloseOutForm::of(&typed, &formats);
        assert_eq!(again.parse(&recipes, &formats).unwrap(), typed);
    }

    #[test]
    fn every_wrong_cell_is_said() {
        let formats = Studio::new_book().formats;
        let errors = form("9:75", "").parse(&[], &formats).unwrap_err();
        let at = ["hours-0-recipe", "hours-0-time", "costs-0-amount"];
        assert!(at.iter().all(|field| errors.of(field).is_some()), "{:?}", errors.list());
        for wrong in ["-1", "1001", "-1:30", "lots", "999999999999"] {
            assert!(form(wrong, "1").parse(&[(RecipeId(4), String::new())], &formats).is_err(), "{wrong}");
        }
    }
}
