use proptest::prelude::*;

use super::*;
use crate::accounts::samples;
use crate::accounts::whole::whole;

fn m(minor: i64) -> Money {
    Money::from_minor(minor)
}

fn invoice(number: i64, figures: Figures) -> Document {
    Document { number: number.to_string(), ..samples::document(figures) }
}

fn before(document: &Document) -> Before {
    let invoice = Earlier { number: document.number.clone(), issued_on: document.issued_on };
    Before { invoice, left: document.figures.taxes.clone() }
}

/// What EN 16931 asks of a rate (BR-S-08): its taxable amount is the sum of its lines and charges less its allowances.
fn ties(figures: &Figures) -> bool {
    let of_rate = |place: usize| {
        let lines = figures.lines.iter().filter(|line| line.tax == place).map(|line| line.net).sum::<Money>();
        let charges = figures.charges.iter().filter(|one| one.tax == place).map(|one| one.net).sum::<Money>();
        let off = figures.off.iter().filter(|one| one.tax == place).map(|one| one.net).sum::<Money>();
        lines + charges - off
    };
    figures.taxes.iter().enumerate().all(|(place, tax)| of_rate(place) == tax.net)
        && figures.before_tax + figures.tax == figures.total
        && figures.lines.iter().all(|line| line.price.times(line.count) - line.discount == line.amount)
}

#[test]
fn a_deposit_and_the_final_invoice_are_the_quote() {
    // 14 × 86.00 + 6 × 14.50 less 5 % (64.55), delivery 180.00: 1406.45, tax 281.29, 1687.74 (quotes' own example).
    let whole = whole(&samples::quote(false));
    assert_eq!((whole.before_tax, whole.tax, whole.total), (m(140_645), m(28_129), m(168_774)));
    assert!(ties(&whole));
    let deposit = plain(&part_of(&whole.taxes, m(50_632)), "Deposit", "");
    let last = what_is_left(&whole, &[before(&invoice(1, deposit.clone()))]);
    assert!(ties(&deposit) && ties(&last));
    assert_eq!((last.before_tax, last.tax, last.total), (m(140_645 - 42_193), m(28_129 - 8_439), m(118_142)));
    let line = last.lines.last().unwrap();
    assert_eq!((line.name.as_str(), line.count, line.amount), ("Invoice 1, Standard", -1, m(-42_193)));
}

#[test]
fn a_credit_of_all_mirrors_the_invoice_and_one_of_a_part_leaves_the_rest() {
    let document = invoice(7, whole(&samples::quote(true)));
    let all = credit(&document, &[], document.figures.total);
    assert_eq!(all, document.figures);
    let part = credit(&document, &[], m(10_000));
    assert_eq!((part.total, ties(&part)), (m(10_000), true));
    let left = left_of(&document.figures, &[&part]);
    assert_eq!(left.iter().map(TaxPart::gross).sum::<Money>(), document.figures.total - m(10_000));
    let rest = credit(&document, &[&part], document.figures.total - m(10_000));
    let nothing = left_of(&document.figures, &[&part, &rest]);
    assert!(nothing.iter().all(|tax| tax.net.is_zero() && tax.amount.is_zero()));
}

#[test]
fn a_version_without_rates_at_its_lines_becomes_a_line_a_rate() {
    let mut quote = samples::quote_of_two_rates(false);
    for line in quote.places.iter_mut().flat_map(|place| &mut place.lines) {
        line.tax = None;
    }
    let whole = whole(&quote);
    assert_eq!((whole.lines.len(), whole.total, ties(&whole)), (2, quote.total, true));
}

proptest! {
    /// Whatever was quoted, invoiced in parts and credited: each document ties, and all together are the quote.
    #[test]
    fn all_invoices_together_are_the_quote(
        quote in samples::any_quote(), deposits in proptest::collection::vec(0_i64..60, 0..4), credited in 0_i64..101,
    ) {
        let whole = whole(&quote);
        prop_assert!(ties(&whole));
        prop_assert_eq!((whole.total, whole.before_tax), (quote.total, quote.before_tax));
        let mut earlier = Vec::new();
        for (number, per_cent) in (1..).zip(deposits) {
            let amount = Money::rounded(whole.total.decimal() * Decimal::new(per_cent, 2));
            let document = invoice(number, plain(&part_of(&whole.taxes, amount), "Part", ""));
            prop_assert!(ties(&document.figures));
            prop_assert_eq!(document.figures.total, amount);
            let back = Money::rounded(amount.decimal() * Decimal::new(credited, 2));
            let credit = credit(&document, &[], back);
            prop_assert_eq!((credit.total, ties(&credit)), (back, true));
            let left = left_of(&document.figures, &[&credit]);
            earlier.push(Before { left, ..before(&document) });
        }
        let last = what_is_left(&whole, &earlier);
        prop_assert!(ties(&last));
        let before: Vec<&TaxPart> = earlier.iter().flat_map(|one| &one.left).collect();
        prop_assert_eq!(last.total + before.iter().map(|part| part.gross()).sum::<Money>(), quote.total);
        prop_assert_eq!(last.tax + before.iter().map(|part| part.amount).sum::<Money>(), quote.tax());
    }

    /// A part's tax is taxable amount × rate, rounded half up (BR-CO-17 by its words), wherever any taxable amount comes to
    /// just this gross; where none does (0.03 at 20 %) it is a minor unit beside.
    #[test]
    fn a_part_is_exact_wherever_it_can_be(gross in 1_i64..3_000_000, rate in 1_i64..300_000) {
        let rate = Share::from_raw(rate);
        let net = gross - tax_within(m(gross), rate).minor();
        let tax = |net: i64| Money::rounded(Decimal::from(net) * rate.decimal()).minor();
        let exact = |net: i64| net + tax(net) == gross;
        prop_assert_eq!(exact(net), (net - 3..=net + 3).any(exact));
        prop_assert!((net + tax(net) - gross).abs() <= 1);
    }

    #[test]
    fn typed_lines_tie(
        lines in proptest::collection::vec((1_i64..200, 0_i64..500_000, 0_usize..3), 1..8), inclusive in any::<bool>(),
    ) {
        let rates = samples::rates();
        let extra = |(count, price, rate): (i64, i64, usize)| {
            Extra { name: "Candle".into(), count, price: m(price), tax: TaxPart::of(&rates[rate]) }
        };
        let lines: Vec<Extra> = lines.into_iter().map(extra).collect();
        let figures = extras(&lines, inclusive);
        prop_assert!(ties(&figures));
        if inclusive {
            prop_assert_eq!(figures.total, figures.lines_total);
        } else {
            prop_assert!(figures.taxes.iter().all(|tax| tax.amount == tax_on(tax.net, tax.rate)));
        }
    }
}
