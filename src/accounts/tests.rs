//! Whatever befalls an event's money, its papers, ledger, statement, tax report and books are the same sums to the cent.

use proptest::prelude::*;
use rust_decimal::Decimal;

use super::CancellationStep;
use super::books::{self, Names};
use super::cancellation::{credits, settle};
use super::document::{Document, Earlier, Figures, Kind};
use super::drawing_up::{Before, credit, left_of, part_of, plain, what_is_left};
use super::ledger::{Billed, Ledger, Paid, ledger};
use super::samples;
use super::statement::statement;
use super::tax_report::{RateSum, by_rate};
use super::whole::whole;
use crate::ground::dates::Day;
use crate::ground::ids::{ClientId, EventId, InvoiceId, PaymentId};
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::quotes::document::Document as Quote;

/// Something that happens, in per cent of what it concerns.
#[derive(Debug, Clone)]
enum Act {
    /// A part is invoiced.
    Part(i64),
    /// All that is left is invoiced, or what is too much credited.
    Rest,
    /// An invoice is credited.
    Credit(usize, i64),
    /// Another version is agreed.
    Change(Box<Quote>),
    /// Money comes in.
    Paid(i64),
    /// What lies on the account goes back.
    GivenBack(i64),
    /// A payment was a mistake.
    Reversed(usize),
    /// The event is called off so many days before.
    CalledOff(i64),
}

fn any_act() -> impl Strategy<Value = Act> {
    prop_oneof![
        4 => (1_i64..60).prop_map(Act::Part),
        2 => Just(Act::Rest),
        2 => (0_usize..6, 1_i64..101).prop_map(|(which, per_cent)| Act::Credit(which, per_cent)),
        1 => samples::any_quote().prop_map(|quote| Act::Change(Box::new(quote))),
        4 => (0_i64..5_000_000).prop_map(Act::Paid),
        1 => (1_i64..101).prop_map(Act::GivenBack),
        1 => (0_usize..6).prop_map(Act::Reversed),
        1 => (-5_i64..120).prop_map(Act::CalledOff),
    ]
}

fn per_cent(amount: Money, per_cent: i64) -> Money {
    Money::rounded(amount.decimal() * Decimal::new(per_cent, 2))
}

/// One event's money so far.
struct Run {
    agreed: Quote,
    documents: Vec<Document>,
    /// The place of the invoice that each document takes back.
    takes_back: Vec<Option<usize>>,
    paid: Vec<Paid>,
    called_off: bool,
}

impl Run {
    fn new(agreed: Quote) -> Run {
        Run { agreed, documents: Vec::new(), takes_back: Vec::new(), paid: Vec::new(), called_off: false }
    }

    fn day(&self) -> Day {
        let days = i64::try_from(self.documents.len() + self.paid.len()).unwrap();
        "2026-01-01".parse::<Day>().unwrap().plus(days)
    }

    fn draw(&mut self, kind: Kind, figures: Figures, takes_back: Option<usize>) {
        let earlier = |place: usize| {
            let of: &Document = &self.documents[place];
            Earlier { number: of.number.clone(), issued_on: of.issued_on }
        };
        let number = (self.documents.len() + 1).to_string();
        let credits = takes_back.map(earlier);
        let (issued_on, due_on) = (self.day(), self.day().plus(14));
        let document = Document { kind, number, issued_on, due_on, credits, ..samples::document(figures) };
        self.documents.push(document);
        self.takes_back.push(takes_back);
    }

    fn invoices(&self) -> Vec<usize> {
        (0..self.documents.len()).filter(|place| self.takes_back[*place].is_none()).collect()
    }

    fn credits_of(&self, invoice: usize) -> Vec<&Figures> {
        let of = self.documents.iter().zip(&self.takes_back);
        of.filter(|(_, back)| **back == Some(invoice)).map(|(credit, _)| &credit.figures).collect()
    }

    fn before(&self) -> Vec<Before> {
        let before = |place: usize| {
            let document = &self.documents[place];
            let invoice = Earlier { number: document.number.clone(), issued_on: document.issued_on };
            Before { invoice, left: left_of(&document.figures, &self.credits_of(place)) }
        };
        self.invoices().into_iter().map(before).collect()
    }

    fn left(&self) -> Vec<Money> {
        self.before().iter().map(|one| one.left.iter().map(super::document::TaxPart::gross).sum()).collect()
    }

    fn credit(&mut self, invoice: usize, amount: Money) {
        if amount > Money::ZERO {
            let figures = credit(&self.documents[invoice], &self.credits_of(invoice), amount);
            self.draw(Kind::Credit, figures, Some(invoice));
        }
    }

    /// Credits so much in all, the latest invoices first.
    fn take_back(&mut self, amount: Money) {
        let (invoices, left) = (self.invoices(), self.left());
        for (invoice, amount) in invoices.into_iter().zip(credits(&left, amount)) {
            self.credit(invoice, amount);
        }
    }

    fn act(&mut self, act: Act) {
        match act {
            Act::Part(share) if !self.called_off => {
                let whole = whole(&self.agreed);
                let left = what_is_left(&whole, &self.before()).total;
                let amount = per_cent(whole.total, share).min(left);
                if amount > Money::ZERO {
                    self.draw(Kind::Deposit, plain(&part_of(&whole.taxes, amount), "Part", ""), None);
                }
            }
            Act::Rest if !self.called_off => self.rest(),
            Act::Change(quote) if !self.called_off => self.agreed = *quote,
            Act::CalledOff(days) if !self.called_off => self.call_off(days),
            Act::Credit(which, share) => {
                let (invoices, left) = (self.invoices(), self.left());
                if let Some((invoice, left)) = invoices.get(which).zip(left.get(which)) {
                    self.credit(*invoice, per_cent(*left, share));
                }
            }
            Act::Paid(minor) => self.pay(Money::from_minor(minor), false, None),
            Act::GivenBack(share) => {
                let lies = self.ledger().on_account;
                self.pay(per_cent(lies.max(Money::ZERO), share), true, None);
            }
            Act::Reversed(which) => self.reverse(which),
            Act::Part(_) | Act::Rest | Act::Change(_) | Act::CalledOff(_) => {}
        }
    }

    /// All invoices less credits are what is agreed, and where an invoice could be drawn up, its tax too.
    fn rest(&mut self) {
        let left = what_is_left(&whole(&self.agreed), &self.before());
        let invoiced = left.total >= Money::ZERO;
        if invoiced {
            self.draw(Kind::Final, left, None);
        } else {
            self.take_back(-left.total);
        }
        assert_eq!(self.total(|figures| figures.total), self.agreed.total);
        if invoiced {
            assert_eq!(self.total(|figures| figures.tax), self.agreed.tax());
        }
    }

    fn call_off(&mut self, days: i64) {
        let step = |days_before, per_cent: i64| CancellationStep {
            days_before,
            retained: Share::from_raw(per_cent * 10_000),
        };
        let event: Day = "2026-06-30".parse().unwrap();
        let table = [step(90, 30), step(30, 50), step(7, 100)];
        let invoiced = self.total(|figures| figures.total);
        let settled = settle(&table, (event.plus(-days), event), self.agreed.total, invoiced);
        if settled.to_invoice > Money::ZERO {
            let parts = part_of(&whole(&self.agreed).taxes, settled.to_invoice);
            self.draw(Kind::Other, plain(&parts, "Kept", ""), None);
        }
        self.take_back(settled.to_credit);
        self.called_off = true;
        assert_eq!(self.total(|figures| figures.total), settled.retained);
    }

    fn pay(&mut self, amount: Money, refund: bool, reverses: Option<PaymentId>) {
        if amount.is_zero() {
            return;
        }
        self.paid.push(Paid {
            id: PaymentId(i64::try_from(self.paid.len()).unwrap() + 1),
            client_id: ClientId(1),
            event_id: Some(EventId(1)),
            invoice_id: None,
            refund,
            reverses,
            paid_on: self.day(),
            amount,
            how: "Transfer".into(),
            reference: String::new(),
            note: String::new(),
        });
    }

    fn reverse(&mut self, which: usize) {
        let Some(row) = self.paid.get(which).cloned() else { return };
        let done = self.paid.iter().any(|other| other.reverses == Some(row.id));
        if row.reverses.is_none() && !done {
            self.pay(row.amount, row.refund, Some(row.id));
        }
    }

    fn billed(&self) -> Vec<Billed> {
        let id = |place: usize| InvoiceId(i64::try_from(place).unwrap() + 1);
        let billed = |(place, document): (usize, &Document)| Billed {
            id: id(place),
            number: document.number.clone(),
            kind: document.kind,
            client_id: ClientId(1),
            event_id: Some(EventId(1)),
            credits: self.takes_back[place].map(id),
            issued_on: document.issued_on,
            due_on: document.due_on,
            total: document.figures.total,
        };
        self.documents.iter().enumerate().map(billed).collect()
    }

    fn ledger(&self) -> Ledger {
        ledger(&self.billed(), &self.paid)
    }

    /// Invoices less credit notes.
    fn total(&self, of: fn(&Figures) -> Money) -> Money {
        let signed = |document: &Document| {
            let amount = of(&document.figures);
            if document.kind == Kind::Credit { -amount } else { amount }
        };
        self.documents.iter().map(signed).sum()
    }

    /// Everything that tells of it tells the same.
    fn ties(&self) {
        let asked = self.total(|figures| figures.total);
        let money: Money = self.paid.iter().map(Paid::effect).sum();
        let (ledger, today) = (self.ledger(), self.day());
        assert_eq!(ledger.balance(), asked + money, "the ledger");
        let event = ledger.of_event(EventId(1), today);
        assert_eq!((event.invoiced, event.paid + event.due), (asked, asked), "the event");
        assert_eq!(ledger.ageing(today).sum(), event.due, "the ages");
        let last = statement(&self.billed(), &self.paid).last().map_or(Money::ZERO, |row| row.balance);
        assert_eq!(last, ledger.balance(), "the statement");
        let report = by_rate(&self.documents);
        let sums = (report.iter().map(|row| row.net).sum(), report.iter().map(|row| row.tax).sum());
        assert_eq!(
            sums,
            (self.total(|figures| figures.before_tax), self.total(|figures| figures.tax)),
            "the tax report"
        );
        assert_eq!(report.iter().map(RateSum::gross).sum::<Money>(), asked, "the tax report with tax");
        assert_eq!(self.books(), (asked, -money), "the books");
    }

    /// What the books' documents and payments come to.
    fn books(&self) -> (Money, Money) {
        let text = books::csv(&self.documents, &self.paid, &Names::default(), &samples::formats()).unwrap();
        let mut reader = csv::Reader::from_reader(text.as_slice());
        let (mut documents, mut payments) = (Decimal::ZERO, Decimal::ZERO);
        for row in reader.records().map(Result::unwrap) {
            let amount: Decimal = row[11].parse().unwrap();
            if row[8].is_empty() { payments += amount } else { documents += amount }
        }
        let minor = |major: Decimal| Money::rounded(major * Decimal::ONE_HUNDRED);
        (minor(documents), minor(payments))
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn every_run_ties_to_the_cent(quote in samples::any_quote(), acts in proptest::collection::vec(any_act(), 1..14)) {
        let mut run = Run::new(quote);
        for act in acts {
            run.act(act);
            run.ties();
        }
    }
}
