//! The forms: the studio's sets of alternatives, how much an event's pieces matter, and taking a choice.

use std::collections::HashSet;
use std::hash::Hash;

use serde::Deserialize;

use super::{Alternative, Wish};
use crate::events::Piece;
use crate::events::recipe_names::RecipeNames;
use crate::ground::fingerprint::fingerprint;
use crate::ground::formats::Formats;
use crate::ground::ids::{PieceId, RecipeId};
use crate::quotes::forms::cell;
use crate::web::forms::{Checker, Difference, FieldErrors};

/// Rows to type in at the end, so that the grid grows without a script.
const EMPTY_ROWS: usize = 3;

/// A recipe of a set as typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewAlternative {
    /// Which recipe.
    pub recipe: RecipeId,
    /// The set's name.
    pub set: String,
    /// Per cent of the piece as designed.
    pub worth: i64,
}

/// The sets as typed: one of each column a row. A set left empty is the one above.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct SetsForm {
    /// Tells what the page was made from.
    pub seen: String,
    pub set: Vec<String>,
    pub recipe: Vec<String>,
    pub worth: Vec<String>,
}

/// One row of the sets.
#[derive(Debug, Clone, Copy, Default)]
pub struct SetRow<'a> {
    pub set: &'a str,
    pub recipe: &'a str,
    pub worth: &'a str,
}

impl SetRow<'_> {
    fn is_empty(&self) -> bool {
        [self.recipe, self.worth].iter().all(|cell| cell.trim().is_empty())
    }
}

impl SetsForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(sets: &[Alternative]) -> SetsForm {
        SetsForm {
            seen: seen(sets.iter().map(|one| (&one.set, one.recipe, one.worth))),
            set: sets.iter().map(|one| one.set.clone()).collect(),
            recipe: sets.iter().map(|one| one.name.clone()).collect(),
            worth: sets.iter().map(|one| one.worth.to_string()).collect(),
        }
    }

    /// The rows as typed, with empty ones behind them.
    #[must_use]
    pub fn rows(&self) -> Vec<SetRow<'_>> {
        let count = self.recipe.len().max(self.set.len());
        let at = |row| SetRow {
            set: cell(&self.set, row),
            recipe: cell(&self.recipe, row),
            worth: cell(&self.worth, row),
        };
        let filled = (0..count).rev().find(|row| !at(*row).is_empty()).map_or(0, |row| row + 1);
        (0..count.max(filled + EMPTY_ROWS)).map(at).collect()
    }

    /// Reads the form: every set, or every message. An empty row is left out.
    ///
    /// # Errors
    /// A message a field, named `sets-{row}-{cell}`.
    pub fn parse(&self, known: &RecipeNames, formats: &Formats) -> Result<Vec<NewAlternative>, FieldErrors> {
        let mut c = Checker::new(formats);
        let (mut read, mut once, mut above) = (Vec::new(), HashSet::new(), String::new());
        for (place, row) in self.rows().iter().enumerate() {
            if !row.set.trim().is_empty() {
                row.set.trim().clone_into(&mut above);
            }
            if row.is_empty() {
                continue;
            }
            let field = |cell: &str| format!("sets-{place}-{cell}");
            let set = c.name(&field("set"), &above, "which set it belongs to");
            let worth = c.whole(&field("worth"), row.worth, 1..=1000);
            let name = c.name(&field("recipe"), row.recipe, "the recipe");
            match known.find(&name) {
                Some(recipe) if once.insert(recipe) => read.push(NewAlternative { recipe, set, worth }),
                Some(_) => {
                    c.refuse(field("recipe"), format!("{name} stands here twice. A recipe is in one set."));
                }
                None if name.is_empty() => {}
                None => c.refuse(field("recipe"), unknown(known, &name)),
            }
        }
        c.done(read)
    }

    /// What differs from the book, row by row.
    #[must_use]
    pub fn differences(&self, theirs: &SetsForm) -> Vec<Difference> {
        let (mine, book) = (self.lines(), theirs.lines());
        let line = |lines: &[String], row: usize| lines.get(row).cloned().unwrap_or_default();
        (0..mine.len().max(book.len()))
            .map(|row| Difference { label: "Alternative", yours: line(&mine, row), theirs: line(&book, row) })
            .filter(|difference| difference.yours != difference.theirs)
            .collect()
    }

    fn lines(&self) -> Vec<String> {
        let rows = self.rows().into_iter().filter(|row| !row.is_empty());
        rows.map(|row| format!("{}: {}, {} %", row.set, row.recipe, row.worth)).collect()
    }
}

fn unknown(known: &RecipeNames, name: &str) -> String {
    let near = known.near(name).join(", ");
    let hint = if near.is_empty() { String::new() } else { format!(" Near it: {near}.") };
    format!("There is no recipe called \u{201c}{name}\u{201d}.{hint}")
}

/// How much an event's pieces matter, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct WishesForm {
    /// Tells what the page was made from.
    pub seen: String,
    pub piece: Vec<String>,
    pub importance: Vec<String>,
    pub leave_out: Vec<String>,
    /// The budget that was looked at, carried along.
    pub budget: String,
}

impl WishesForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(pieces: &[Piece], wishes: &[Wish], budget: &str) -> WishesForm {
        let wish = |piece: &Piece| {
            wishes
                .iter()
                .find(|wish| wish.piece == piece.id)
                .copied()
                .unwrap_or_else(|| Wish::usual(piece.id))
        };
        let all: Vec<Wish> = pieces.iter().map(wish).collect();
        WishesForm {
            seen: seen(all.iter().map(|wish| (wish.piece, wish.importance, wish.may_leave_out))),
            piece: all.iter().map(|wish| wish.piece.to_string()).collect(),
            importance: all.iter().map(|wish| wish.importance.to_string()).collect(),
            leave_out: all.iter().map(|wish| if wish.may_leave_out { "yes" } else { "no" }.into()).collect(),
            budget: budget.to_owned(),
        }
    }

    /// Reads the form: a wish a piece, or every message.
    ///
    /// # Errors
    /// A message a field, named `importance-{row}`.
    pub fn parse(&self, formats: &Formats) -> Result<Vec<Wish>, FieldErrors> {
        let mut c = Checker::new(formats);
        let mut wishes = Vec::new();
        for (row, piece) in self.piece.iter().enumerate() {
            let importance = c.whole(&format!("importance-{row}"), cell(&self.importance, row), 0..=10);
            let Ok(piece) = piece.parse::<PieceId>() else { continue };
            wishes.push(Wish { piece, importance, may_leave_out: cell(&self.leave_out, row) == "yes" });
        }
        c.done(wishes)
    }
}

/// Taking the best choice.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct TakingForm {
    /// The budget that was looked at.
    pub budget: String,
    /// The total of the choice that was shown, in minor units: another one is shown before it is taken.
    pub total: String,
    /// The quote's version and the fingerprint of its pieces that the choice was made from.
    pub version: String,
    pub seen: String,
}

/// Tells one state of the rows from another.
fn seen(rows: impl Iterator<Item = impl Hash>) -> String {
    fingerprint(&rows.collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn typed(rows: &[(&str, &str, &str)]) -> SetsForm {
        let column = |at: fn(&(&str, &str, &str)) -> String| rows.iter().map(at).collect();
        SetsForm {
            seen: String::new(),
            set: column(|row| row.0.into()),
            recipe: column(|row| row.1.into()),
            worth: column(|row| row.2.into()),
        }
    }

    fn known() -> RecipeNames {
        RecipeNames(vec![(RecipeId(1), "Low bowl".into()), (RecipeId(2), "Low bowl, light".into())])
    }

    #[test]
    fn a_set_left_empty_is_the_one_above_and_empty_rows_are_left_out() {
        let form = typed(&[("Low bowl", "low bowl", "100"), ("", "", ""), ("", "Low bowl, light", "60")]);
        let read = form.parse(&known(), &Studio::new_book().formats).unwrap();
        let expected =
            |recipe, worth| NewAlternative { recipe: RecipeId(recipe), set: "Low bowl".into(), worth };
        assert_eq!(read, [expected(1, 100), expected(2, 60)]);
    }

    #[test]
    fn every_slip_has_its_message() {
        let form = typed(&[("", "Low bowl", "0"), ("Low", "Low bowl", "100"), ("", "Low bow", "50")]);
        let errors = form.parse(&known(), &Studio::new_book().formats).unwrap_err();
        assert!(errors.of("sets-0-set").is_some());
        assert_eq!(errors.of("sets-0-worth"), Some("Write a whole number from 1 to 1000."));
        assert!(errors.of("sets-1-recipe").unwrap().contains("twice"));
        assert!(errors.of("sets-2-recipe").unwrap().contains("Near it: Low bowl"));
    }
}
