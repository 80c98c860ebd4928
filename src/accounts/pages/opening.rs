//! What every page of an event's account begins with.

use sqlx::SqliteConnection;

use crate::accounts::document::{Document, Earlier, Figures, Kind, Party, TaxPart};
use crate::accounts::drawing_up::{Before, left_of};
use crate::accounts::instalments::Instalment;
use crate::accounts::issuing::buyer;
use crate::accounts::schedule::{Dates, Schedule, of_quote, schedule};
use crate::accounts::store::invoices::{self, Kept};
use crate::accounts::store::{plan, terms};
use crate::accounts::{Terms, whole};
use crate::clients;
use crate::events::Event;
use crate::events::pages::event_or_trouble;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{ClientId, EventId, InvoiceId};
use crate::ground::money::Money;
use crate::quotes::pages::Ink;
use crate::quotes::{self, Acceptance, Version, standing_acceptance};
use crate::web::answer::Trouble;

/// An event with its account, as the book has them.
pub(super) struct Opened {
    pub event: Event,
    pub terms: Terms,
    /// The version that counts as accepted, and by whom.
    pub accepted: Option<(Version, Acceptance)>,
    /// How often the event's own parts were saved; 0 where it has none.
    pub plan_version: i64,
    /// Its parts: its own, else the accepted version's, else the usual ones.
    pub parts: Vec<Instalment>,
    /// From where they are.
    pub source: &'static str,
    /// Its invoices and credit notes.
    pub kept: Vec<Kept>,
    /// The parts with their amounts; none before a version is accepted.
    pub schedule: Option<Schedule>,
}

const AS_ACCEPTED: &str = "as the accepted quote has them";
const USUAL: &str = "the studio's usual ones";

/// Opens an event's account.
pub(super) async fn open(connection: &mut SqliteConnection, id: EventId) -> Result<Opened, Trouble> {
    let event = event_or_trouble(connection, id).await?;
    let terms = terms::terms(connection).await?;
    let mut versions = quotes::store::versions(connection, id).await?;
    let accepted = standing_acceptance(&versions).map(|place| versions.swap_remove(place));
    let accepted = accepted.and_then(|version| {
        let acceptance = version.acceptance.clone()?;
        Some((version, acceptance))
    });
    let own = plan::plans(connection, &[id]).await?.remove(&id);
    let plan_version = own.as_ref().map_or(0, |plan| plan.version);
    let of_version =
        accepted.as_ref().map(|(version, _)| of_quote(&version.frozen.document)).unwrap_or_default();
    let (parts, source) = match own {
        // The first invoice keeps the parts as the event's own; they are named so once they say something else.
        Some(plan) if is_same(&plan.parts, &of_version) => (plan.parts, AS_ACCEPTED),
        Some(plan) if of_version.is_empty() && is_same(&plan.parts, &terms.usual) => (plan.parts, USUAL),
        Some(plan) => (plan.parts, "this event's own"),
        None if !of_version.is_empty() => (of_version, AS_ACCEPTED),
        None => (terms.usual.clone(), USUAL),
    };
    let kept = invoices::of_event(connection, id).await?;
    let invoiced = invoices::invoiced_of_parts(connection, &[id]).await?;
    let schedule = accepted.as_ref().map(|(version, acceptance)| {
        let dates = Dates { accepted_on: acceptance.on, event: event.day };
        schedule(version.frozen.document.total, &parts, dates, &invoiced, of_quote_invoiced(&kept))
    });
    Ok(Opened { event, terms, accepted, plan_version, parts, source, kept, schedule })
}

fn is_same(own: &[Instalment], others: &[Instalment]) -> bool {
    let bare = |part: &Instalment| Instalment { id: None, ..part.clone() };
    own.iter().map(bare).eq(others.iter().map(bare))
}

/// What was invoiced of the quote, after credits: everything but extras, which stand beside it.
fn of_quote_invoiced(kept: &[Kept]) -> Money {
    let sign = |one: &Kept| {
        if one.credits_id.is_some() { -one.document.figures.total } else { one.document.figures.total }
    };
    kept.iter().filter(|one| !is_beside(one, kept)).map(sign).sum()
}

fn is_beside(one: &Kept, kept: &[Kept]) -> bool {
    let of = one.credits_id.and_then(|id| kept.iter().find(|other| other.id == id));
    of.unwrap_or(one).document.kind == Kind::Other
}

impl Opened {
    /// The day on which it was called off or lost, if it was: from then on nothing more of its quote is invoiced.
    pub(super) fn called_off(&self) -> Option<Day> {
        self.event.ended.filter(|_| !self.event.is_open()).map(|(day, _)| day)
    }

    /// The figures of the accepted version.
    pub(super) fn whole(&self) -> Option<Figures> {
        self.accepted.as_ref().map(|(version, _)| whole::whole(&version.frozen.document))
    }

    /// What credit notes leave of each invoice of the quote, oldest first: what can be credited of it.
    pub(super) fn left_of_invoices(&self) -> Vec<(InvoiceId, String, Money)> {
        let invoices = self.kept.iter().filter(|one| one.credits_id.is_none() && !is_beside(one, &self.kept));
        let left = invoices.map(|one| {
            let left = left_of(&one.document.figures, &credits_among(&self.kept, one));
            (one.id, one.document.number.clone(), left.iter().map(TaxPart::gross).sum())
        });
        left.collect()
    }

    /// The invoices of the quote with what credit notes leave of them, oldest first; those wholly credited are left out.
    pub(super) fn before(&self) -> Vec<Before> {
        let invoices = self.kept.iter().filter(|one| one.credits_id.is_none() && !is_beside(one, &self.kept));
        let before = invoices.map(|one| {
            let credits = credits_among(&self.kept, one);
            let left = left_of(&one.document.figures, &credits);
            Before { invoice: earlier(&one.document), left }
        });
        before.filter(|one| one.left.iter().any(|tax| !tax.net.is_zero() || !tax.amount.is_zero())).collect()
    }
}

/// The figures of an invoice's credit notes among an event's documents.
pub(super) fn credits_among<'a>(kept: &'a [Kept], invoice: &Kept) -> Vec<&'a Figures> {
    let credits = kept.iter().filter(|one| one.credits_id == Some(invoice.id));
    credits.map(|one| &one.document.figures).collect()
}

/// A document by number and date.
pub(super) fn earlier(document: &Document) -> Earlier {
    Earlier { number: document.number.clone(), issued_on: document.issued_on }
}

/// A client as an invoice names it; one that was removed still by its name and address.
pub(super) async fn party(connection: &mut SqliteConnection, id: ClientId) -> Result<Party, Trouble> {
    let account = terms::client_account(connection, id).await?;
    if let Some(client) = clients::store::client(connection, id).await? {
        return Ok(buyer(&client, &account));
    }
    let (name, address) = terms::client_on_paper(connection, id).await?.ok_or(Trouble::NotFound("client"))?;
    let removed = clients::Client {
        id,
        version: 0,
        name,
        email: String::new(),
        phone: String::new(),
        address,
        note: String::new(),
    };
    Ok(buyer(&removed, &account))
}

/// Writes amounts in a document's own currency.
pub(super) fn ink(document: &Document, formats: Formats) -> Ink {
    let currency = iso_currency::Currency::from_code(&document.currency).unwrap_or(formats.currency);
    Ink(Formats { currency, ..formats })
}

/// How an invoice stands: a shape, and words.
pub(super) fn standing(
    account: &crate::accounts::ledger::Account,
    formats: Formats,
    today: Day,
) -> (&'static str, String) {
    let open = account.open();
    if open.is_zero() {
        let paid = account.invoice.total - account.credited;
        return if paid.is_zero() { ("off", "Credited".to_owned()) } else { ("done", "Paid".to_owned()) };
    }
    let due = formats.day(account.invoice.due_on);
    match (account.overdue(today), account.paid.is_zero()) {
        (Some(days), _) => {
            let days = if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
            ("late", format!("{} overdue by {days}", formats.money(open)))
        }
        (None, true) => ("asked", format!("Due on {due}")),
        (None, false) => ("part", format!("{} still due on {due}", formats.money(open))),
    }
}
