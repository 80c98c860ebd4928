use proptest::prelude::*;

use super::*;
use crate::accounts::statement::statement;

fn m(minor: i64) -> Money {
    Money::from_minor(minor)
}

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn invoice(id: i64, event: i64, due: &str, total: i64) -> Billed {
    Billed {
        id: InvoiceId(id),
        number: id.to_string(),
        kind: Kind::Deposit,
        client_id: ClientId(1),
        event_id: Some(EventId(event)),
        credits: None,
        issued_on: day("2026-01-01"),
        due_on: day(due),
        total: m(total),
    }
}

fn credit(id: i64, of: i64, total: i64) -> Billed {
    Billed { kind: Kind::Credit, credits: Some(InvoiceId(of)), ..invoice(id, 1, "2026-01-01", total) }
}

fn payment(id: i64, on: &str, amount: i64) -> Paid {
    Paid {
        id: PaymentId(id),
        client_id: ClientId(1),
        event_id: None,
        invoice_id: None,
        refund: false,
        reverses: None,
        paid_on: day(on),
        amount: m(amount),
        how: String::new(),
        reference: String::new(),
        note: String::new(),
    }
}

#[test]
fn a_payment_pays_the_oldest_first_and_the_rest_lies_on_the_account() {
    let billed = [invoice(1, 1, "2026-03-01", 500), invoice(2, 1, "2026-02-01", 300)];
    let ledger = ledger(&billed, &[payment(1, "2026-03-02", 700), payment(2, "2026-03-05", 200)]);
    let open: Vec<(i64, i64)> =
        ledger.invoices.iter().map(|one| (one.invoice.id.0, one.open().minor())).collect();
    assert_eq!(open, [(2, 0), (1, 0)]);
    assert_eq!((ledger.on_account, ledger.balance()), (m(100), m(-100)));
    assert_eq!(
        ledger.allocations[0],
        Allocation { payment: PaymentId(1), invoice: InvoiceId(2), amount: m(300) }
    );
}

#[test]
fn a_payment_goes_where_it_is_said_to_go_then_to_its_own_event() {
    let billed = [
        invoice(1, 1, "2026-01-01", 100),
        invoice(2, 2, "2026-02-01", 100),
        invoice(3, 2, "2026-03-01", 100),
    ];
    let said =
        Paid { invoice_id: Some(InvoiceId(3)), event_id: Some(EventId(2)), ..payment(1, "2026-03-02", 150) };
    let paid: Vec<i64> = ledger(&billed, &[said]).invoices.iter().map(|one| one.paid.minor()).collect();
    assert_eq!(paid, [0, 50, 100]);
}

#[test]
fn a_credit_note_frees_what_was_paid_and_a_refund_gives_it_back() {
    let billed = [invoice(1, 1, "2026-02-01", 1_000), credit(2, 1, 400)];
    let paid = [payment(1, "2026-02-01", 1_000)];
    let before = ledger(&billed, &paid);
    assert_eq!((before.invoices[0].open(), before.on_account, before.balance()), (m(0), m(400), m(-400)));
    let refund = Paid { refund: true, ..payment(2, "2026-02-09", 400) };
    let after = ledger(&billed, &[paid[0].clone(), refund]);
    assert_eq!((after.on_account, after.balance()), (m(0), m(0)));
}

#[test]
fn a_reversed_payment_counts_for_nothing() {
    let wrong = payment(1, "2026-02-01", 1_000);
    let reversal = Paid { reverses: Some(PaymentId(1)), ..payment(2, "2026-02-03", 1_000) };
    let ledger = ledger(&[invoice(1, 1, "2026-02-01", 1_000)], &[wrong, reversal]);
    assert_eq!((ledger.balance(), ledger.allocations.len()), (m(1_000), 0));
}

#[test]
fn open_amounts_age_by_thirty_days() {
    let dues =
        ["2026-06-01", "2026-05-31", "2026-05-02", "2026-05-01", "2026-04-01", "2026-03-02", "2026-03-01"];
    let billed: Vec<Billed> = (1_i64..)
        .zip(dues)
        .map(|(id, due)| invoice(id, 1, due, 10_i64.pow(u32::try_from(id).unwrap())))
        .collect();
    let ageing = ledger(&billed, &[]).ageing(day("2026-06-01"));
    // Due today is not overdue; 1, 30, 31, 61, 91 and 92 days are.
    assert_eq!(ageing.0, [m(10), m(1_100), m(10_000), m(100_000), m(11_000_000)]);
    let event = ledger(&billed, &[]).of_event(EventId(1), day("2026-06-01"));
    assert_eq!((event.due, event.overdue), (ageing.sum(), ageing.sum() - m(10)));
}

/// Invoices with credit notes not above them, payments, refunds and reversals in any order.
fn rows() -> impl Strategy<Value = (Vec<Billed>, Vec<Paid>)> {
    let invoices = proptest::collection::vec((1_i64..4, 1_i64..1_000_000, 0_i64..400, 0_i64..101), 0..12);
    let payments = proptest::collection::vec(
        (1_i64..2_000_000, 0_i64..400, any::<bool>(), 0_i64..6, any::<bool>()),
        0..15,
    );
    (invoices, payments).prop_map(|(invoices, payments)| {
        let start = day("2026-01-01");
        let mut billed = Vec::new();
        for (event, total, due, per_cent) in invoices {
            let id = i64::try_from(billed.len()).unwrap() + 1;
            billed.push(Billed { due_on: start.plus(due), ..invoice(id, event, "2026-01-01", total) });
            if per_cent > 50 {
                billed.push(credit(id + 1, id, total * per_cent / 100));
            }
        }
        let paid = (1_i64..).zip(payments).map(|(id, (amount, on, refund, invoice, reverses))| Paid {
            refund,
            paid_on: start.plus(on),
            invoice_id: (invoice > 0).then_some(InvoiceId(invoice)),
            event_id: (invoice > 3).then_some(EventId(1)),
            reverses: (reverses && id > 1).then_some(PaymentId(id - 1)),
            ..payment(id, "2026-01-01", amount)
        });
        let mut paid: Vec<Paid> = paid.collect();
        // A reversal is of the amount and kind of what it reverses, and is not reversed itself.
        for place in 1..paid.len() {
            if paid[place].reverses.is_some() {
                if paid[place - 1].reverses.is_some() {
                    paid[place].reverses = None;
                } else {
                    (paid[place].amount, paid[place].refund) =
                        (paid[place - 1].amount, paid[place - 1].refund);
                }
            }
        }
        (billed, paid)
    })
}

proptest! {
    /// C12: the balance is the sum of the rows.
    #[test]
    fn the_balance_is_the_sum_of_the_rows((billed, paid) in rows()) {
        let ledger = ledger(&billed, &paid);
        let of_invoices = billed.iter().map(|row| if row.credits.is_some() { -row.total } else { row.total });
        let sum = of_invoices.chain(paid.iter().map(Paid::effect)).sum::<Money>();
        prop_assert_eq!(ledger.balance(), sum);
    }

    #[test]
    fn nothing_is_paid_twice_and_nothing_open_is_below_nothing((billed, paid) in rows()) {
        let ledger = ledger(&billed, &paid);
        for account in &ledger.invoices {
            prop_assert!(account.open() >= Money::ZERO);
            let allocated = ledger.allocations.iter().filter(|one| one.invoice == account.invoice.id).map(|one| one.amount);
            prop_assert_eq!(allocated.sum::<Money>(), account.paid);
        }
        for row in &paid {
            let of_row = ledger.allocations.iter().filter(|one| one.payment == row.id).map(|one| one.amount);
            prop_assert!(of_row.sum::<Money>() <= row.amount);
        }
    }

    /// Ageing and the events' accounts are views of the same open amounts.
    #[test]
    fn every_view_has_the_same_sum((billed, paid) in rows(), on in 0_i64..800) {
        let ledger = ledger(&billed, &paid);
        let today = day("2026-01-01").plus(on);
        let open: Money = ledger.invoices.iter().map(Account::open).sum();
        prop_assert_eq!(ledger.ageing(today).sum(), open);
        let last = statement(&billed, &paid).last().map_or(m(0), |row| row.balance);
        prop_assert_eq!(last, ledger.balance(), "the statement ends at the balance");
        let events = (1..4).map(|event| ledger.of_event(EventId(event), today));
        let (due, paid, invoiced) = events.fold((m(0), m(0), m(0)), |sum, one| (sum.0 + one.due, sum.1 + one.paid, sum.2 + one.invoiced));
        prop_assert_eq!(due, open);
        prop_assert_eq!(invoiced, due + paid);
    }
}
