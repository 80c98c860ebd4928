//! The quote's form: the event's pieces with their terms, lines of its own, charges, payment, words. It is read twice:
//! strictly to be kept ([`QuoteForm::parse`]), and as far as it goes to be priced while one types ([`QuoteForm::draft`]).

mod acceptance;
mod answer;
mod decline;
mod filling;
mod reading;
mod sketch;
mod what_if;

pub use acceptance::AcceptanceForm;
pub use decline::DeclineForm;
pub use reading::Known;
pub use what_if::WhatIfForm;

use serde::Deserialize;

use crate::events::forms::PieceRows;
use crate::ground::formats::Formats;
use crate::web::forms::{Difference, differences};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct QuoteForm {
    /// The quote's version; 0 before it is begun.
    pub version: String,
    /// The fingerprint of the event's pieces as they were when the page was made.
    pub seen: String,
    /// `document`: after saving, on to the document.
    pub then: String,

    pub piece_id: Vec<String>,
    pub place: Vec<String>,
    pub recipe: Vec<String>,
    pub count: Vec<String>,
    pub rule: Vec<String>,
    pub note: Vec<String>,
    pub price: Vec<String>,
    pub discount: Vec<String>,
    pub tax: Vec<String>,

    pub own_place: Vec<String>,
    pub own_words: Vec<String>,
    pub own_count: Vec<String>,
    pub own_price: Vec<String>,
    pub own_discount: Vec<String>,
    pub own_tax: Vec<String>,

    /// One of each a kind, in the kinds' order.
    pub charge: Vec<String>,
    pub charge_tax: Vec<String>,
    pub whole_discount: String,

    pub part_label: Vec<String>,
    pub part_share: Vec<String>,
    pub part_due: Vec<String>,

    pub inclusive: String,
    pub valid_until: String,
    pub words: String,
    pub terms: String,
}

/// One row of the quote's own lines.
#[derive(Debug, Clone, Copy, Default)]
pub struct OwnRow<'a> {
    pub place: &'a str,
    pub words: &'a str,
    pub count: &'a str,
    pub price: &'a str,
    pub discount: &'a str,
    pub tax: &'a str,
}

/// One row of the payment.
#[derive(Debug, Clone, Copy, Default)]
pub struct PartRow<'a> {
    pub label: &'a str,
    pub share: &'a str,
    pub due: &'a str,
}

impl OwnRow<'_> {
    /// Whether nothing was typed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        [self.place, self.words, self.count, self.price, self.discount]
            .iter()
            .all(|cell| cell.trim().is_empty())
    }
}

impl PartRow<'_> {
    /// Whether nothing was typed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        [self.label, self.share, self.due].iter().all(|cell| cell.trim().is_empty())
    }
}

/// The entry of a column in a row; empty where the column is shorter.
#[must_use]
pub fn cell(column: &[String], row: usize) -> &str {
    column.get(row).map_or("", String::as_str)
}

impl QuoteForm {
    /// The event's grid inside this one. A row that is emptied takes its hidden note with it.
    #[must_use]
    pub fn piece_rows(&self) -> PieceRows {
        let emptied = |row: usize| {
            [&self.place, &self.recipe, &self.count].iter().all(|column| cell(column, row).trim().is_empty())
        };
        let note = self.note.iter().enumerate();
        PieceRows {
            seen: self.seen.clone(),
            piece_id: self.piece_id.clone(),
            place: self.place.clone(),
            recipe: self.recipe.clone(),
            count: self.count.clone(),
            rule: self.rule.clone(),
            note: note.map(|(row, note)| if emptied(row) { String::new() } else { note.clone() }).collect(),
        }
    }

    /// The quote's own lines as typed, in order, empty ones too.
    #[must_use]
    pub fn own_rows(&self) -> Vec<OwnRow<'_>> {
        let row = |row| OwnRow {
            place: cell(&self.own_place, row),
            words: cell(&self.own_words, row),
            count: cell(&self.own_count, row),
            price: cell(&self.own_price, row),
            discount: cell(&self.own_discount, row),
            tax: cell(&self.own_tax, row),
        };
        (0..self.own_words.len()).map(row).collect()
    }

    /// The payment's rows as typed, in order, empty ones too.
    #[must_use]
    pub fn part_rows(&self) -> Vec<PartRow<'_>> {
        let row = |row| PartRow {
            label: cell(&self.part_label, row),
            share: cell(&self.part_share, row),
            due: cell(&self.part_due, row),
        };
        (0..self.part_label.len()).map(row).collect()
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &QuoteForm) -> Vec<Difference> {
        let mut found = self.piece_rows().differences(&theirs.piece_rows());
        let joined = |columns: &[&Vec<String>]| {
            let all = columns.iter().flat_map(|column| column.iter());
            all.filter(|cell| !cell.trim().is_empty()).cloned().collect::<Vec<_>>().join(", ")
        };
        let prices = |form: &QuoteForm| joined(&[&form.price]);
        let discounts = |form: &QuoteForm| joined(&[&form.discount]);
        let own = |form: &QuoteForm| joined(&[&form.own_words, &form.own_count, &form.own_price]);
        let charges = |form: &QuoteForm| joined(&[&form.charge]);
        let parts = |form: &QuoteForm| joined(&[&form.part_label, &form.part_share, &form.part_due]);
        found.extend(differences(&[
            ("Typed prices", &prices(self), &prices(theirs)),
            ("Discounts of lines", &discounts(self), &discounts(theirs)),
            ("Other lines", &own(self), &own(theirs)),
            ("Charges", &charges(self), &charges(theirs)),
            ("Discount", &self.whole_discount, &theirs.whole_discount),
            ("Payment", &parts(self), &parts(theirs)),
            ("Prices include tax", &self.inclusive, &theirs.inclusive),
            ("Holds until", &self.valid_until, &theirs.valid_until),
            ("Words", &self.words, &theirs.words),
            ("Terms", &self.terms, &theirs.terms),
        ]));
        found
    }
}

/// A discount or a charge as a field holds it: `10 %` is a share, `25.00` an amount.
pub(super) fn is_share(raw: &str) -> bool {
    raw.trim().ends_with('%')
}

/// How a share stands in such a field.
pub(super) fn share_text(share: crate::ground::quantity::Share, formats: Formats) -> String {
    format!("{} %", formats.share_input(share))
}
