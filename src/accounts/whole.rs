//! What an accepted version comes to, as an invoice's lines: each with its amount without tax, a tax rate at a time, so
//! that lines, allowances and charges add up to every rate's taxable amount.
//!
//! May import: `rust_decimal`, plain values of the ground and of quotes.

use rust_decimal::Decimal;

use super::document::{Beside, Figures, Line, TaxPart};
use crate::ground::ids::TaxRateId;
use crate::ground::largest_remainder::split;
use crate::ground::money::Money;
use crate::quotes::document::{Document as Quote, DocumentLine};

/// The figures of an accepted version. Lines whose count is open are in no total and are left out. The total, the taxable
/// amounts and the taxes are the version's own, to the minor unit.
///
/// A version from before lines kept their tax rate becomes one line a rate, unless it has a single rate.
#[must_use]
pub fn whole(quote: &Quote) -> Figures {
    let taxes: Vec<TaxPart> = quote
        .taxes
        .iter()
        .map(|tax| TaxPart {
            id: tax.id,
            name: tax.name.clone(),
            rate: tax.rate,
            category: None,
            reason: String::new(),
            net: tax.net,
            amount: tax.amount,
        })
        .collect();
    line_by_line(quote, &taxes).unwrap_or_else(|| rate_by_rate(quote.inclusive, taxes))
}

fn line_by_line(quote: &Quote, taxes: &[TaxPart]) -> Option<Figures> {
    let mut lines = Vec::new();
    for place in &quote.places {
        for of in &place.lines {
            if let Some(amount) = of.amount {
                lines.push(line(&place.place, of, amount, place_of(taxes, of.tax)?));
            }
        }
    }
    let mut charges = Vec::new();
    for charge in &quote.charges {
        let tax = place_of(taxes, charge.tax)?;
        charges.push(Beside {
            what: charge.label().to_owned(),
            amount: charge.amount,
            net: charge.amount,
            tax,
        });
    }
    let mut off = Vec::new();
    for (place, tax) in taxes.iter().enumerate() {
        let base = if quote.inclusive { tax.gross() } else { tax.net };
        let shown: Money = lines.iter().filter(|line| line.tax == place).map(|line| line.amount).sum();
        let added: Money =
            charges.iter().filter(|beside| beside.tax == place).map(|beside| beside.amount).sum();
        let amount = shown + added - base;
        if amount < Money::ZERO {
            return None;
        }
        if !amount.is_zero() {
            off.push(Beside { what: "Discount".to_owned(), amount, net: amount, tax: place });
        }
    }
    if quote.inclusive {
        take_tax_out(&mut lines, &mut off, &mut charges, taxes);
    }
    Some(Figures::new(quote.inclusive, lines, (off, charges), taxes.to_vec()))
}

fn place_of(taxes: &[TaxPart], id: Option<TaxRateId>) -> Option<usize> {
    match taxes {
        [_] => Some(0),
        many => many.iter().position(|tax| tax.id.is_some() && tax.id == id),
    }
}

fn line(group: &str, of: &DocumentLine, amount: Money, tax: usize) -> Line {
    Line {
        group: group.to_owned(),
        name: of.name.clone(),
        words: of.words.clone(),
        count: of.count.unwrap_or(1),
        price: of.price,
        discount: of.discount.amount,
        amount,
        net: amount,
        tax,
    }
}

/// Splits each rate's taxable amount over its lines, allowances and charges: an allowance is its share rounded half up,
/// lines and charges divide what that leaves by largest remainder (C5), so that they add up to it exactly.
fn take_tax_out(lines: &mut [Line], off: &mut [Beside], charges: &mut [Beside], taxes: &[TaxPart]) {
    for (place, tax) in taxes.iter().enumerate() {
        let mut positives = tax.net;
        for beside in off.iter_mut().filter(|beside| beside.tax == place) {
            if !tax.gross().is_zero() {
                beside.net =
                    Money::rounded(beside.amount.decimal() * tax.net.decimal() / tax.gross().decimal());
            }
            positives += beside.net;
        }
        let of_lines =
            lines.iter_mut().filter(|line| line.tax == place).map(|line| (line.amount, &mut line.net));
        let of_charges = charges
            .iter_mut()
            .filter(|beside| beside.tax == place)
            .map(|beside| (beside.amount, &mut beside.net));
        let (amounts, nets): (Vec<Money>, Vec<&mut Money>) = of_lines.chain(of_charges).unzip();
        let weights: Vec<Decimal> = amounts.iter().map(|amount| amount.decimal()).collect();
        for (net, part) in nets.into_iter().zip(split(positives.minor(), &weights)) {
            *net = Money::from_minor(part);
        }
    }
}

fn rate_by_rate(inclusive: bool, taxes: Vec<TaxPart>) -> Figures {
    let line = |(place, tax): (usize, &TaxPart)| {
        let amount = if inclusive { tax.gross() } else { tax.net };
        Line {
            group: String::new(),
            name: format!("Flowers and services as quoted, {}", tax.name),
            words: String::new(),
            count: 1,
            price: amount,
            discount: Money::ZERO,
            amount,
            net: tax.net,
            tax: place,
        }
    };
    let lines = taxes.iter().enumerate().map(line).collect();
    Figures::new(inclusive, lines, (Vec::new(), Vec::new()), taxes)
}
