//! An event's account: its payment in parts, invoices, what came in.

use askama::Template;
use axum::extract::State;

use super::loan_charges::LoanCharges;
use super::opening::{Opened, open, standing};
use crate::accounts::cancellation::credits;
use crate::accounts::forms::plan::PlanForm;
use crate::accounts::instalments::Instalment;
use crate::accounts::ledger::{EventMoney, Ledger, Paid};
use crate::accounts::schedule::{Planned, Schedule};
use crate::accounts::store::{payments, plan};
use crate::events::Ending;
use crate::ground::choice::Choice;
use crate::ground::ids::{EventId, InvoiceId, PaymentId};
use crate::ground::money::Money;
use crate::quotes::payment::{DueKind, Part};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "accounts/event.html")]
struct EventPage {
    shell: Shell,
    opened: Opened,
    ledger: Ledger,
    paid: Vec<Paid>,
    loans: LoanCharges,
    form: PlanForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

/// A part of the payment as a row.
struct PartLine {
    label: String,
    due: String,
    amount: String,
    working: String,
    standing: (&'static str, String),
    /// Where it is invoiced, if it can be.
    invoice: Option<String>,
}

/// An invoice or a credit note as a row.
pub(super) struct BillLine {
    pub id: InvoiceId,
    pub heading: String,
    pub about: String,
    pub issued: String,
    pub total: String,
    pub open: String,
    pub standing: (&'static str, String),
}

/// Money that came in or went back, as a row.
pub(super) struct PaidLine {
    pub id: PaymentId,
    pub day: String,
    pub what: String,
    pub amount: String,
    pub pays: String,
    /// Which way it went, in words.
    pub way: &'static str,
    pub reversible: bool,
}

impl EventPage {
    fn can_be_refunded(&self) -> bool {
        self.ledger.on_account > Money::ZERO
    }

    async fn new(visit: &mut Visit, opened: Opened) -> Result<EventPage, Trouble> {
        let client = opened.event.client_id;
        let ledger = payments::ledger_of(&mut visit.connection, client).await?;
        let paid = payments::paid(&mut visit.connection, Some(&[client])).await?;
        let loans = LoanCharges::read(&mut visit.connection, opened.event.id).await?;
        let form = PlanForm::of(opened.plan_version, open_parts(&opened).into_iter(), &visit.studio.formats);
        Ok(EventPage {
            shell: visit.shell(Section::Accounts, format!("Account of {}", opened.event.name)),
            ledger,
            paid,
            loans,
            form,
            opened,
            errors: FieldErrors::default(),
            differences: Vec::new(),
        })
    }

    fn money(&self) -> EventMoney {
        self.ledger.of_event(self.opened.event.id, self.shell.today)
    }

    fn amount(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    fn total(&self) -> Option<String> {
        self.opened.accepted.as_ref().map(|(version, _)| self.amount(version.frozen.document.total))
    }

    fn is_called_off(&self) -> bool {
        let cancelled = matches!(self.opened.event.ended, Some((_, Ending::Cancelled)));
        cancelled && self.opened.accepted.is_some()
    }

    fn dues(&self) -> Vec<(&'static str, &'static str)> {
        DueKind::options()
    }

    fn parts(&self) -> Vec<PartLine> {
        let Some(schedule) = &self.opened.schedule else { return Vec::new() };
        schedule.parts.iter().enumerate().map(|(place, part)| self.part(place, part)).collect()
    }

    fn part(&self, place: usize, part: &Planned) -> PartLine {
        let f = &self.shell.formats;
        let late = part.due_on < self.shell.today;
        let goes_on = self.opened.event.is_open();
        let standing = match (part.invoiced, part.amount.is_zero(), late) {
            (true, _, _) => ("done", "Invoiced".to_owned()),
            (false, _, _) if !goes_on => ("off", "Called off".to_owned()),
            (false, true, _) => ("off", "Nothing is left for it".to_owned()),
            (false, false, true) => ("late", "To be invoiced".to_owned()),
            (false, false, false) => ("", "Not invoiced yet".to_owned()),
        };
        let open = goes_on && !part.invoiced && !part.amount.is_zero();
        PartLine {
            label: part.instalment.label.clone(),
            due: f.weekday(part.due_on),
            amount: f.money(part.amount),
            working: self.working(part),
            standing,
            invoice: open.then(|| format!("/events/{}/invoices/new?part={place}", self.opened.event.id)),
        }
    }

    fn working(&self, part: &Planned) -> String {
        let f = &self.shell.formats;
        if part.invoiced {
            return "What was invoiced of it, less what was credited.".to_owned();
        }
        match part.instalment.part {
            Part::Share(share) => format!(
                "{} of what is not invoiced and not an amount by itself, to the cent by largest remainder.",
                f.share(share)
            ),
            Part::Amount(amount) if amount == part.amount => "An amount, as agreed.".to_owned(),
            Part::Amount(amount) => {
                format!("{} was agreed; it takes what is left of the total.", f.money(amount))
            }
        }
    }

    /// What no part takes since the accepted version has risen.
    fn unplanned(&self) -> Option<String> {
        let schedule = self.goes_on().filter(|schedule| schedule.unplanned > Money::ZERO)?;
        Some(self.shell.formats.money(schedule.unplanned))
    }

    /// What was invoiced more than the accepted version comes to, and which invoices are credited by how much, the latest
    /// first.
    fn too_much(&self) -> Option<(String, Vec<(String, String)>)> {
        let schedule = self.goes_on().filter(|schedule| schedule.unplanned < Money::ZERO)?;
        let left = self.opened.left_of_invoices();
        let amounts: Vec<Money> = left.iter().map(|(.., left)| *left).collect();
        let credits = left.iter().zip(credits(&amounts, -schedule.unplanned));
        let f = &self.shell.formats;
        let credit = |((id, number, _), amount): (&(InvoiceId, String, Money), Money)| {
            let path = format!("/invoices/{id}/credit?amount={}&reason=Fewer+pieces", f.money_input(amount));
            (format!("Credit {} of invoice {number}", f.money(amount)), path)
        };
        let credits = credits.filter(|(_, amount)| !amount.is_zero()).map(credit).rev().collect();
        Some((f.money(-schedule.unplanned), credits))
    }

    /// Whether more than one part is left, so that invoicing all of them at once is a choice.
    fn several_open(&self) -> bool {
        self.goes_on().is_some_and(|schedule| schedule.open().count() > 1)
    }

    /// Whether parts can still be changed: something is not invoiced yet.
    fn parts_can_change(&self) -> bool {
        self.goes_on().is_some_and(|schedule| schedule.left > Money::ZERO)
    }

    /// The parts of an event that was not called off: what of them is open can be invoiced.
    fn goes_on(&self) -> Option<&Schedule> {
        self.opened.schedule.as_ref().filter(|_| self.opened.event.is_open())
    }

    fn bills(&self) -> Vec<BillLine> {
        bill_lines(&self.opened, &self.ledger, &self.shell)
    }

    /// Payments of this event: said to be for it, or paying one of its invoices.
    fn payments(&self) -> Vec<PaidLine> {
        let event = Some(self.opened.event.id);
        let own = |row: &&Paid| {
            let pays = self.ledger.allocations.iter().filter(|one| one.payment == row.id);
            let mut invoices = pays.filter_map(|one| {
                self.ledger.invoices.iter().find(|account| account.invoice.id == one.invoice)
            });
            row.event_id == event || invoices.any(|account| account.invoice.event_id == event)
        };
        self.paid
            .iter()
            .filter(own)
            .map(|row| paid_line(row, &self.paid, &self.ledger, &self.shell))
            .collect()
    }

    fn message(&self, row: &crate::accounts::forms::parts::PartRow, cell: &str) -> Option<&str> {
        self.errors.of(&row.field(cell))
    }
}

fn open_parts(opened: &Opened) -> Vec<&Instalment> {
    match &opened.schedule {
        Some(schedule) => {
            schedule.parts.iter().filter(|part| !part.invoiced).map(|part| &part.instalment).collect()
        }
        None => opened.parts.iter().collect(),
    }
}

/// An event's documents as rows.
fn bill_lines(opened: &Opened, ledger: &Ledger, shell: &Shell) -> Vec<BillLine> {
    let f = shell.formats;
    let line = |one: &crate::accounts::store::invoices::Kept| {
        let document = &one.document;
        let account = ledger.invoices.iter().find(|account| account.invoice.id == one.id);
        BillLine {
            id: one.id,
            heading: document.heading(),
            about: document.about.clone(),
            issued: f.day(document.issued_on),
            total: f.money(if account.is_some() { document.figures.total } else { -document.figures.total }),
            open: account.map(|account| f.money(account.open())).unwrap_or_default(),
            standing: account
                .map_or(("off", "Credit".to_owned()), |account| standing(account, f, shell.today)),
        }
    };
    opened.kept.iter().map(line).collect()
}

/// A payment as a row: what it is, which invoices it pays.
pub(super) fn paid_line(row: &Paid, all: &[Paid], ledger: &Ledger, shell: &Shell) -> PaidLine {
    let f = &shell.formats;
    let reversed = all.iter().any(|other| other.reverses == Some(row.id));
    let what = match (row.reverses.is_some(), row.refund) {
        (true, _) => "Reversal",
        (false, true) => "Refund",
        (false, false) => "Payment",
    };
    let more = [&row.how, &row.reference, &row.note].into_iter().filter(|words| !words.is_empty());
    let what = std::iter::once(what.to_owned()).chain(more.cloned()).collect::<Vec<_>>().join(", ");
    let pays = ledger.allocations.iter().filter(|one| one.payment == row.id);
    let pays: Vec<String> = pays
        .filter_map(|one| {
            let account = ledger.invoices.iter().find(|account| account.invoice.id == one.invoice)?;
            Some(format!("{} on invoice {}", f.money(one.amount), account.invoice.number))
        })
        .collect();
    let pays = if reversed { "Reversed: it counts for nothing".to_owned() } else { pays.join("; ") };
    let amount = -row.effect();
    PaidLine {
        id: row.id,
        day: f.day(row.paid_on),
        what,
        amount: f.money(amount),
        pays,
        way: if row.refund { "went back" } else { "came in" },
        reversible: !reversed && row.reverses.is_none(),
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let opened = open(&mut visit.connection, id).await?;
    page(&EventPage::new(&mut visit, opened).await?)
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<PlanForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let opened = open(&mut tx, id).await?;
    let known = open_parts(&opened);
    let left = opened.schedule.as_ref().map_or(Money::LARGEST, |schedule| schedule.left);
    let new = match form.parse(&known, left, (visit.today, &visit.studio.formats)) {
        Ok(new) => new,
        Err(errors) => {
            drop(tx);
            return refused(&EventPage { form, errors, ..EventPage::new(&mut visit, opened).await? });
        }
    };
    if opened.plan_version.to_string() != form.version {
        drop(tx);
        let page = EventPage::new(&mut visit, opened).await?;
        let differences = form.differences(&page.form);
        if differences.is_empty() {
            return onward_saying(
                &app,
                format!("/events/{id}/account"),
                "The parts are saved already, just so.",
            );
        }
        let form = PlanForm { version: page.form.version.clone(), ..form };
        return stale(&EventPage { form, differences, ..page });
    }
    let invoiced = opened.schedule.iter().flat_map(|schedule| &schedule.parts).filter(|part| part.invoiced);
    let parts: Vec<Instalment> = invoiced.map(|part| part.instalment.clone()).chain(new).collect();
    plan::keep(&mut tx, id, &parts, visit.now).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/events/{id}/account"), "The parts of the payment are saved.")
}
