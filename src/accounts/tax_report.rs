//! Tax by period and rate: what was invoiced less what was credited, by the documents' dates.
//!
//! May import: `csv`, plain values of the ground, the room's own documents, the price list's guard for cells.

use super::document::{Document, Kind, TaxPart};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::price_list::file::escape::guarded;

/// What one rate comes to in a period.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RateSum {
    /// Its name.
    pub name: String,
    /// How much of a hundred, as written.
    pub rate: crate::ground::quantity::Share,
    /// Without tax.
    pub net: Money,
    /// The tax.
    pub tax: Money,
}

impl RateSum {
    /// With tax.
    #[must_use]
    pub fn gross(&self) -> Money {
        self.net + self.tax
    }
}

/// The sums of a period, a row a rate; rates of the same name and per cent are one. Credit notes count below nothing.
/// The rows add up to the documents' totals.
#[must_use]
pub fn by_rate<'a>(documents: impl IntoIterator<Item = &'a Document>) -> Vec<RateSum> {
    let mut sums: Vec<RateSum> = Vec::new();
    for document in documents {
        for tax in &document.figures.taxes {
            add(&mut sums, tax, document.kind == Kind::Credit);
        }
    }
    sums.sort_by(|one, other| other.rate.cmp(&one.rate).then_with(|| one.name.cmp(&other.name)));
    sums
}

fn add(sums: &mut Vec<RateSum>, tax: &TaxPart, credit: bool) {
    let (net, amount) = if credit { (-tax.net, -tax.amount) } else { (tax.net, tax.amount) };
    match sums.iter_mut().find(|sum| sum.name == tax.name && sum.rate == tax.rate) {
        Some(sum) => {
            sum.net += net;
            sum.tax += amount;
        }
        None => sums.push(RateSum { name: tax.name.clone(), rate: tax.rate, net, tax: amount }),
    }
}

/// The report as CSV (RFC 4180): a row a rate, amounts as plain numbers; cells that a spreadsheet would take for a formula
/// get an apostrophe in front.
///
/// # Errors
/// What the CSV writer cannot write, which plain text never makes it say.
pub fn csv(sums: &[RateSum], (from, to): (Day, Day), formats: &Formats) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let currency = formats.currency.code();
    let heads = ["from", "to", "tax", "rate, %"].map(str::to_owned);
    let amounts = ["without tax", "tax", "with tax"].map(|head| format!("{head}, {currency}"));
    writer.write_record(heads.iter().chain(&amounts))?;
    for sum in sums {
        let amount = |amount: Money| formats.money_input(amount);
        writer.write_record([
            from.to_string(),
            to.to_string(),
            guarded(&sum.name),
            formats.share_input(sum.rate),
            amount(sum.net),
            amount(sum.tax),
            amount(sum.gross()),
        ])?;
    }
    writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::accounts::document::Figures;
    use crate::accounts::drawing_up::{credit, part_of, plain};
    use crate::accounts::samples;
    use crate::accounts::whole::whole;

    fn document(kind: Kind, figures: Figures) -> Document {
        Document { kind, ..samples::document(figures) }
    }

    proptest! {
        /// Sums by rate are the documents' sums, and a credit note takes back what its invoice put in.
        #[test]
        fn the_rows_add_up_to_the_documents(quotes in proptest::collection::vec(samples::any_quote(), 0..5), per_cent in 1_i64..101) {
            let mut documents = Vec::new();
            let (mut net, mut tax) = (Money::ZERO, Money::ZERO);
            for quote in &quotes {
                let invoice = document(Kind::Final, whole(quote));
                let back = Money::rounded(quote.total.decimal() * rust_decimal::Decimal::new(per_cent, 2));
                let note = document(Kind::Credit, credit(&invoice, &[], back));
                net = net + invoice.figures.before_tax - note.figures.before_tax;
                tax = tax + invoice.figures.tax - note.figures.tax;
                documents.extend([invoice, note]);
            }
            let sums = by_rate(&documents);
            prop_assert_eq!(sums.iter().map(|sum| sum.net).sum::<Money>(), net);
            prop_assert_eq!(sums.iter().map(|sum| sum.tax).sum::<Money>(), tax);
        }
    }

    #[test]
    fn a_period_in_which_all_was_credited_comes_to_nothing() {
        let whole = whole(&samples::quote_of_two_rates(true));
        let part = plain(&part_of(&whole.taxes, Money::from_minor(50_001)), "Deposit", "");
        let all = [document(Kind::Deposit, part.clone()), document(Kind::Credit, part)];
        assert!(by_rate(&all).iter().all(|sum| sum.net.is_zero() && sum.tax.is_zero()));
    }

    #[test]
    fn no_cell_is_a_formula() {
        let sums = [RateSum {
            name: "=cmd".into(),
            rate: crate::ground::quantity::Share::from_raw(200_000),
            net: Money::from_minor(-1_000),
            tax: Money::from_minor(-200),
        }];
        let formats = samples::formats();
        let day = "2026-01-01".parse().unwrap();
        let text = String::from_utf8(csv(&sums, (day, day), &formats).unwrap()).unwrap();
        assert_eq!(
            text,
            "from,to,tax,\"rate, %\",\"without tax, EUR\",\"tax, EUR\",\"with tax, EUR\"\r\n2026-01-01,2026-01-01,'=cmd,20,-10.00,-2.00,-12.00\r\n"
        );
    }
}
