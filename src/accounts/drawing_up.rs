//! Drawing up an invoice's figures: a part of the whole, all that is left of it, taking one back.
//!
//! Every part carries the whole's tax rates in proportion. The tax of all of an event's invoices together is the tax of
//! the accepted version, to the minor unit; so that of the final invoice is what is left of it.
//!
//! May import: `rust_decimal`, plain values of the ground, the room's own figures, quotes' tax.

use rust_decimal::Decimal;

use super::document::{Document, Earlier, Figures, Line, TaxPart};
use crate::ground::largest_remainder::split;
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::quotes::tax::tax_within;

/// An earlier invoice, with what credit notes leave of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Before {
    /// Which.
    pub invoice: Earlier,
    /// What is left of it, a tax rate each.
    pub left: Vec<TaxPart>,
}

/// A part of some taxed amounts: `amount` with its tax is split over the rates in proportion to what each comes to with
/// its tax, by largest remainder (C5); the tax in each part is part × rate ÷ (1 + rate), rounded half up once. Where a
/// rate's part is all that it comes to, net and tax are just those.
///
/// ```
/// use trug::accounts::{document::TaxPart, drawing_up::part_of};
/// use trug::ground::{money::Money, quantity::Share};
/// let whole = TaxPart {
///     id: None, name: "Standard".into(), rate: Share::from_raw(200_000), category: None, reason: String::new(),
///     net: Money::from_minor(140_645), amount: Money::from_minor(28_129),
/// };
/// // 506.32 of 1687.74: 84.39 of it is tax (506.32 × 0.2 ÷ 1.2 = 84.3867).
/// let [part] = part_of(&[whole], Money::from_minor(50_632)).try_into().unwrap();
/// assert_eq!((part.net.minor(), part.amount.minor()), (42_193, 8_439));
/// ```
#[must_use]
pub fn part_of(whole: &[TaxPart], amount: Money) -> Vec<TaxPart> {
    let weights: Vec<Decimal> = whole.iter().map(|tax| tax.gross().decimal()).collect();
    let parts = split(amount.minor(), &weights);
    let part = |(tax, gross): (&TaxPart, i64)| {
        let gross = Money::from_minor(gross);
        if gross == tax.gross() {
            return tax.clone();
        }
        let amount = tax_within(gross, tax.rate);
        TaxPart { net: gross - amount, amount, ..tax.clone() }
    };
    whole.iter().zip(parts).map(part).collect()
}

/// One line a rate for some taxed amounts, with the tax in them. Rates that come to nothing are left out.
#[must_use]
pub fn plain(taxes: &[TaxPart], name: &str, words: &str) -> Figures {
    let taxes: Vec<TaxPart> =
        taxes.iter().filter(|tax| !(tax.net.is_zero() && tax.amount.is_zero())).cloned().collect();
    let several = taxes.len() > 1;
    let line = |(place, tax): (usize, &TaxPart)| Line {
        group: String::new(),
        name: if several { format!("{name}, {}", tax.name) } else { name.to_owned() },
        words: words.to_owned(),
        count: if tax.gross() < Money::ZERO { -1 } else { 1 },
        price: if tax.gross() < Money::ZERO { -tax.gross() } else { tax.gross() },
        discount: Money::ZERO,
        amount: tax.gross(),
        net: tax.net,
        tax: place,
    };
    let lines = taxes.iter().enumerate().map(line).collect();
    Figures::new(true, lines, (Vec::new(), Vec::new()), taxes)
}

/// All that is left of a whole after earlier invoices: its lines, then each earlier invoice deducted, a line a tax rate.
/// A rate's taxable amount and tax are the whole's less those of the earlier invoices.
#[must_use]
pub fn what_is_left(whole: &Figures, before: &[Before]) -> Figures {
    let mut taxes = whole.taxes.clone();
    let mut lines = whole.lines.clone();
    for earlier in before {
        for part in earlier.left.iter().filter(|part| !(part.net.is_zero() && part.amount.is_zero())) {
            let known = taxes.iter().position(|tax| tax.is_same_rate(part));
            let place = known.unwrap_or_else(|| {
                taxes.push(TaxPart { net: Money::ZERO, amount: Money::ZERO, ..part.clone() });
                taxes.len() - 1
            });
            taxes[place].net = taxes[place].net - part.net;
            taxes[place].amount = taxes[place].amount - part.amount;
            lines.push(deduction(&earlier.invoice, part, place, whole.inclusive));
        }
    }
    Figures::new(whole.inclusive, lines, (whole.off.clone(), whole.charges.clone()), taxes)
}

fn deduction(earlier: &Earlier, part: &TaxPart, tax: usize, inclusive: bool) -> Line {
    let shown = if inclusive { part.gross() } else { part.net };
    let (count, price) = if shown < Money::ZERO { (1, -shown) } else { (-1, shown) };
    Line {
        group: "Invoiced before".to_owned(),
        name: format!("Invoice {}, {}", earlier.number, part.name),
        words: String::new(),
        count,
        price,
        discount: Money::ZERO,
        amount: -shown,
        net: -part.net,
        tax,
    }
}

/// What credit notes leave of an invoice, a tax rate each, in the invoice's order.
#[must_use]
pub fn left_of(invoice: &Figures, credits: &[&Figures]) -> Vec<TaxPart> {
    let mut left = invoice.taxes.clone();
    for credited in credits.iter().flat_map(|credit| &credit.taxes) {
        if let Some(tax) = left.iter_mut().find(|tax| tax.is_same_rate(credited)) {
            tax.net = tax.net - credited.net;
            tax.amount = tax.amount - credited.amount;
        }
    }
    left
}

/// The figures of a credit note over `amount` of what is left of an invoice. All of it mirrors what is left to the minor
/// unit (an invoice that was not credited yet: line by line); a part is [`part_of`] it.
#[must_use]
pub fn credit(invoice: &Document, credits: &[&Figures], amount: Money) -> Figures {
    let left = left_of(&invoice.figures, credits);
    let all = left.iter().map(TaxPart::gross).sum::<Money>();
    let name = format!("Of invoice {}", invoice.number);
    if amount != all {
        return plain(&part_of(&left, amount), &name, "");
    }
    if credits.is_empty() { invoice.figures.clone() } else { plain(&left, &name, "The rest of it") }
}

/// A line of an invoice that stands beside the quote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Extra {
    /// What it is.
    pub name: String,
    /// How many.
    pub count: i64,
    /// For how much each.
    pub price: Money,
    /// Its rate, with nothing reckoned yet.
    pub tax: TaxPart,
}

/// The figures of lines that are typed in: a rate's lines are summed and its tax is rounded half up once (EN 16931,
/// BR-CO-17), or taken out of the sum where prices include it.
#[must_use]
pub fn extras(lines: &[Extra], inclusive: bool) -> Figures {
    let mut taxes: Vec<TaxPart> = Vec::new();
    let mut shown: Vec<Line> = Vec::new();
    for extra in lines {
        let known = taxes.iter().position(|tax| tax.is_same_rate(&extra.tax));
        let tax = known.unwrap_or_else(|| {
            taxes.push(TaxPart { net: Money::ZERO, amount: Money::ZERO, ..extra.tax.clone() });
            taxes.len() - 1
        });
        let amount = extra.price.times(extra.count);
        taxes[tax].net += amount;
        shown.push(Line {
            group: String::new(),
            name: extra.name.clone(),
            words: String::new(),
            count: extra.count,
            price: extra.price,
            discount: Money::ZERO,
            amount,
            net: amount,
            tax,
        });
    }
    for (place, tax) in taxes.iter_mut().enumerate() {
        reckon(place, tax, &mut shown, inclusive);
    }
    Figures::new(inclusive, shown, (Vec::new(), Vec::new()), taxes)
}

fn reckon(place: usize, tax: &mut TaxPart, lines: &mut [Line], inclusive: bool) {
    if !inclusive {
        tax.amount = tax_on(tax.net, tax.rate);
        return;
    }
    let gross = tax.net;
    tax.amount = tax_within(gross, tax.rate);
    tax.net = gross - tax.amount;
    let of_rate: Vec<&mut Line> = lines.iter_mut().filter(|line| line.tax == place).collect();
    let weights: Vec<Decimal> = of_rate.iter().map(|line| line.amount.decimal()).collect();
    for (line, net) in of_rate.into_iter().zip(split(tax.net.minor(), &weights)) {
        line.net = Money::from_minor(net);
    }
}

/// The tax on an amount without it: amount × rate, rounded half up to the minor unit.
fn tax_on(net: Money, rate: Share) -> Money {
    Money::rounded(net.decimal() * rate.decimal())
}

#[cfg(test)]
mod tests;
