//! What an e-invoice needs and the document lacks, each with where it is entered.
//!
//! May import: plain values, the room's own documents.

use super::{Rate, is_vat_number};
use crate::accounts::document::{Category, Document};
use crate::ground::money::Money;
use crate::ground::quantity::Share;

/// Something that is missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// A whole sentence.
    pub what: String,
    /// Where it is entered.
    pub place: Place,
}

/// Where something is entered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// The studio's settings.
    Settings,
    /// How the studio invoices.
    Terms,
    /// The client's account.
    Client,
    /// Nowhere: it cannot be mended.
    Nowhere,
}

/// Everything that is missing, by the rules of EN 16931 that would refuse the document.
#[must_use]
pub fn missing(document: &Document, rates: &[Rate], decimals: u32) -> Vec<Missing> {
    let mut list = Vec::new();
    let mut lacks = |lacking: bool, what: &str, place: Place| {
        if lacking {
            list.push(Missing { what: what.to_owned(), place });
        }
    };
    let (seller, buyer) = (&document.seller, &document.buyer);
    let taxed = rates.iter().any(|rate| rate.category != Some(Category::Outside));
    lacks(seller.country.is_empty(), "The studio’s country is missing.", Place::Terms); // BR-09
    lacks(buyer.country.is_empty(), "The client’s country is missing.", Place::Client); // BR-11
    lacks(
        taxed && seller.tax_number.trim().is_empty(),
        "The studio’s tax number is missing: every taxed, zero-rated or exempt invoice names it.", // BR-S-02, BR-Z-02, BR-E-02
        Place::Settings,
    );
    lacks(
        !taxed && seller.legal_id.trim().is_empty() && seller.tax_number.trim().is_empty(),
        "The studio is named by no number: enter its register number or tax number.", // BR-CO-26
        Place::Terms,
    );
    let outside = rates.iter().any(|rate| rate.category == Some(Category::Outside));
    lacks(
        outside && taxed,
        "It holds lines that are not subject to tax beside others: an e-invoice holds one or the other.", // BR-O-11
        Place::Nowhere,
    );
    lacks(
        outside && !taxed && seller.legal_id.trim().is_empty() && is_vat_number(&seller.tax_number),
        "The studio’s register number is missing: an invoice that is not subject to tax may not name its VAT number.", // BR-O-02, BR-CO-26
        Place::Terms,
    );
    lacks(decimals > 2, "Its currency has three decimals; EN 16931 allows two.", Place::Nowhere); // BR-DEC-*
    for rate in rates {
        let name = &rate.name;
        lacks(
            rate.category.is_none(),
            &format!("What the tax rate “{name}” is has not been said."),
            Place::Terms,
        ); // BR-47
        let unexplained = rate.category == Some(Category::Exempt) && rate.reason.trim().is_empty();
        lacks(unexplained, &format!("Why “{name}” is exempt has not been said."), Place::Terms); // BR-E-10
        lacks(
            is_taken_for_none(document, rate, decimals),
            &format!(
                "“{name}” is below 0.5 %: the published check takes that for no tax and refuses the file."
            ), // BR-CO-17
            Place::Nowhere,
        );
    }
    list
}

/// Whether the check that CEN/TC 434 publishes for BR-CO-17 refuses a right tax: it rounds the rate to whole per cents, and
/// where that is 0 it wants a tax that rounds to 0 whole units.
fn is_taken_for_none(document: &Document, rate: &Rate, decimals: u32) -> bool {
    let of_rate =
        document.figures.taxes.iter().filter(|tax| tax.category == rate.category && tax.rate == rate.rate);
    let tax: Money = of_rate.map(|tax| tax.amount).sum();
    let is_small = Share::default() < rate.rate && rate.rate < Share::from_raw(5_000);
    is_small && tax.minor().saturating_abs().saturating_mul(2) >= 10_i64.saturating_pow(decimals)
}
