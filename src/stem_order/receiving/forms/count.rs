//! The form in which a delivery is counted in. Only rows that were touched are saved; each row carries what was seen
//! when the page was made, so that two people counting at once lose nothing.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::super::{MOST_STEMS, Receipt};
use crate::ground::formats::Formats;
use crate::ground::ids::PlacedLineId;
use crate::web::forms::{Checker, FieldErrors};

/// What was typed: a line's identity, what was seen of it, good and lost, each repeated.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct CountForm {
    pub line: Vec<String>,
    pub seen: Vec<String>,
    pub good: Vec<String>,
    pub lost: Vec<String>,
    /// A line of which all is good, or [`REST`]; empty where the form is just saved.
    pub all_good: String,
}

/// Everything that is not counted yet is good.
pub const REST: &str = "rest";

/// Stems good and lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Values {
    /// Came good.
    pub good: i64,
    /// Came dead or broken.
    pub lost: i64,
}

impl From<&Receipt> for Values {
    fn from(receipt: &Receipt) -> Values {
        Values { good: receipt.good, lost: receipt.lost }
    }
}

/// What a page showed of a line: its version and values, or that it was not counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seen(pub Option<(i64, Values)>);

impl Seen {
    /// What is to be seen of a line now.
    #[must_use]
    pub fn of(receipt: Option<&Receipt>) -> Seen {
        Seen(receipt.map(|receipt| (receipt.version, Values::from(receipt))))
    }

    /// As the form carries it: `3:110:4`, or nothing.
    #[must_use]
    pub fn code(self) -> String {
        self.0.map(|(version, Values { good, lost })| format!("{version}:{good}:{lost}")).unwrap_or_default()
    }

    fn read(code: &str) -> Option<Seen> {
        if code.is_empty() {
            return Some(Seen(None));
        }
        let mut parts = code.split(':').map(|part| part.parse().ok());
        let (version, good, lost) = (parts.next()??, parts.next()??, parts.next()??);
        Some(Seen(Some((version, Values { good, lost }))))
    }

    fn values(self) -> Option<Values> {
        self.0.map(|(_, values)| values)
    }
}

/// A row that was touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    /// In which row of the form, from 0.
    pub row: usize,
    /// Which line.
    pub line: PlacedLineId,
    /// What was seen when the page was made.
    pub seen: Seen,
    /// What was typed; none is not counted any more.
    pub typed: Option<Values>,
}

impl Row {
    /// The row that takes a change back, as an address has it: `7_1:120:0_` is line 7, counted since, not before.
    #[must_use]
    pub fn undone(code: &str) -> Option<Row> {
        let mut parts = code.split('_');
        let (line, after, before) = (parts.next()?, parts.next()?, parts.next()?);
        let typed = Seen::read(before)?.values();
        Some(Row { row: 0, line: line.parse().ok()?, seen: Seen::read(after)?, typed })
    }
}

impl CountForm {
    /// The rows that were touched, or every message; none where a line or what was seen of it is no such thing.
    /// Where only the good ones were typed none is lost; where only the lost ones were, the rest of what is expected
    /// is good.
    #[must_use]
    pub fn parse(
        &self,
        expected: &BTreeMap<PlacedLineId, i64>,
        formats: &Formats,
    ) -> Option<Result<Vec<Row>, FieldErrors>> {
        let mut checker = Checker::new(formats);
        let mut rows = Vec::new();
        for (row, line) in self.line.iter().enumerate() {
            let line: PlacedLineId = line.parse().ok()?;
            let expected = *expected.get(&line)?;
            let seen = Seen::read(self.cell(&self.seen, row))?;
            let typed = self.typed(&mut checker, row, line, seen, expected);
            if typed != seen.values() {
                rows.push(Row { row, line, seen, typed });
            }
        }
        Some(checker.done(rows))
    }

    /// What each row says as it is typed, saved or not; none where a number cannot be read.
    #[must_use]
    pub fn preview(
        &self,
        expected: &BTreeMap<PlacedLineId, i64>,
        formats: &Formats,
    ) -> Vec<(PlacedLineId, Option<Values>)> {
        let rows = self.line.iter().enumerate().filter_map(|(row, line)| {
            let line: PlacedLineId = line.parse().ok()?;
            let expected = *expected.get(&line)?;
            let mut checker = Checker::new(formats);
            let typed = self.typed(&mut checker, row, line, Seen(None), expected);
            Some((line, checker.done(typed).ok().flatten()))
        });
        rows.collect()
    }

    fn typed(
        &self,
        checker: &mut Checker<'_>,
        row: usize,
        line: PlacedLineId,
        seen: Seen,
        expected: i64,
    ) -> Option<Values> {
        let (good, lost) = (self.cell(&self.good, row), self.cell(&self.lost, row));
        let untouched = seen.0.is_none() && good.trim().is_empty() && lost.trim().is_empty();
        if self.all_good == line.to_string() || (self.all_good == REST && untouched && expected > 0) {
            return Some(Values { good: expected, lost: 0 });
        }
        let good = checker.whole_or_none(&format!("good-{row}"), good, 0..=MOST_STEMS);
        let lost = checker.whole_or_none(&format!("lost-{row}"), lost, 0..=MOST_STEMS);
        match (good, lost) {
            (None, None) => None,
            (Some(good), lost) => Some(Values { good, lost: lost.unwrap_or(0) }),
            (None, Some(lost)) => Some(Values { good: (expected - lost).max(0), lost }),
        }
    }

    /// What was typed as good and lost for a line.
    #[must_use]
    pub fn typed_for(&self, line: PlacedLineId) -> Option<(&str, &str)> {
        let row = self.line.iter().position(|id| *id == line.to_string())?;
        Some((self.cell(&self.good, row), self.cell(&self.lost, row)))
    }

    /// What a form carried as seen of a line.
    #[must_use]
    pub fn seen_of(&self, line: PlacedLineId) -> Option<&str> {
        let row = self.line.iter().position(|id| *id == line.to_string())?;
        Some(self.cell(&self.seen, row))
    }

    fn cell<'a>(&'a self, column: &'a [String], row: usize) -> &'a str {
        column.get(row).map_or("", String::as_str)
    }
}

/// What becomes of touched rows beside what the book holds now.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Merged {
    /// To be kept.
    pub keep: Vec<Row>,
    /// Counted otherwise by someone else since the page was made.
    pub conflicts: Vec<Row>,
}

/// Rows of which nobody else counted anything meanwhile are kept; a row that someone else counted the same is done
/// already; the others are conflicts.
#[must_use]
pub fn merged(rows: &[Row], now: &[Receipt]) -> Merged {
    let mut merged = Merged::default();
    for row in rows {
        let receipt = now.iter().find(|receipt| receipt.line == row.line);
        let current = Seen::of(receipt);
        if current == row.seen {
            merged.keep.push(*row);
        } else if current.values() != row.typed {
            merged.conflicts.push(*row);
        }
    }
    merged
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    const LINE: PlacedLineId = PlacedLineId(7);

    fn form(seen: &str, good: &str, lost: &str) -> CountForm {
        CountForm {
            line: vec!["7".into()],
            seen: vec![seen.into()],
            good: vec![good.into()],
            lost: vec![lost.into()],
            all_good: String::new(),
        }
    }

    fn parsed(form: &CountForm) -> Option<Result<Vec<Row>, FieldErrors>> {
        form.parse(&[(LINE, 120)].into(), &Studio::new_book().formats)
    }

    fn typed(form: &CountForm) -> Vec<Option<(i64, i64)>> {
        let rows = parsed(form).unwrap().unwrap();
        rows.iter().map(|row| row.typed.map(|values| (values.good, values.lost))).collect()
    }

    fn receipt(version: i64, good: i64, lost: i64) -> Receipt {
        Receipt { line: LINE, version, good, lost, received_on: "2026-05-14".parse().unwrap() }
    }

    #[test]
    fn only_touched_rows_are_rows() {
        assert_eq!(typed(&form("", "", "")), []);
        assert_eq!(typed(&form("2:110:4", "110", "4")), []);
        assert_eq!(typed(&form("2:110:4", "", "")), [None]);
        assert_eq!(typed(&form("", "110", "")), [Some((110, 0))]);
        assert_eq!(typed(&form("", "", "4")), [Some((116, 4))]);
        assert_eq!(typed(&form("", "", "400")), [Some((0, 400))]);
    }

    #[test]
    fn all_good_is_one_press() {
        let one = CountForm { all_good: "7".into(), ..form("1:5:5", "5", "5") };
        assert_eq!(typed(&one), [Some((120, 0))]);
        let rest = CountForm { all_good: REST.into(), ..form("", "", "") };
        assert_eq!(typed(&rest), [Some((120, 0))]);
        let counted = CountForm { all_good: REST.into(), ..form("", "", "4") };
        assert_eq!(typed(&counted), [Some((116, 4))]);
    }

    #[test]
    fn wrong_numbers_are_named_and_strange_rows_refused() {
        let errors = parsed(&form("", "-1", "2.5")).unwrap().unwrap_err();
        assert_eq!(errors.list().len(), 2);
        assert!(errors.of("good-0").is_some() && errors.of("lost-0").is_some());
        assert!(parsed(&form("", "1000000000", "")).unwrap().is_err());
        assert!(parsed(&form("x", "1", "1")).is_none());
        assert!(parsed(&form("1:2", "1", "1")).is_none());
        let other = CountForm { line: vec!["8".into()], ..form("", "1", "") };
        assert!(parsed(&other).is_none());
    }

    #[test]
    fn a_change_can_be_taken_back() {
        let row = Row::undone("7_2:120:0_1:110:4").unwrap();
        assert_eq!(row.typed, Some(Values { good: 110, lost: 4 }));
        assert_eq!(merged(&[row], &[receipt(2, 120, 0)]).keep, [row]);
        assert_eq!(Row::undone("7_1:120:0_").unwrap().typed, None);
        assert!(Row::undone("7").is_none() && Row::undone("x__").is_none() && Row::undone("7_1_").is_none());
    }

    #[test]
    fn two_people_counting_lose_nothing() {
        let rows = parsed(&form("", "110", "4")).unwrap().unwrap();
        assert_eq!(merged(&rows, &[]).keep, rows);
        assert_eq!(merged(&rows, &[receipt(1, 110, 4)]), Merged::default(), "both counted the same");
        assert_eq!(merged(&rows, &[receipt(1, 120, 0)]).conflicts, rows);
        let corrected = parsed(&form("1:120:0", "110", "4")).unwrap().unwrap();
        assert_eq!(merged(&corrected, &[receipt(1, 120, 0)]).keep, corrected);
        assert_eq!(merged(&corrected, &[receipt(2, 119, 1)]).conflicts, corrected);
        assert_eq!(merged(&corrected, &[]).conflicts, corrected, "someone cleared it");
    }
}
