//! The demo's invoices and payments. As with its quotes, their frozen documents are not in the files: the accounts room
//! makes them, as it does for any event, so that they are always what it can read.

use anyhow::bail;
use sqlx::SqliteConnection;

use crate::accounts::ledger::NewPayment;
use crate::accounts::pages::{credit_invoice, draw_up};
use crate::accounts::store::payments;
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{ClientId, EventId, InvoiceId};
use crate::ground::money::Money;
use crate::studio::Studio;
use crate::web::answer::Trouble;

/// Something that happened with money, so many days after the files' Saturday.
struct Happened {
    on: i64,
    what: What,
}

enum What {
    /// A part of an event's payment was invoiced.
    Invoiced(i64, &'static str),
    /// A client paid all that was open, how, and with which reference.
    PaidAll(i64, &'static str, &'static str),
    /// A client paid an amount, in pence: how, and with which reference.
    Paid(i64, i64, &'static str, &'static str),
    /// An invoice was credited: how much, and why.
    Credited(i64, i64, &'static str),
    /// A client was given something back.
    Refunded(i64, i64),
}

/// In the order in which it happened: a paid deposit, a part payment, overdue invoices, a credit note with its refund.
const HAPPENED: [Happened; 17] = [
    at(-89, What::Invoiced(2, "0")),
    at(-86, What::PaidAll(9, "Card", "")),
    at(-60, What::Invoiced(3, "0")),
    at(-58, What::PaidAll(1, "Transfer", "SORRELL WRAY DEPOSIT")),
    at(-54, What::Invoiced(1, "0")),
    at(-50, What::PaidAll(4, "Transfer", "DLF PO 20417")),
    at(-35, What::Invoiced(2, "1")),
    at(-32, What::Invoiced(4, "0")),
    at(-29, What::Invoiced(10, "0")),
    at(-28, What::Invoiced(3, "1")),
    at(-27, What::PaidAll(9, "Card", "")),
    at(-25, What::Credited(4, 2_400, "Two jars came back unused")),
    at(-20, What::Refunded(9, 2_400)),
    at(-19, What::Paid(1, 100_000, "Transfer", "SORRELL WRAY")),
    at(-18, What::Paid(4, 10_000, "Transfer", "DLF")),
    at(-14, What::Invoiced(1, "1")),
    at(-13, What::Paid(2, 5_000, "Cash", "Raffle tin")),
];

const fn at(on: i64, what: What) -> Happened {
    Happened { on, what }
}

/// Keeps all of it.
pub(super) async fn keep(
    connection: &mut SqliteConnection,
    studio: &Studio,
    saturday: Day,
) -> anyhow::Result<()> {
    for (number, happened) in HAPPENED.iter().enumerate() {
        let on = saturday.plus(happened.on);
        let now: Moment = format!("{on}T15:10:00Z").parse()?;
        let done = match happened.what {
            What::Invoiced(event, part) => {
                draw_up(connection, studio, EventId(event), (part, on, now)).await.map(drop)
            }
            What::Credited(invoice, amount, why) => {
                let what = (Money::from_minor(amount), why);
                credit_invoice(connection, studio, InvoiceId(invoice), what, (on, now)).await.map(drop)
            }
            What::PaidAll(client, how, reference) => {
                let open = payments::ledger_of(connection, ClientId(client)).await?.balance();
                let row =
                    NewPayment { how: how.into(), reference: reference.into(), ..row(client, open, on) };
                paid(connection, &row, (number, now)).await
            }
            What::Paid(client, amount, how, reference) => {
                let row = row(client, Money::from_minor(amount), on);
                let row = NewPayment { how: how.into(), reference: reference.into(), ..row };
                paid(connection, &row, (number, now)).await
            }
            What::Refunded(client, amount) => {
                let row = row(client, Money::from_minor(amount), on);
                let row = NewPayment { refund: true, how: "Card".into(), ..row };
                paid(connection, &row, (number, now)).await
            }
        };
        if let Err(trouble) = done {
            bail!("The demo's money {} days from its Saturday is not kept: {trouble:?}", happened.on);
        }
    }
    Ok(())
}

fn row(client: i64, amount: Money, paid_on: Day) -> NewPayment {
    NewPayment {
        id: (),
        client_id: ClientId(client),
        event_id: None,
        invoice_id: None,
        refund: false,
        reverses: None,
        paid_on,
        amount,
        how: String::new(),
        reference: String::new(),
        note: String::new(),
    }
}

async fn paid(
    connection: &mut SqliteConnection,
    row: &NewPayment,
    (number, now): (usize, Moment),
) -> Result<(), Trouble> {
    payments::add(connection, row, (&format!("demo-{number}"), now)).await?;
    Ok(())
}
