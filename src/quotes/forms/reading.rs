//! Reads the form to be kept: a quote, or every message at its field.

use rust_decimal::Decimal;

use super::{QuoteForm, cell, is_share};
use crate::events::counts::Party;
use crate::events::forms::PieceRow;
use crate::events::recipe_names::RecipeNames;
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::TaxRateId;
use crate::ground::quantity::Share;
use crate::quotes::totals::{ChargeRule, Discount};
use crate::quotes::{ChargeKind, Instalment, LineTerms, NewCharge, NewQuote, OwnLine, Wording};
use crate::studio::TaxRate;
use crate::web::forms::{Checker, FieldErrors};

/// What a quote's form may name.
#[derive(Debug, Clone)]
pub struct Known {
    /// Recipes by name.
    pub recipes: RecipeNames,
    /// Tax rates, the usual one first. Never empty: without a rate there is no form.
    pub rates: Vec<TaxRate>,
    /// What counts go by.
    pub party: Party,
    /// How the studio writes.
    pub formats: Formats,
}

impl Known {
    /// The rate with a typed identity; the usual one where none is typed.
    #[must_use]
    pub fn rate(&self, raw: &str) -> Option<&TaxRate> {
        if raw.trim().is_empty() {
            return self.rates.first();
        }
        let id: TaxRateId = raw.parse().ok()?;
        self.rates.iter().find(|rate| rate.id == id)
    }
}

/// The most own lines, and the most parts of a payment, that are read.
const MOST_ROWS: usize = 200;

impl QuoteForm {
    /// Reads the form: a quote, or every message.
    pub fn parse(&self, known: &Known) -> Result<NewQuote, FieldErrors> {
        let mut c = Checker::new(&known.formats);
        let pieces = self.piece_rows().parse("pieces", &known.recipes, &known.formats);
        let pieces = pieces.unwrap_or_else(|errors| {
            for (field, message) in errors.list() {
                c.refuse(field.clone(), message.clone());
            }
            Vec::new()
        });
        self.refuse_terms_of_no_piece(&mut c);
        let terms = pieces.iter().map(|piece| self.terms_of(&mut c, piece.row, known)).collect();
        let new = NewQuote {
            terms,
            own: self.parse_own(&mut c, known),
            discount: discount(&mut c, "whole_discount", &self.whole_discount),
            charges: self.parse_charges(&mut c, known),
            instalments: self.parse_parts(&mut c),
            inclusive: self.inclusive == "yes",
            wording: Wording {
                words: c.text("words", &self.words),
                terms: c.text("terms", &self.terms),
                valid_until: c.day_or_none("valid_until", &self.valid_until),
            },
            pieces,
        };
        c.done(new)
    }

    /// Days of parts that are past: such a part would be late as soon as it is agreed. A day that stands already may stay.
    #[must_use]
    pub fn past_dues(&self, kept: &[Instalment], today: Day) -> FieldErrors {
        let mut errors = FieldErrors::default();
        for (row, typed) in self.part_rows().iter().enumerate().filter(|(_, typed)| !typed.is_empty()) {
            let day = typed.due.trim().parse::<Day>().ok();
            let stands = kept.iter().any(|part| part.due_on == day);
            if day.is_some_and(|day| day < today) && !stands {
                errors.add(format!("parts-{row}-due"), "That day is past: the part would be late at once.");
            }
        }
        errors
    }

    fn terms_of(&self, c: &mut Checker, row: usize, known: &Known) -> LineTerms {
        let at = |cell: &str| format!("pieces-{row}-{cell}");
        LineTerms {
            typed_price: c.money_or_none(&at("price"), cell(&self.price, row)),
            discount: discount(c, &at("discount"), cell(&self.discount, row)),
            tax: rate(c, &at("tax"), cell(&self.tax, row), known),
        }
    }

    /// A price beside an empty piece would be lost without a word.
    fn refuse_terms_of_no_piece(&self, c: &mut Checker) {
        let rows = self.piece_rows();
        let rows = rows.rows();
        for row in 0..self.price.len().max(self.discount.len()) {
            let empty = rows.get(row).is_none_or(PieceRow::is_empty);
            let kept = cell(&self.piece_id, row).trim().is_empty();
            let typed =
                [&self.price, &self.discount].iter().any(|column| !cell(column, row).trim().is_empty());
            // A known piece whose row was emptied goes, and its price with it.
            if empty && kept && typed {
                c.refuse(
                    format!("pieces-{row}-recipe"),
                    "Write which piece this price is for, or empty the row.",
                );
            }
        }
    }

    fn parse_own(&self, c: &mut Checker, known: &Known) -> Vec<OwnLine> {
        let rows = self.own_rows();
        if rows.len() > MOST_ROWS {
            c.refuse("own-0-words", format!("At most {MOST_ROWS} lines are kept; this has {}.", rows.len()));
            return Vec::new();
        }
        let mut lines = Vec::new();
        for (row, typed) in rows.iter().enumerate().filter(|(_, typed)| !typed.is_empty()) {
            let at = |cell: &str| format!("own-{row}-{cell}");
            let count = if typed.count.trim().is_empty() { "1" } else { typed.count };
            lines.push(OwnLine {
                place: c.line(&at("place"), typed.place),
                words: c.name(&at("words"), typed.words, "what it is"),
                count: c.whole(&at("count"), count, 1..=100_000),
                price: c.money(&at("price"), typed.price),
                discount: discount(c, &at("discount"), typed.discount),
                tax: rate(c, &at("tax"), typed.tax, known),
            });
        }
        lines
    }

    fn parse_charges(&self, c: &mut Checker, known: &Known) -> Vec<NewCharge> {
        let mut charges = Vec::new();
        for (row, kind) in ChargeKind::ALL.iter().enumerate() {
            let (raw, at) = (cell(&self.charge, row).trim(), format!("charge-{row}"));
            if raw.is_empty() {
                continue;
            }
            let rule = if is_share(raw) {
                ChargeRule::Share(c.share(&at, raw))
            } else {
                ChargeRule::Amount(c.money(&at, raw))
            };
            let tax = rate(c, &format!("charge_tax-{row}"), cell(&self.charge_tax, row), known);
            charges.push(NewCharge { kind: *kind, rule, tax });
        }
        charges
    }

    fn parse_parts(&self, c: &mut Checker) -> Vec<Instalment> {
        let rows = self.part_rows();
        if rows.len() > MOST_ROWS {
            c.refuse(
                "parts-0-label",
                format!("At most {MOST_ROWS} parts are kept; this has {}.", rows.len()),
            );
            return Vec::new();
        }
        let mut parts = Vec::new();
        let mut last = 0;
        for (row, typed) in rows.iter().enumerate().filter(|(_, typed)| !typed.is_empty()) {
            let at = |cell: &str| format!("parts-{row}-{cell}");
            let share = c.share(&at("share"), typed.share);
            if share == Share::default() && !typed.share.trim().is_empty() {
                c.refuse(at("share"), "A part of the payment is more than 0 %.");
            }
            let label = c.name(&at("label"), typed.label, "what it is called, such as On accepting");
            parts.push(Instalment { label, share, due_on: c.day_or_none(&at("due"), typed.due) });
            last = row;
        }
        refuse_unless_whole(c, &parts, &format!("parts-{last}-share"));
        parts
    }
}

/// Parts of a payment make up the whole of it.
fn refuse_unless_whole(c: &mut Checker, parts: &[Instalment], at: &str) {
    let sum: Decimal = parts.iter().map(|part| part.share.decimal()).sum();
    if !parts.is_empty() && sum != Decimal::ONE {
        let percent = (sum * Decimal::ONE_HUNDRED).normalize();
        c.refuse(at, format!("The parts make up {percent} %; together they must be 100 %."));
    }
}

/// `10 %` is a share, `25.00` an amount; nothing and 0 are none.
pub(super) fn discount(c: &mut Checker, field: &str, raw: &str) -> Discount {
    if raw.trim().is_empty() {
        return Discount::None;
    }
    let discount = if is_share(raw) {
        Discount::Share(c.share(field, raw))
    } else {
        Discount::Amount(c.money(field, raw))
    };
    match discount {
        Discount::Share(share) if share == Share::default() => Discount::None,
        Discount::Amount(amount) if amount.is_zero() => Discount::None,
        other => other,
    }
}

fn rate(c: &mut Checker, field: &str, raw: &str, known: &Known) -> TaxRateId {
    known.rate(raw).map_or_else(
        || {
            c.refuse(field, "Choose one of the studio's tax rates.");
            TaxRateId(0)
        },
        |rate| rate.id,
    )
}

#[cfg(test)]
mod tests;
