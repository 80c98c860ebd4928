//! The books of a period for an accountant, as CSV (RFC 4180): a row a document and tax rate, a row a payment. Amounts are
//! plain numbers, credit notes and refunds below nothing; cells that a spreadsheet would take for a formula get an
//! apostrophe in front. The documents' rows add up to the tax report of the same period.
//!
//! May import: `csv`, plain values of the ground, the room's own documents and rows, the price list's guard for cells.

use std::collections::BTreeMap;

use super::document::{Document, Kind};
use super::ledger::Paid;
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::ids::{ClientId, InvoiceId};
use crate::ground::money::Money;
use crate::price_list::file::escape::guarded;

const HEADS: [&str; 13] = [
    "date",
    "what",
    "number",
    "client",
    "event",
    "due",
    "takes back",
    "tax",
    "rate, %",
    "without tax",
    "tax amount",
    "with tax",
    "how and reference",
];

/// Names by which rows are known.
#[derive(Debug, Default)]
pub struct Names {
    /// Clients'.
    pub clients: BTreeMap<ClientId, String>,
    /// Invoices' numbers.
    pub invoices: BTreeMap<InvoiceId, String>,
}

/// The books: documents by number, then payments by day.
///
/// # Errors
/// What the CSV writer cannot write, which plain text never makes it say.
pub fn csv(
    documents: &[Document],
    paid: &[Paid],
    names: &Names,
    formats: &Formats,
) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let mut heads: Vec<String> = HEADS.iter().map(|head| (*head).to_owned()).collect();
    for head in &mut heads[9..12] {
        *head = format!("{head}, {}", formats.currency.code());
    }
    writer.write_record(&heads)?;
    for document in documents {
        for row in document_rows(document, *formats) {
            writer.write_record(row)?;
        }
    }
    for row in paid {
        writer.write_record(paid_row(row, names, *formats))?;
    }
    writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

fn document_rows(document: &Document, formats: Formats) -> Vec<[String; 13]> {
    let signed =
        |amount: Money| formats.money_input(if document.kind == Kind::Credit { -amount } else { amount });
    let event = document.event.as_ref().map(|event| event.name.clone()).unwrap_or_default();
    let back = document.credits.as_ref().map(|of| of.number.clone()).unwrap_or_default();
    let row = |tax: &super::document::TaxPart| {
        [
            document.issued_on.to_string(),
            document.kind.label().to_owned(),
            guarded(&document.number),
            guarded(&document.buyer.name),
            guarded(&event),
            document.due_on.to_string(),
            guarded(&back),
            guarded(&tax.name),
            formats.share_input(tax.rate),
            signed(tax.net),
            signed(tax.amount),
            signed(tax.gross()),
            String::new(),
        ]
    };
    document.figures.taxes.iter().map(row).collect()
}

fn paid_row(row: &Paid, names: &Names, formats: Formats) -> [String; 13] {
    let what = match (row.reverses.is_some(), row.refund) {
        (true, _) => "Reversal",
        (false, true) => "Refund",
        (false, false) => "Payment",
    };
    let said = [&row.how, &row.reference, &row.note].into_iter().filter(|words| !words.is_empty());
    let said = said.cloned().collect::<Vec<_>>().join("; ");
    let invoice = row.invoice_id.and_then(|id| names.invoices.get(&id)).cloned().unwrap_or_default();
    let client = names.clients.get(&row.client_id).cloned().unwrap_or_default();
    [
        row.paid_on.to_string(),
        what.to_owned(),
        guarded(&invoice),
        guarded(&client),
        String::new(),
        String::new(),
        String::new(),
        String::new(),
        String::new(),
        String::new(),
        String::new(),
        formats.money_input(-row.effect()),
        guarded(&said),
    ]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::accounts::samples;
    use crate::accounts::tax_report::by_rate;
    use crate::accounts::whole::whole;
    use rust_decimal::Decimal;

    proptest! {
        /// The books and the tax report are the same sums; no text of theirs is a formula.
        #[test]
        fn the_books_are_the_tax_report(
            quotes in proptest::collection::vec((samples::any_quote(), any::<bool>()), 1..4), name in "[=+@-]?\\PC{0,20}",
        ) {
            let document = |(quote, credit): &(crate::quotes::document::Document, bool)| {
                let mut document = samples::document(whole(quote));
                document.kind = if *credit { Kind::Credit } else { Kind::Final };
                document.buyer.name.clone_from(&name);
                document
            };
            let documents: Vec<Document> = quotes.iter().map(document).collect();
            let text = csv(&documents, &[], &Names::default(), &samples::formats()).unwrap();
            let mut reader = csv::Reader::from_reader(text.as_slice());
            let mut sum = Decimal::ZERO;
            for row in reader.records() {
                let row = row.unwrap();
                prop_assert!(!row[3].starts_with(['=', '+', '-', '@']), "{}", &row[3]);
                sum += row[11].parse::<Decimal>().unwrap();
            }
            let report: Money = by_rate(&documents).iter().map(super::super::tax_report::RateSum::gross).sum();
            prop_assert_eq!(Money::rounded(sum * Decimal::ONE_HUNDRED), report);
        }
    }
}
