//! Money owed (C12): which payment pays which invoice, what is open, since when, and what lies on a client's account.
//!
//! May import: plain values of the ground, the room's own kinds.

use std::collections::{BTreeMap, HashMap};

use super::document::Kind;
use crate::ground::dates::Day;
use crate::ground::ids::{ClientId, EventId, InvoiceId, PaymentId};
use crate::ground::money::Money;

/// An invoice or a credit note, without what it says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Billed {
    /// Its identity.
    pub id: InvoiceId,
    /// Its number as it stands on paper.
    pub number: String,
    /// What it asks for or takes back.
    pub kind: Kind,
    /// Whose.
    pub client_id: ClientId,
    /// For which event, if for one.
    pub event_id: Option<EventId>,
    /// Which invoice a credit note takes back.
    pub credits: Option<InvoiceId>,
    /// Its date.
    pub issued_on: Day,
    /// Until when it is to be paid.
    pub due_on: Day,
    /// What it comes to; a credit note's is above nothing too.
    pub total: Money,
}

/// Money that came in or went back, as the book has it.
pub type Paid = Payment<PaymentId>;

/// A payment that is not in the book yet.
pub type NewPayment = Payment<()>;

/// Money that came in or went back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Payment<Id> {
    /// Its identity, once it has one.
    pub id: Id,
    /// Whose.
    pub client_id: ClientId,
    /// For which event, if that was said.
    pub event_id: Option<EventId>,
    /// For which invoice, if that was said.
    pub invoice_id: Option<InvoiceId>,
    /// Whether it went back to the client.
    pub refund: bool,
    /// Which row it reverses.
    pub reverses: Option<PaymentId>,
    /// The day on which it was paid.
    pub paid_on: Day,
    /// How much.
    pub amount: Money,
    /// By transfer, in cash, by card.
    pub how: String,
    /// What stands on the bank statement.
    pub reference: String,
    /// What to remember.
    pub note: String,
}

impl Paid {
    /// What it does to the balance: money in lowers it, a refund raises it, a reversal does the opposite.
    #[must_use]
    pub fn effect(&self) -> Money {
        if self.refund == self.reverses.is_some() { -self.amount } else { self.amount }
    }
}

/// An invoice with what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// The invoice.
    pub invoice: Billed,
    /// Taken back by credit notes.
    pub credited: Money,
    /// Paid.
    pub paid: Money,
}

impl Account {
    /// What is still to be paid.
    #[must_use]
    pub fn open(&self) -> Money {
        self.invoice.total - self.credited - self.paid
    }

    /// How many days it is overdue; none while it is not, or where nothing is open.
    #[must_use]
    pub fn overdue(&self, today: Day) -> Option<i64> {
        let days = today.days_after(self.invoice.due_on);
        (days > 0 && self.open() > Money::ZERO).then_some(days)
    }
}

/// A part of a payment that pays an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Allocation {
    /// Which payment.
    pub payment: PaymentId,
    /// Which invoice.
    pub invoice: InvoiceId,
    /// How much of it.
    pub amount: Money,
}

/// One client's account.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ledger {
    /// The invoices, oldest due first.
    pub invoices: Vec<Account>,
    /// Which payment pays which invoice.
    pub allocations: Vec<Allocation>,
    /// What was paid and pays no invoice; below nothing where more was given back than lay there.
    pub on_account: Money,
}

impl Ledger {
    /// What the client owes: open invoices less what lies on the account. Below nothing the studio owes it.
    #[must_use]
    pub fn balance(&self) -> Money {
        self.invoices.iter().map(Account::open).sum::<Money>() - self.on_account
    }

    /// What an event's invoices come to after credits, what is paid of it, what is open and what of that is overdue.
    #[must_use]
    pub fn of_event(&self, event: EventId, today: Day) -> EventMoney {
        let mut sums = EventMoney::default();
        for account in self.invoices.iter().filter(|account| account.invoice.event_id == Some(event)) {
            sums.invoiced += account.invoice.total - account.credited;
            sums.paid += account.paid;
            sums.due += account.open();
            if account.overdue(today).is_some() {
                sums.overdue += account.open();
            }
        }
        sums
    }

    /// What is open by age.
    #[must_use]
    pub fn ageing(&self, today: Day) -> Ageing {
        let mut ageing = Ageing::default();
        for account in &self.invoices {
            ageing.0[Ageing::column(account.overdue(today))] += account.open();
        }
        ageing
    }
}

/// What stands on an event's account.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct EventMoney {
    /// Invoices less credit notes.
    pub invoiced: Money,
    /// Paid of them.
    pub paid: Money,
    /// Open.
    pub due: Money,
    /// Open and past its day.
    pub overdue: Money,
}

/// Open amounts: not due yet, then 1 to 30, 31 to 60, 61 to 90 and more days overdue.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Ageing(pub [Money; 5]);

impl Ageing {
    /// What the columns are called.
    pub const HEADS: [&'static str; 5] =
        ["Not due yet", "1 to 30 days", "31 to 60 days", "61 to 90 days", "Over 90 days"];

    /// In which column so many days overdue belong.
    #[must_use]
    pub fn column(overdue: Option<i64>) -> usize {
        match overdue {
            None => 0,
            Some(..=30) => 1,
            Some(31..=60) => 2,
            Some(61..=90) => 3,
            Some(_) => 4,
        }
    }

    /// The sum of the columns.
    #[must_use]
    pub fn sum(&self) -> Money {
        self.0.iter().copied().sum()
    }

    /// Both together.
    #[must_use]
    pub fn and(mut self, other: Ageing) -> Ageing {
        for (sum, more) in self.0.iter_mut().zip(other.0) {
            *sum += more;
        }
        self
    }
}

/// One client's account from its rows.
///
/// A credit note takes off its own invoice. Payments are taken in the order in which they came (a reversed one and its
/// reversal count for nothing); each pays the invoice it is said to be for, then the oldest of its event, then the oldest
/// of the client; oldest by due day, then number. What no invoice needs lies on the account; refunds take from there.
///
/// Law: open invoices − what lies on the account = invoices − credit notes − payments + refunds, whatever the rows.
#[must_use]
pub fn ledger(billed: &[Billed], paid: &[Paid]) -> Ledger {
    let mut invoices = accounts(billed);
    let reversed: Vec<PaymentId> = paid.iter().filter_map(|row| row.reverses).collect();
    let stands = |row: &&Paid| row.reverses.is_none() && !reversed.contains(&row.id);
    let mut payments: Vec<&Paid> = paid.iter().filter(stands).collect();
    payments.sort_by_key(|row| (row.paid_on, row.id));
    let mut allocations = Vec::new();
    let mut on_account = Money::ZERO;
    for payment in payments {
        if payment.refund {
            on_account = on_account - payment.amount;
        } else {
            on_account += allocate(payment, &mut invoices, &mut allocations);
        }
    }
    Ledger { invoices, allocations, on_account }
}

/// What of a client's money was here at the end of a day: payments less refunds up to it, reversed rows and their reversals left
/// out.
#[must_use]
pub fn held_on(paid: &[Paid], day: Day) -> Money {
    let reversed: Vec<PaymentId> = paid.iter().filter_map(|row| row.reverses).collect();
    let stands = |row: &&Paid| row.reverses.is_none() && !reversed.contains(&row.id) && row.paid_on <= day;
    -paid.iter().filter(stands).map(Paid::effect).sum::<Money>()
}

fn accounts(billed: &[Billed]) -> Vec<Account> {
    let mut credited: HashMap<InvoiceId, Money> = HashMap::new();
    for credit in billed {
        if let Some(invoice) = credit.credits {
            *credited.entry(invoice).or_default() += credit.total;
        }
    }
    let invoices = billed.iter().filter(|one| one.credits.is_none());
    let mut accounts: Vec<Account> = invoices
        .map(|invoice| Account {
            credited: credited.get(&invoice.id).copied().unwrap_or_default(),
            invoice: invoice.clone(),
            paid: Money::ZERO,
        })
        .collect();
    accounts.sort_by_key(|account| (account.invoice.due_on, account.invoice.id));
    accounts
}

/// Pays invoices with a payment; returns what is left of it.
fn allocate(payment: &Paid, invoices: &mut [Account], allocations: &mut Vec<Allocation>) -> Money {
    let mut left = payment.amount;
    let rank = |invoice: &Billed| {
        let said = payment.invoice_id == Some(invoice.id);
        let own = payment.event_id.is_some() && payment.event_id == invoice.event_id;
        (!said, !own)
    };
    let mut order: Vec<usize> = (0..invoices.len()).collect();
    order.sort_by_key(|place| rank(&invoices[*place].invoice)); // stable: else oldest first
    for place in order {
        let account = &mut invoices[place];
        let amount = left.min(account.open());
        if amount > Money::ZERO {
            account.paid += amount;
            left = left - amount;
            allocations.push(Allocation { payment: payment.id, invoice: account.invoice.id, amount });
        }
    }
    left
}

/// The accounts of several clients from all their rows together, by client.
#[must_use]
pub fn ledgers(billed: Vec<Billed>, paid: Vec<Paid>) -> BTreeMap<ClientId, Ledger> {
    let mut rows: BTreeMap<ClientId, (Vec<Billed>, Vec<Paid>)> = BTreeMap::new();
    for row in billed {
        rows.entry(row.client_id).or_default().0.push(row);
    }
    for row in paid {
        rows.entry(row.client_id).or_default().1.push(row);
    }
    rows.into_iter().map(|(client, (billed, paid))| (client, ledger(&billed, &paid))).collect()
}

#[cfg(test)]
mod tests;
