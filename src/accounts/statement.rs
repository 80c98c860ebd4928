//! A client's account as a list in time: what was asked, taken back, paid and given back, with the balance after each.
//!
//! May import: plain values of the ground, the room's own rows.

use super::ledger::{Billed, Paid};
use crate::ground::dates::Day;
use crate::ground::ids::{InvoiceId, PaymentId};
use crate::ground::money::Money;

/// What a row of a statement is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entry {
    /// An invoice or a credit note.
    Document(InvoiceId),
    /// A payment, a refund or a reversal.
    Money(PaymentId),
}

/// A row of a statement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    /// When.
    pub day: Day,
    /// What.
    pub entry: Entry,
    /// What it does to the balance: above nothing the client owes more.
    pub effect: Money,
    /// What the client owes after it.
    pub balance: Money,
}

/// The rows of one client's account, oldest first; of one day documents before payments. The last balance is what the
/// client owes.
#[must_use]
pub fn statement(billed: &[Billed], paid: &[Paid]) -> Vec<Row> {
    let documents = billed.iter().map(|row| {
        let effect = if row.credits.is_some() { -row.total } else { row.total };
        (row.issued_on, Entry::Document(row.id), effect)
    });
    let money = paid.iter().map(|row| (row.paid_on, Entry::Money(row.id), row.effect()));
    let mut rows: Vec<(Day, Entry, Money)> = documents.chain(money).collect();
    rows.sort_by_key(|(day, entry, _)| (*day, matches!(entry, Entry::Money(_)), number(*entry)));
    let mut balance = Money::ZERO;
    let row = |(day, entry, effect)| {
        balance += effect;
        Row { day, entry, effect, balance }
    };
    rows.into_iter().map(row).collect()
}

fn number(entry: Entry) -> i64 {
    match entry {
        Entry::Document(id) => id.0,
        Entry::Money(id) => id.0,
    }
}
