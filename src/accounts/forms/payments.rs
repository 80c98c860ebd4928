//! The form of a payment or a refund.

use serde::Deserialize;

use crate::accounts::ledger::{Ledger, NewPayment, Paid, held_on};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{ClientId, EventId, InvoiceId};
use crate::ground::money::Money;
use crate::web::forms::{Checker, FieldErrors};

/// What was typed.
#[derive(Debug, Clone, Default, Hash, Deserialize)]
#[serde(default)]
pub struct PaymentForm {
    pub once_key: String,
    /// `payment` or `refund`.
    pub kind: String,
    pub amount: String,
    pub paid_on: String,
    pub how: String,
    pub reference: String,
    pub note: String,
    /// An invoice's identity; empty: the oldest first.
    pub invoice: String,
    /// An event's identity, where it is paid from its page.
    pub event: String,
    /// `yes` where a day long past is meant.
    pub sure: String,
}

/// A day more than so many days ago is asked about: a slip in the year is seen nowhere else.
const LONG_AGO: i64 = 366;

impl PaymentForm {
    /// Whether it goes back to the client.
    #[must_use]
    pub fn is_refund(&self) -> bool {
        self.kind == "refund"
    }

    /// Whether the day is so long past that it is asked about.
    #[must_use]
    pub fn is_long_ago(&self, today: Day) -> bool {
        self.paid_on.trim().parse::<Day>().is_ok_and(|day| today.days_after(day) > LONG_AGO)
    }

    /// Reads the form: a row, or every message. A refund gives back no more than lies on the account, and not before it came in.
    pub fn parse(
        &self,
        client: ClientId,
        (ledger, paid): (&Ledger, &[Paid]),
        events: &[EventId],
        (today, formats): (Day, &Formats),
    ) -> Result<NewPayment, FieldErrors> {
        let mut c = Checker::new(formats);
        if !matches!(self.kind.as_str(), "payment" | "refund") {
            c.refuse("kind", "Say whether it came in or went back.");
        }
        let amount = c.money("amount", &self.amount);
        if amount.is_zero() && c.is_fine("amount") {
            c.refuse("amount", "Write an amount above nothing.");
        }
        if self.is_refund() && amount > ledger.on_account.max(Money::ZERO) {
            let there = formats.money(ledger.on_account.max(Money::ZERO));
            c.refuse(
                "amount",
                format!("{there} lies on the account: no more can be given back. Credit an invoice first."),
            );
        }
        let paid_on = c.day("paid_on", &self.paid_on);
        if paid_on > today && c.is_fine("paid_on") {
            c.refuse("paid_on", "That day is still to come: record what has been paid.");
        }
        if self.is_long_ago(today) && self.sure != "yes" && c.is_fine("paid_on") {
            let day = formats.day(paid_on);
            c.refuse("paid_on", format!("{day} is more than a year ago. Tick “Yes, that day” if it was."));
        }
        let held = held_on(paid, paid_on).max(Money::ZERO);
        if self.is_refund() && amount > held && c.is_fine("amount") && c.is_fine("paid_on") {
            let (held, day) = (formats.money(held), formats.day(paid_on));
            c.refuse(
                "paid_on",
                format!("By {day} only {held} of it had come in: money goes back after it came."),
            );
        }
        let invoice_id = self.invoice(&mut c, ledger);
        let event = self.event.trim().parse::<EventId>().ok();
        let new = NewPayment {
            id: (),
            client_id: client,
            event_id: event.filter(|event| events.contains(event)),
            invoice_id: invoice_id.filter(|_| !self.is_refund()),
            refund: self.is_refund(),
            reverses: None,
            paid_on,
            amount,
            how: c.line("how", &self.how),
            reference: c.line("reference", &self.reference),
            note: c.line("note", &self.note),
        };
        c.done(new)
    }

    fn invoice(&self, c: &mut Checker, ledger: &Ledger) -> Option<InvoiceId> {
        let typed = self.invoice.trim();
        if typed.is_empty() {
            return None;
        }
        let id = typed.parse::<InvoiceId>().ok();
        let known = id.filter(|id| ledger.invoices.iter().any(|account| account.invoice.id == *id));
        if known.is_none() {
            c.refuse("invoice", "This client has no such invoice.");
        }
        known
    }
}
