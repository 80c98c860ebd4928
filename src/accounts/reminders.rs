//! What the desk is reminded of: parts of a payment to be invoiced, invoices to be paid, money to give back.
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
    /// Its day.
    pub event_day: Day,
    /// The place of the part among the event's.
    pub place: usize,
    /// What the part is called.
    pub label: String,
    /// When it is due.
    pub due_on: Day,
    /// What it comes to.
    pub amount: Money,
}

/// An invoice of which something is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Owed {
    /// Which.
    pub invoice_id: InvoiceId,
    /// Its number.
    pub number: String,
    /// Whose.
    pub client_id: ClientId,
    /// For which event.
    pub event_id: Option<EventId>,
    /// Until when it is to be paid.
    pub due_on: Day,
    /// What is open of it.
    pub open: Money,
}

/// Everything the desk is reminded of.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reminders {
    /// By due day.
    pub to_invoice: Vec<ToInvoice>,
    /// The longest overdue first.
    pub owed: Vec<Owed>,
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
        let over = event.day < today;
        let due = schedule.open().filter(|(_, part)| over || part.due_on <= today.plus(AHEAD));
        to_invoice.extend(due.map(|(place, part)| ToInvoice {
            event_id: event.id,
            event: event.name.clone(),
            event_day: event.day,
            place,
            label: part.instalment.label.clone(),
            due_on: part.due_on,
            amount: part.amount,
        }));
    }
    to_invoice.sort_by_key(|part| (part.due_on, part.event_id));
    let mut owed: Vec<Owed> = ledgers.values().flat_map(of_ledger).collect();
    owed.sort_by_key(|one| (one.due_on, one.invoice_id));
    let back = ledgers.iter().map(|(client, ledger)| (*client, -ledger.balance()));
    Reminders { to_invoice, owed, to_give_back: back.filter(|(_, amount)| *amount > Money::ZERO).collect() }
}

fn of_ledger(ledger: &Ledger) -> impl Iterator<Item = Owed> {
    let open = ledger.invoices.iter().filter(|account| account.open() > Money::ZERO);
    open.map(|account| Owed {
        invoice_id: account.invoice.id,
        number: account.invoice.number.clone(),
        client_id: account.invoice.client_id,
        event_id: account.invoice.event_id,
        due_on: account.invoice.due_on,
        open: account.open(),
    })
}
