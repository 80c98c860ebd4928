//! Reads the form as far as it goes, so that its figures follow the typing. What cannot be read yet counts as not typed.

use super::reading::{Known, discount};
use super::{QuoteForm, cell, is_share};
use crate::events::counts::Made;
use crate::events::forms::PieceRow;
use crate::ground::choice::Choice;
use crate::ground::quantity::Share;
use crate::quotes::ChargeKind;
use crate::quotes::draft::{Draft, DraftLine, Row};
use crate::quotes::tax::Tax;
use crate::quotes::totals::{ChargeRule, Discount};
use crate::web::forms::Checker;

impl QuoteForm {
    /// Whatever can be read of the form.
    #[must_use]
    pub fn draft(&self, known: &Known) -> Draft {
        let mut lines = self.piece_lines(known);
        lines.extend(self.own_lines(known));
        Draft {
            lines,
            discount: read_discount(&self.whole_discount, known),
            charges: self.charges(known),
            instalments: self.shares(known),
            inclusive: self.inclusive == "yes",
        }
    }

    fn piece_lines(&self, known: &Known) -> Vec<DraftLine> {
        let rows = self.piece_rows();
        let mut place = String::new();
        let mut lines = Vec::new();
        for (row, typed) in rows.rows().iter().enumerate() {
            if !typed.place.trim().is_empty() {
                place = typed.place.split_whitespace().collect::<Vec<_>>().join(" ");
            }
            lines.extend(self.piece_line(row, typed, &place, known));
        }
        lines
    }

    /// A row is a line once its recipe is known.
    fn piece_line(&self, row: usize, typed: &PieceRow, place: &str, known: &Known) -> Option<DraftLine> {
        let name = typed.recipe.split_whitespace().collect::<Vec<_>>().join(" ");
        let recipe = known.recipes.find(&name)?;
        let unread = Made { count: None, words: "Open: write a count.".into() };
        Some(DraftLine {
            row: Row::Piece(row),
            piece: typed.id.parse().ok(),
            recipe: Some(recipe),
            place: place.to_owned(),
            name,
            made: typed.made(&known.party, &known.formats).unwrap_or(unread),
            typed: read_money(cell(&self.price, row), known),
            discount: read_discount(cell(&self.discount, row), known),
            tax: tax(cell(&self.tax, row), known)?,
        })
    }

    fn own_lines(&self, known: &Known) -> Vec<DraftLine> {
        let rows = self.own_rows();
        let line = |(row, typed): (usize, &super::OwnRow)| {
            let typed_count = if typed.count.trim().is_empty() { "1" } else { typed.count.trim() };
            let count = typed_count.parse::<i64>().ok().filter(|count| (1..=100_000).contains(count));
            Some(DraftLine {
                row: Row::Own(row),
                piece: None,
                recipe: None,
                place: typed.place.trim().to_owned(),
                name: Some(typed.words.trim()).filter(|words| !words.is_empty())?.to_owned(),
                made: Made { count, words: typed_count.to_owned() },
                typed: read_money(typed.price, known),
                discount: read_discount(typed.discount, known),
                tax: tax(typed.tax, known)?,
            })
        };
        rows.iter().enumerate().filter_map(line).collect()
    }

    fn charges(&self, known: &Known) -> Vec<(ChargeKind, ChargeRule, Tax)> {
        let charge = |(row, kind): (usize, &ChargeKind)| {
            let raw = cell(&self.charge, row);
            let rule = if is_share(raw) {
                ChargeRule::Share(known.formats.read_share(raw).ok()?)
            } else {
                ChargeRule::Amount(read_money(raw, known)?)
            };
            Some((*kind, rule, tax(cell(&self.charge_tax, row), known)?))
        };
        ChargeKind::ALL.iter().enumerate().filter_map(charge).collect()
    }

    /// One a row, so that amounts stand beside their rows.
    fn shares(&self, known: &Known) -> Vec<Share> {
        let rows = self.part_rows();
        let filled = rows.iter().filter(|row| !row.is_empty());
        filled.map(|row| known.formats.read_share(row.share).unwrap_or_default()).collect()
    }
}

fn read_money(raw: &str, known: &Known) -> Option<crate::ground::money::Money> {
    let mut c = Checker::new(&known.formats);
    let amount = c.money_or_none("", raw);
    c.done(amount).ok().flatten()
}

fn read_discount(raw: &str, known: &Known) -> Discount {
    let mut c = Checker::new(&known.formats);
    let read = discount(&mut c, "", raw);
    c.done(read).unwrap_or_default()
}

fn tax(raw: &str, known: &Known) -> Option<Tax> {
    known.rate(raw).or_else(|| known.rates.first()).map(|rate| Tax { id: rate.id, rate: rate.rate })
}
