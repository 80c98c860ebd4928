//! The quote's sums against published example invoices: CEN EN 16931 and Peppol BIS Billing 3.0
//! (`fixtures/invoices.json`, source in the file).

use rust_decimal::Decimal;
use serde::Deserialize;
use trug::ground::ids::TaxRateId;
use trug::ground::money::Money;
use trug::ground::quantity::Share;
use trug::quotes::tax::{Sums, Tax, Taxable, sums};
use trug::quotes::totals::line_amount;

#[derive(Deserialize)]
struct File {
    invoices: Vec<Invoice>,
}

#[derive(Deserialize)]
struct Invoice {
    file: String,
    lines_recompute: bool,
    lines: Vec<Line>,
    document_level: Vec<Beside>,
    tax_subtotals: Vec<Subtotal>,
    tax_total: String,
    totals: Stated,
}

#[derive(Deserialize)]
struct Line {
    qty: String,
    unit_price: String,
    price_per: String,
    allowances: Vec<String>,
    charges: Vec<String>,
    net: String,
    tax: String,
    rate: String,
}

#[derive(Deserialize)]
struct Beside {
    kind: String,
    amount: String,
    tax: String,
    rate: String,
}

#[derive(Deserialize)]
struct Subtotal {
    tax: String,
    rate: String,
    base: String,
    amount: String,
}

#[derive(Deserialize)]
#[serde(rename_all = "PascalCase")]
#[expect(clippy::struct_field_names, reason = "the standard's own names")]
struct Stated {
    line_extension_amount: String,
    tax_exclusive_amount: String,
    tax_inclusive_amount: String,
    #[serde(default)]
    allowance_total_amount: String,
    #[serde(default)]
    charge_total_amount: String,
    #[serde(default)]
    prepaid_amount: String,
    payable_amount: String,
}

fn invoices() -> Vec<Invoice> {
    let file: File = serde_json::from_str(include_str!("../fixtures/invoices.json")).unwrap();
    assert_eq!(file.invoices.len(), 14);
    file.invoices
}

fn number(text: &str) -> Decimal {
    if text.is_empty() { Decimal::ZERO } else { text.parse().unwrap() }
}

/// All of them are in currencies of two decimals.
fn minor(amount: &str) -> Money {
    let minor = number(amount) * Decimal::ONE_HUNDRED;
    assert!(minor.is_integer(), "{amount}");
    Money::rounded(minor)
}

fn all(amounts: &[String]) -> Money {
    amounts.iter().map(|amount| minor(amount)).sum()
}

/// A category and its rate are one tax: S 25 and S 12 are two, E 0 and Z 0 are two.
fn tax(category: &str, percent: &str) -> Tax {
    let rate = i64::try_from(number(percent) * Decimal::from(10_000)).unwrap();
    let category = i64::from(category.bytes().next().unwrap());
    Tax { id: TaxRateId(category * 10_000_000 + rate), rate: Share::from_raw(rate) }
}

fn reckoned(invoice: &Invoice) -> Sums {
    let line = |line: &Line| Taxable { tax: tax(&line.tax, &line.rate), amount: minor(&line.net) };
    let lines: Vec<Taxable> = invoice.lines.iter().map(line).collect();
    let beside = |kind: &str| -> Vec<Taxable> {
        let of_kind = invoice.document_level.iter().filter(|beside| beside.kind == kind);
        of_kind
            .map(|beside| Taxable { tax: tax(&beside.tax, &beside.rate), amount: minor(&beside.amount) })
            .collect()
    };
    sums(&lines, &beside("allowance"), &beside("charge"), false)
}

#[test]
fn every_line_that_multiplies_out_does_so_here() {
    let mut checked = 0;
    for invoice in invoices().iter().filter(|invoice| invoice.lines_recompute) {
        for line in &invoice.lines {
            let price = number(&line.unit_price) * Decimal::ONE_HUNDRED;
            let amount = line_amount(
                number(&line.qty),
                price,
                number(&line.price_per),
                all(&line.allowances),
                all(&line.charges),
            );
            assert_eq!(amount, minor(&line.net), "{}", invoice.file);
            checked += 1;
        }
    }
    assert_eq!(checked, 26);
}

#[test]
fn every_tax_subtotal_is_the_printed_one() {
    let mut checked = 0;
    for invoice in invoices() {
        let sums = reckoned(&invoice);
        assert_eq!(sums.taxes.len(), invoice.tax_subtotals.len(), "{}", invoice.file);
        for printed in &invoice.tax_subtotals {
            let id = tax(&printed.tax, &printed.rate).id;
            let ours = sums.taxes.iter().find(|subtotal| subtotal.tax.id == id).unwrap();
            assert_eq!(
                (ours.net, ours.amount),
                (minor(&printed.base), minor(&printed.amount)),
                "{}",
                invoice.file
            );
            checked += 1;
        }
        assert_eq!(sums.tax, minor(&invoice.tax_total), "{}", invoice.file);
    }
    assert_eq!(checked, 22);
}

#[test]
fn every_total_is_the_printed_one() {
    for invoice in invoices() {
        let (sums, stated) = (reckoned(&invoice), &invoice.totals);
        assert_eq!(sums.lines, minor(&stated.line_extension_amount), "{}", invoice.file);
        assert_eq!(sums.allowances, minor(&stated.allowance_total_amount), "{}", invoice.file);
        assert_eq!(sums.charges, minor(&stated.charge_total_amount), "{}", invoice.file);
        assert_eq!(sums.before_tax, minor(&stated.tax_exclusive_amount), "{}", invoice.file);
        assert_eq!(sums.total, minor(&stated.tax_inclusive_amount), "{}", invoice.file);
        assert_eq!(
            sums.total - minor(&stated.prepaid_amount),
            minor(&stated.payable_amount),
            "{}",
            invoice.file
        );
    }
}
