//! The form in which left-overs of deliveries are decided.

use serde::Deserialize;

use crate::ground::formats::Formats;
use crate::ground::ids::PlacedLineId;
use crate::stem_order::stock::MOST;
use crate::stem_order::stock::store::{Decision, Delivered, LeftLine};
use crate::web::forms::{Checker, FieldErrors};

/// What becomes of left-overs, as typed: one of each column a row.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct LeftForm {
    /// The delivered line.
    pub line: Vec<String>,
    /// How many go into stock.
    pub taken_in: Vec<String>,
    /// How many are written off.
    pub written_off: Vec<String>,
}

/// One row as typed.
#[derive(Debug, Clone, Default)]
pub struct LeftRow {
    pub at: usize,
    pub line: String,
    pub taken_in: String,
    pub written_off: String,
}

impl LeftForm {
    /// Filled in with what is left: into stock, or written off where it is past its keeping.
    #[must_use]
    pub fn of<'a>(lines: impl Iterator<Item = (&'a LeftLine, bool)>) -> LeftForm {
        let mut form = LeftForm::default();
        let mut lines: Vec<_> = lines.collect();
        // What has something left stands first.
        lines.sort_by_key(|(line, _)| line.left == 0);
        for (line, past) in lines {
            let left = if line.left > 0 { line.left.to_string() } else { String::new() };
            let (taken_in, written_off) = if past { (String::new(), left) } else { (left, String::new()) };
            form.line.push(line.delivered.line.to_string());
            form.taken_in.push(taken_in);
            form.written_off.push(written_off);
        }
        form
    }

    /// Every row.
    #[must_use]
    pub fn rows(&self) -> Vec<LeftRow> {
        let cell = |column: &[String], at: usize| column.get(at).cloned().unwrap_or_default();
        (0..self.line.len())
            .map(|at| LeftRow {
                at,
                line: cell(&self.line, at),
                taken_in: cell(&self.taken_in, at),
                written_off: cell(&self.written_off, at),
            })
            .collect()
    }

    /// Reads the form: what becomes of which line, or every message; none where a line is not one of these. Rows that are
    /// left empty are not decided yet.
    #[must_use]
    pub fn parse(
        &self,
        lines: &[Delivered],
        formats: &Formats,
    ) -> Option<Result<Vec<Decision>, FieldErrors>> {
        let mut c = Checker::new(formats);
        let mut decisions = Vec::new();
        for row in self.rows() {
            let line: PlacedLineId = row.line.parse().ok()?;
            let good = lines.iter().find(|one| one.line == line)?.good;
            let field = |cell: &str| format!("left-{}-{cell}", row.at);
            let taken_in = c.whole_or_none(&field("taken_in"), &row.taken_in, 0..=MOST);
            let written_off = c.whole_or_none(&field("written_off"), &row.written_off, 0..=MOST);
            if taken_in.is_none() && written_off.is_none() {
                continue;
            }
            let (taken_in, written_off) = (taken_in.unwrap_or(0), written_off.unwrap_or(0));
            if taken_in + written_off > good {
                c.refuse(field("taken_in"), format!("Only {good} came good: it cannot be more together."));
            }
            decisions.push(Decision { line, taken_in, written_off });
        }
        Some(c.done(decisions))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::ids::{MaterialId, PlacedOrderId};
    use crate::studio::Studio;

    fn delivered(line: i64, good: i64) -> Delivered {
        Delivered {
            line: PlacedLineId(line),
            order: PlacedOrderId(1),
            supplier: "Alder".into(),
            day: "2026-05-14".parse().unwrap(),
            material: MaterialId(1),
            name: "Rose".into(),
            good,
            taken_in: None,
            written_off: None,
            lot: None,
        }
    }

    fn form(rows: &[(&str, &str, &str)]) -> LeftForm {
        let mut form = LeftForm::default();
        for (line, taken_in, written_off) in rows {
            form.line.push((*line).into());
            form.taken_in.push((*taken_in).into());
            form.written_off.push((*written_off).into());
        }
        form
    }

    #[test]
    fn what_is_filled_in_is_decided_and_no_more_than_came() {
        let lines = [delivered(1, 20), delivered(2, 10)];
        let formats = Studio::new_book().formats;
        let read = |rows: &[(&str, &str, &str)]| form(rows).parse(&lines, &formats);
        let decided = Decision { line: PlacedLineId(1), taken_in: 12, written_off: 0 };
        assert_eq!(read(&[("1", "12", ""), ("2", "", "")]), Some(Ok(vec![decided])));
        let errors = read(&[("1", "12", "9"), ("2", "-1", "2.5")]).unwrap().unwrap_err();
        let fields: Vec<&str> = errors.list().iter().map(|(field, _)| field.as_str()).collect();
        assert_eq!(fields, ["left-0-taken_in", "left-1-taken_in", "left-1-written_off"]);
        assert_eq!(read(&[("3", "1", "")]), None);
        assert_eq!(read(&[("x", "1", "")]), None);
    }
}
