//! The form filled in from the book, or from the studio's settings before there is a quote.

use std::collections::HashMap;

use super::{QuoteForm, share_text};
use crate::events::Piece;
use crate::events::forms::PieceRows;
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::PieceId;
use crate::quotes::totals::{ChargeRule, Discount};
use crate::quotes::{ChargeKind, Instalment, LineTerms, Quote};
use crate::studio::Studio;

/// A new quote holds for so many days unless something else is typed (the studio may change it each time).
const HOLDS_DAYS: i64 = 14;

impl QuoteForm {
    /// A quote that is not begun: the event's pieces at computed prices, the studio's terms.
    #[must_use]
    pub fn blank(pieces: &[Piece], studio: &Studio, today: Day) -> QuoteForm {
        QuoteForm {
            version: "0".into(),
            inclusive: yes_no(studio.prices_include_tax),
            valid_until: today.plus(HOLDS_DAYS).to_string(),
            words: studio.greeting.clone(),
            terms: studio.terms.clone(),
            ..QuoteForm::default()
        }
        .with_pieces(pieces, &HashMap::new(), studio.formats)
    }

    /// The form of a quote.
    #[must_use]
    pub fn of(quote: &Quote, pieces: &[Piece], formats: &Formats) -> QuoteForm {
        let f = *formats;
        let own = &quote.own;
        let charge = |kind: &ChargeKind| quote.charges.iter().find(|charge| charge.kind == *kind);
        let terms: HashMap<PieceId, LineTerms> = quote.pieces.iter().copied().collect();
        QuoteForm {
            version: quote.version.to_string(),
            own_place: own.iter().map(|line| line.place.clone()).collect(),
            own_words: own.iter().map(|line| line.words.clone()).collect(),
            own_count: own.iter().map(|line| line.count.to_string()).collect(),
            own_price: own.iter().map(|line| f.money_input(line.price)).collect(),
            own_discount: own.iter().map(|line| discount_text(line.discount, f)).collect(),
            own_tax: own.iter().map(|line| line.tax.to_string()).collect(),
            charge: ChargeKind::ALL
                .iter()
                .map(|kind| charge(kind).map_or_else(String::new, |c| rule_text(c.rule, f)))
                .collect(),
            charge_tax: ChargeKind::ALL
                .iter()
                .map(|kind| charge(kind).map_or_else(String::new, |c| c.tax.to_string()))
                .collect(),
            whole_discount: discount_text(quote.discount, f),
            inclusive: yes_no(quote.inclusive),
            valid_until: quote.wording.valid_until.map(|day| day.to_string()).unwrap_or_default(),
            words: quote.wording.words.clone(),
            terms: quote.wording.terms.clone(),
            ..QuoteForm::default()
        }
        .with_pieces(pieces, &terms, f)
        .with_parts(&quote.instalments, f)
    }

    /// The same form with these parts of the payment.
    #[must_use]
    pub fn with_parts(self, parts: &[Instalment], f: Formats) -> QuoteForm {
        let due = |part: &Instalment| part.due_on.map(|day| day.to_string()).unwrap_or_default();
        QuoteForm {
            part_label: parts.iter().map(|part| part.label.clone()).collect(),
            part_share: parts.iter().map(|part| f.share_input(part.share)).collect(),
            part_due: parts.iter().map(due).collect(),
            ..self
        }
    }

    fn with_pieces(self, pieces: &[Piece], terms: &HashMap<PieceId, LineTerms>, f: Formats) -> QuoteForm {
        let rows = PieceRows::of(pieces, &f);
        let of = |piece: &Piece| terms.get(&piece.id);
        let price = |piece: &Piece| of(piece)?.typed_price.map(|price| f.money_input(price));
        QuoteForm {
            seen: rows.seen,
            piece_id: rows.piece_id,
            place: rows.place,
            recipe: rows.recipe,
            count: rows.count,
            rule: rows.rule,
            note: rows.note,
            price: pieces.iter().map(|piece| price(piece).unwrap_or_default()).collect(),
            discount: pieces
                .iter()
                .map(|piece| of(piece).map_or_else(String::new, |terms| discount_text(terms.discount, f)))
                .collect(),
            tax: pieces
                .iter()
                .map(|piece| of(piece).map_or_else(String::new, |terms| terms.tax.to_string()))
                .collect(),
            ..self
        }
    }
}

fn yes_no(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}

fn discount_text(discount: Discount, f: Formats) -> String {
    match discount {
        Discount::None => String::new(),
        Discount::Share(share) => share_text(share, f),
        Discount::Amount(amount) => f.money_input(amount),
    }
}

fn rule_text(rule: ChargeRule, f: Formats) -> String {
    match rule {
        ChargeRule::Share(share) => share_text(share, f),
        ChargeRule::Amount(amount) => f.money_input(amount),
    }
}
