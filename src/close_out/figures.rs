//! The close-out as it is computed and as it is frozen: lines by kind with their variances, income, hours, stems.
//!
//! May import: `serde`, `ground`, this room's values.

use serde::{Deserialize, Serialize};

use super::variance::{Amount, Variance, variance};
use super::{Kind, Stems, Task};
use crate::ground::choice::Choice;
use crate::ground::ids::RecipeId;
use crate::ground::money::Money;

/// An event's close-out.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Figures {
    /// ISO 4217 code of all amounts.
    pub currency: String,
    /// What it cost, line by line, by kind.
    pub lines: Vec<Line>,
    /// What was asked and what was invoiced.
    pub income: Income,
    /// Minutes by task.
    pub hours: Vec<TaskHours>,
    /// Stems bought and wasted.
    pub stems: Stems,
    /// What the recipes could learn.
    pub proposals: Vec<Proposal>,
    /// What is not known and stands as planned: a sentence each.
    pub unknown: Vec<String>,
}

/// One cost.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Line {
    /// Under which kind.
    pub kind: Kind,
    /// What it is.
    pub what: String,
    /// In what it is counted: a unit's code, or minutes; empty where nothing is counted.
    pub unit: String,
    /// What the recipes said when it was quoted.
    pub quoted: Amount,
    /// What was planned.
    pub planned: Amount,
    /// What it came to.
    pub actual: Amount,
    /// Where the figures come from: a sentence or several.
    pub working: String,
}

/// What was asked, without tax.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Income {
    /// By the accepted version; none where nothing was accepted.
    pub accepted: Option<Money>,
    /// Invoiced.
    pub invoiced: Money,
    /// Credited.
    pub credited: Money,
    /// Whether there is any invoice.
    pub any: bool,
    /// Of what was accepted, what is still to be invoiced. Closings from before it was reckoned have none.
    #[serde(default)]
    pub to_come: Money,
}

/// Minutes of a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct TaskHours {
    /// Which.
    pub task: Task,
    /// As planned.
    pub planned: i64,
    /// As typed; none where nobody typed any.
    pub actual: Option<i64>,
    /// Of that, minutes of pieces for which nobody typed any: they stand as planned.
    #[serde(default)]
    pub as_planned: i64,
}

/// What a recipe could learn.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Proposal {
    /// Which.
    pub recipe: RecipeId,
    /// Its name.
    pub name: String,
    /// What was seen and what it suggests.
    pub words: String,
}

/// Costs of one kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sum {
    /// As the recipes said when it was quoted.
    pub quoted: Money,
    /// As planned.
    pub planned: Money,
    /// As it came.
    pub actual: Money,
    /// What is between.
    pub variance: Variance,
}

impl Line {
    /// How much of actual − planned is price, how much usage.
    #[must_use]
    pub fn variance(&self) -> Variance {
        variance(self.planned, self.actual)
    }
}

impl Sum {
    fn of<'a>(lines: impl Iterator<Item = &'a Line> + Clone) -> Sum {
        Sum {
            quoted: lines.clone().map(|line| line.quoted.cost).sum(),
            planned: lines.clone().map(|line| line.planned.cost).sum(),
            actual: lines.clone().map(|line| line.actual.cost).sum(),
            variance: lines.map(Line::variance).sum(),
        }
    }
}

impl Income {
    /// What it brings without tax: invoiced less credited, and as accepted what is still to be invoiced. A deposit alone is no
    /// income to set all of the cost against.
    #[must_use]
    pub fn actual(&self) -> Money {
        if self.any { self.invoiced - self.credited + self.to_come } else { self.planned() }
    }

    /// What was accepted; what was invoiced where nothing was.
    #[must_use]
    pub fn planned(&self) -> Money {
        self.accepted.unwrap_or(self.invoiced - self.credited)
    }
}

impl Figures {
    /// The lines of each kind that has any, with their sum.
    #[must_use]
    pub fn by_kind(&self) -> Vec<(Kind, Vec<&Line>, Sum)> {
        let of = |kind: &Kind| {
            let lines: Vec<&Line> = self.lines.iter().filter(|line| line.kind == *kind).collect();
            let sum = Sum::of(lines.iter().copied());
            (!lines.is_empty()).then_some((*kind, lines, sum))
        };
        Kind::ALL.iter().filter_map(of).collect()
    }

    /// All lines together.
    #[must_use]
    pub fn sum(&self) -> Sum {
        Sum::of(self.lines.iter())
    }

    /// Income less cost, planned and actual.
    #[must_use]
    pub fn margins(&self) -> (Money, Money) {
        let sum = self.sum();
        (self.income.planned() - sum.planned, self.income.actual() - sum.actual)
    }

    /// Minutes in all: planned, and actual where tasks without typed hours stand as planned.
    #[must_use]
    pub fn minutes(&self) -> (i64, i64) {
        let planned = self.hours.iter().map(|hours| hours.planned).fold(0, i64::saturating_add);
        let actual = self.hours.iter().map(|hours| hours.actual.unwrap_or(hours.planned));
        (planned, actual.fold(0, i64::saturating_add))
    }

    /// Several events together: lines of one kind and name are one.
    #[must_use]
    pub fn together(all: &[Figures]) -> Figures {
        let mut whole = Figures::default();
        for figures in all {
            whole.currency.clone_from(&figures.currency);
            figures.lines.iter().for_each(|line| whole.add_line(line));
            figures.hours.iter().for_each(|hours| whole.add_hours(*hours));
            whole.add_income(figures.income);
            let (stems, more) = (&mut whole.stems, figures.stems);
            stems.bought += more.bought;
            stems.lost += more.lost;
            stems.bench += more.bench;
            stems.thrown += more.thrown;
        }
        whole
    }

    fn add_line(&mut self, line: &Line) {
        let known = self.lines.iter_mut().find(|known| known.kind == line.kind && known.what == line.what);
        let Some(known) = known else {
            return self.lines.push(Line { working: String::new(), ..line.clone() });
        };
        for (sum, more) in [
            (&mut known.quoted, line.quoted),
            (&mut known.planned, line.planned),
            (&mut known.actual, line.actual),
        ] {
            *sum = sum.and(more);
        }
    }

    fn add_hours(&mut self, hours: TaskHours) {
        let Some(known) = self.hours.iter_mut().find(|known| known.task == hours.task) else {
            return self.hours.push(hours);
        };
        known.actual = match (known.actual, hours.actual) {
            (None, None) => None,
            (one, other) => Some(one.unwrap_or(known.planned) + other.unwrap_or(hours.planned)),
        };
        known.planned += hours.planned;
        known.as_planned += hours.as_planned;
    }

    fn add_income(&mut self, more: Income) {
        let sum = &mut self.income;
        // An event without invoices counts as accepted, so that it is not left out beside those that have them.
        let (invoiced, credited) =
            if more.any { (more.invoiced, more.credited) } else { (more.planned(), Money::ZERO) };
        sum.to_come += if more.any { more.to_come } else { Money::ZERO };
        sum.accepted = Some(sum.accepted.unwrap_or_default() + more.planned());
        sum.invoiced += invoiced;
        sum.credited += credited;
        sum.any = true;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn line(kind: Kind, what: &str, planned: (i64, i64), actual: (i64, i64)) -> Line {
        let of = |(quantity, cost): (i64, i64)| Amount::whole(quantity, Money::from_minor(cost));
        let (planned, actual) = (of(planned), of(actual));
        Line {
            kind,
            what: what.into(),
            unit: "stems".into(),
            quoted: planned,
            planned,
            actual,
            working: String::new(),
        }
    }

    #[test]
    fn margins_are_of_what_was_accepted_and_of_what_was_invoiced() {
        let income = Income {
            accepted: Some(Money::from_minor(100_000)),
            invoiced: Money::from_minor(101_000),
            credited: Money::from_minor(2_000),
            any: true,
            to_come: Money::ZERO,
        };
        let lines = vec![line(Kind::Flowers, "Rose", (100, 40_000), (110, 42_000))];
        let figures = Figures { lines, income, ..Figures::default() };
        assert_eq!(figures.margins(), (Money::from_minor(60_000), Money::from_minor(57_000)));
        assert_eq!(Income { any: false, ..income }.actual(), Money::from_minor(100_000));
    }

    #[test]
    fn what_is_still_to_be_invoiced_stands_as_accepted_for_one_event_and_for_several() {
        let of = Money::from_minor;
        let deposit = Income {
            accepted: Some(of(100_000)),
            invoiced: of(30_000),
            any: true,
            to_come: of(70_000),
            ..Income::default()
        };
        assert_eq!(deposit.actual(), of(100_000));
        let figures = Figures { income: deposit, ..Figures::default() };
        assert_eq!(Figures::together(&[figures.clone(), figures]).income.actual(), of(200_000));
    }

    proptest! {
        /// Kinds add up to the whole, variances to actual − planned, and events to their weekend.
        #[test]
        fn everything_ties(costs in prop::collection::vec((0_usize..11, 0_i64..3, 0_i64..500, 0_i64..90_000, 0_i64..500, 0_i64..90_000), 0..24)) {
            let lines: Vec<Line> = costs
                .iter()
                .map(|(kind, what, pq, pc, aq, ac)| line(Kind::ALL[*kind], &what.to_string(), (*pq, *pc), (*aq, *ac)))
                .collect();
            let figures = Figures { lines, ..Figures::default() };
            let sum = figures.sum();
            prop_assert_eq!(sum.variance.total(), sum.actual - sum.planned);
            prop_assert_eq!(figures.by_kind().iter().map(|(_, _, sum)| sum.actual).sum::<Money>(), sum.actual);
            prop_assert_eq!(figures.by_kind().iter().map(|(_, _, sum)| sum.variance.price).sum::<Money>(), sum.variance.price);
            let both = Figures::together(&[figures.clone(), figures]);
            prop_assert_eq!((both.sum().planned, both.sum().actual), (sum.planned.times(2), sum.actual.times(2)));
            prop_assert_eq!(both.sum().variance.total(), (sum.actual - sum.planned).times(2));
        }
    }
}
