//! Money, from the accepted version on: payment in parts, invoices and credit notes, the ledger (C12), tax, what is kept
//! of a cancelled event, books and e-invoices for the accountant. May import the stages before it.
//!
//! # Invariants
//! - Invoices and credit notes are one series of numbers without gaps, given in the transaction that keeps them. None is
//!   ever changed or removed (the table refuses it): an invoice is credited.
//! - Each is kept as the whole document it was, as a quote's version is. All invoices of an event, less its credit notes,
//!   come to the accepted version, a tax rate at a time.
//! - Payments are append-only too: a mistaken one is reversed by a row of its own.
//! - Balances, ages and what a payment pays are derived from those rows, never kept.

pub mod books;
pub mod cancellation;
pub mod countries;
pub mod document;
pub mod drawing_up;
pub mod forms;
pub mod iban;
pub mod instalments;
pub mod issuing;
pub mod ledger;
pub mod loan_charges;
pub mod pages;
pub mod paper;
pub mod reminders;
#[cfg(test)]
pub(crate) mod samples;
pub mod schedule;
pub mod statement;
pub mod store;
pub mod tax_report;
pub mod ubl;
pub mod whole;

use document::Category;

use crate::ground::ids::TaxRateId;
use crate::ground::quantity::Share;
use crate::quotes::payment::{Due, Part};
use instalments::Instalment;

/// How the studio invoices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terms {
    /// Counts saves, so that a stale one is noticed; 0 where nothing was saved yet.
    pub version: i64,
    /// ISO 3166-1 alpha-2; empty where nobody said.
    pub country: String,
    /// Number in the register of companies.
    pub legal_id: String,
    /// In whose name the account is.
    pub account_holder: String,
    /// International bank account number.
    pub iban: String,
    /// Bank identifier code.
    pub bic: String,
    /// Stands before an invoice's number on paper.
    pub number_prefix: String,
    /// The number of the very first invoice.
    pub first_number: i64,
    /// Days until an invoice is due whose instalment names no day that is still to come.
    pub payment_days: i64,
    /// What every invoice says under its figures.
    pub words: String,
    /// The usual parts of a payment.
    pub usual: Vec<Instalment>,
    /// What is kept of a cancelled event, most days first.
    pub cancellation: Vec<CancellationStep>,
    /// What tax rates are to EN 16931.
    pub treatments: Vec<Treatment>,
}

impl Terms {
    /// The terms of a book in which nothing was saved: half on acceptance, the rest two weeks before the event (common
    /// practice, no published source), nothing kept of a cancelled event.
    #[must_use]
    pub fn new_book() -> Terms {
        let half = |label: &str, due| Instalment {
            id: None,
            label: label.into(),
            part: Part::Share(Share::from_raw(500_000)),
            due,
        };
        Terms {
            version: 0,
            country: String::new(),
            legal_id: String::new(),
            account_holder: String::new(),
            iban: String::new(),
            bic: String::new(),
            number_prefix: String::new(),
            first_number: 1,
            payment_days: 14,
            words: String::new(),
            usual: vec![half("Deposit", Due::Acceptance), half("Rest", Due::Before(14))],
            cancellation: Vec::new(),
            treatments: Vec::new(),
        }
    }

    /// What a rate is, where the studio said so.
    #[must_use]
    pub fn treatment(&self, rate: TaxRateId) -> Option<&Treatment> {
        self.treatments.iter().find(|treatment| treatment.rate == rate)
    }
}

/// A row of the cancellation table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CancellationStep {
    /// So many days before the event, or fewer.
    pub days_before: i64,
    /// What is kept of the accepted total.
    pub retained: Share,
}

/// What a tax rate is to EN 16931.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Treatment {
    /// Which rate.
    pub rate: TaxRateId,
    /// Its category.
    pub category: Category,
    /// Why it is exempt.
    pub reason: String,
}

/// What an invoice says of a client beside name and address.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ClientAccount {
    /// Counts saves; 0 where nothing was saved yet.
    pub version: i64,
    /// ISO 3166-1 alpha-2; empty where nobody said.
    pub country: String,
    /// The client's tax number.
    pub tax_number: String,
    /// Its number in a register of companies.
    pub legal_id: String,
    /// What it wants to see on every invoice.
    pub reference: String,
}

#[cfg(test)]
mod tests;
