//! What the desk is reminded of: parts of a payment to be invoiced, invoices overdue, money to give back.
//!
//! May import: plain values of the ground and of events, the room's own schedules and ledgers.

use std::collections::BTreeMap;

use super::ledger::Ledger;
use super::schedule::Schedule;
use crate::events::Event;
use crate::ground::dates::Day;
use crate::ground::ids::{ClientId, EventId, InvoiceId};
use crate::ground::money::Money;

/// So many days ahead a part is to be invoiced, so that the client has time to pay.
pub const AHEAD: i64 = 7;

/// A part of a payment that is to be invoiced now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToInvoice {
    /// Of which event.
    pub event_id: EventId,
    /// Its name.
    pub event: String,
    /// What the part is called.
    pub label: String,
    /// When it is due.
    pub due_on: Day,
    /// What it comes to.
    pub amount: Money,
}

/// An invoice that is overdue.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Overdue {
    /// Which.
    pub invoice_id: InvoiceId,
    /// Its number.
    pub number: String,
    /// Whose.
    pub client_id: ClientId,
    /// For which event.
    pub event_id: Option<EventId>,
    /// By how many days.
    pub days: i64,
    /// What is open of it.
    pub open: Money,
}

/// Everything the desk is reminded of.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reminders {
    /// By due day.
    pub to_invoice: Vec<ToInvoice>,
    /// The longest overdue first.
    pub overdue: Vec<Overdue>,
    /// What lies on clients' accounts and pays nothing, where they owe nothing else.
    pub to_give_back: Vec<(ClientId, Money)>,
}

/// Gathers the reminders of a day. Events that have ended, or whose quote is not accepted, have no schedule here.
#[must_use]
pub fn reminders(
    schedules: &[(&Event, Schedule)],
    ledgers: &BTreeMap<ClientId, Ledger>,
    today: Day,
) -> Reminders {
    let mut to_invoice: Vec<ToInvoice> = Vec::new();
    for (event, schedule) in schedules {
        let due = schedule.open().map(|(_, part)| part).filter(|part| part.due_on <= today.plus(AHEAD));
        to_invoice.extend(due.map(|part| ToInvoice {
            event_id: event.id,
            event: event.name.clone(),
            label: part.instalment.label.clone(),
            due_on: part.due_on,
            amount: part.amount,
        }));
    }
    to_invoice.sort_by_key(|part| (part.due_on, part.event_id));
    let mut overdue: Vec<Overdue> = ledgers.values().flat_map(|ledger| of_ledger(ledger, today)).collect();
    overdue.sort_by_key(|one| (std::cmp::Reverse(one.days), one.invoice_id));
    let back = ledgers.iter().map(|(client, ledger)| (*client, -ledger.balance()));
    Reminders {
        to_invoice,
        overdue,
        to_give_back: back.filter(|(_, amount)| *amount > Money::ZERO).collect(),
    }
}

fn of_ledger(ledger: &Ledger, today: Day) -> impl Iterator<Item = Overdue> {
    ledger.invoices.iter().filter_map(move |account| {
        Some(Overdue {
            invoice_id: account.invoice.id,
            number: account.invoice.number.clone(),
            client_id: account.invoice.client_id,
            event_id: account.invoice.event_id,
            days: account.overdue(today)?,
            open: account.open(),
        })
    })
}
