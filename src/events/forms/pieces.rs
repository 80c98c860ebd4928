//! The grid of pieces: rows of place, recipe, count, rule, note. Other rooms read their own grids through it
//! (how: the doc of [`crate::events`]).

use serde::Deserialize;

use crate::events::counts::{Made, Party};
use crate::events::recipe_names::RecipeNames;
use crate::events::{CountRule, NewPiece, Piece, fingerprint};
use crate::ground::choice::Choice;
use crate::ground::formats::{Formats, clipped};
use crate::ground::ids::RecipeId;
use crate::ground::near_names;
use crate::ground::quantity::Quantity;
use crate::web::forms::{Checker, Difference, FieldErrors};

/// The most rows that are read.
const MOST_ROWS: usize = 500;

/// What was typed: parallel columns, one entry of each a row.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PieceRows {
    /// The [`fingerprint`] of the pieces as they were when the page was made.
    pub seen: String,
    pub piece_id: Vec<String>,
    pub place: Vec<String>,
    pub recipe: Vec<String>,
    pub count: Vec<String>,
    pub rule: Vec<String>,
    pub note: Vec<String>,
}

/// One row as typed.
#[derive(Debug, Clone, Copy, Default)]
pub struct PieceRow<'a> {
    pub id: &'a str,
    pub place: &'a str,
    pub recipe: &'a str,
    pub count: &'a str,
    pub rule: &'a str,
    pub note: &'a str,
}

impl PieceRow<'_> {
    /// Whether nothing was typed. A place alone is something: it says where a piece is still missing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        [self.place, self.recipe, self.count, self.note].iter().all(|cell| cell.trim().is_empty())
    }

    /// How many are made, as far as count and rule can be read.
    #[must_use]
    pub fn made(&self, party: &Party, formats: &Formats) -> Option<Made> {
        let count = formats.read_quantity(self.count).ok()?;
        Some(party.made(self.rule_or_number(), count))
    }

    /// The rule chosen; a number in all where none is.
    #[must_use]
    pub fn rule_or_number(&self) -> CountRule {
        CountRule::from_code(self.rule.trim()).unwrap_or(CountRule::Number)
    }
}

impl PieceRows {
    /// The grid filled in from an event's pieces.
    #[must_use]
    pub fn of(pieces: &[Piece], formats: &Formats) -> PieceRows {
        PieceRows {
            seen: fingerprint(pieces),
            piece_id: pieces.iter().map(|piece| piece.id.to_string()).collect(),
            place: pieces.iter().map(|piece| piece.place.clone()).collect(),
            recipe: pieces.iter().map(|piece| piece.recipe.clone()).collect(),
            count: pieces.iter().map(|piece| formats.quantity(piece.count)).collect(),
            rule: pieces.iter().map(|piece| piece.rule.code().to_owned()).collect(),
            note: pieces.iter().map(|piece| piece.note.clone()).collect(),
        }
    }

    /// Every row as typed, in order, empty ones too.
    #[must_use]
    pub fn rows(&self) -> Vec<PieceRow<'_>> {
        let columns = [&self.place, &self.recipe, &self.count];
        let count = columns.iter().map(|column| column.len()).max().unwrap_or(0);
        (0..count).map(|row| self.row(row)).collect()
    }

    fn row(&self, row: usize) -> PieceRow<'_> {
        PieceRow {
            id: cell_at(&self.piece_id, row),
            place: cell_at(&self.place, row),
            recipe: cell_at(&self.recipe, row),
            count: cell_at(&self.count, row),
            rule: cell_at(&self.rule, row),
            note: cell_at(&self.note, row),
        }
    }

    /// Reads the rows: pieces, or every message, each at `{table}-{row}-{cell}`. Empty rows are skipped; a row without
    /// a place stands where the row above it does.
    pub fn parse(
        &self,
        table: &str,
        known: &RecipeNames,
        formats: &Formats,
    ) -> Result<Vec<NewPiece>, FieldErrors> {
        let mut c = Checker::new(formats);
        let rows = self.rows();
        if rows.len() > MOST_ROWS {
            c.refuse(table, format!("At most {MOST_ROWS} rows are kept; this has {}.", rows.len()));
            return c.done(Vec::new());
        }
        let mut place = String::new();
        let mut pieces = Vec::new();
        for (row, typed) in rows.iter().enumerate().filter(|(_, typed)| !typed.is_empty()) {
            let at = |cell: &str| format!("{table}-{row}-{cell}");
            let named = c.line(&at("place"), typed.place);
            if !named.is_empty() {
                place = named;
            } else if place.is_empty() && typed.place.trim().is_empty() {
                c.refuse(
                    at("place"),
                    "Write where it stands, such as Long room. Rows below may leave it empty.",
                );
            }
            pieces.push(NewPiece {
                row,
                id: typed.id.parse().ok(),
                place: place.clone(),
                recipe_id: recipe(&mut c, &at("recipe"), typed.recipe, known),
                rule: if typed.rule.trim().is_empty() {
                    CountRule::Number
                } else {
                    c.pick(&at("rule"), typed.rule)
                },
                count: count(&mut c, &at("count"), typed),
                note: c.line(&at("note"), typed.note),
            });
        }
        c.done(pieces)
    }

    /// Where these rows and the book's differ, row by row.
    #[must_use]
    pub fn differences(&self, theirs: &PieceRows) -> Vec<Difference> {
        let (mine, book) = (self.lines(), theirs.lines());
        let count = mine.len().max(book.len());
        let line = |lines: &[String], row: usize| lines.get(row).cloned().unwrap_or_default();
        (0..count)
            .map(|row| Difference { label: "Piece", yours: line(&mine, row), theirs: line(&book, row) })
            .filter(|difference| difference.yours != difference.theirs)
            .collect()
    }

    /// The rows as they read: `Long room: Low table centre, 14 in all`.
    fn lines(&self) -> Vec<String> {
        let rows = self.rows();
        let filled = rows.iter().filter(|row| !row.is_empty());
        filled
            .map(|row| {
                let note =
                    if row.note.trim().is_empty() { String::new() } else { format!(" ({})", row.note) };
                let rule = row.rule_or_number().label();
                format!("{}: {}, {} {rule}{note}", row.place, row.recipe, row.count)
            })
            .collect()
    }
}

fn cell_at(column: &[String], row: usize) -> &str {
    column.get(row).map_or("", String::as_str)
}

fn recipe(c: &mut Checker, field: &str, typed: &str, known: &RecipeNames) -> RecipeId {
    let name = typed.split_whitespace().collect::<Vec<_>>().join(" ");
    if name.is_empty() {
        c.refuse(field, "Write which recipe.");
    } else if let Some(id) = known.find(&name) {
        return id;
    } else {
        let near = near_names::suggestion(&known.near(&name));
        c.refuse(field, format!("No recipe is called \u{201c}{}\u{201d}.{near}", clipped(&name)));
    }
    RecipeId(0)
}

/// Above nothing; whole where it is a number in all.
fn count(c: &mut Checker, field: &str, row: &PieceRow) -> Quantity {
    let count = c.quantity(field, row.count);
    if row.rule_or_number() == CountRule::Number && !count.decimal().is_integer() {
        c.refuse(field, "Pieces in all are a whole number, as in 14.");
    }
    count
}
