//! One invoice or credit note, as it was made.

use askama::Template;
use sqlx::SqliteConnection;

use super::opening::{ink, party, standing};
use crate::accounts::document::{Document, Kind, TaxPart};
use crate::accounts::drawing_up::left_of;
use crate::accounts::issuing::seller;
use crate::accounts::ledger::Account;
use crate::accounts::paper::sheet;
use crate::accounts::store::invoices::{self, Kept};
use crate::accounts::store::{payments, terms};
use crate::accounts::ubl::missing::{self, Missing};
use crate::accounts::ubl::{completed, ubl};
use crate::ground::ids::{ClientId, EventId, InvoiceId};
use crate::ground::money::Money;
use crate::papers;
use crate::papers::pages::{html_answer, pdf_answer};
use crate::papers::sheet::Sheet;
use crate::quotes::pages::Ink;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, download, page};
use crate::web::path::Path;

/// A document with its credit notes.
pub(super) struct Found {
    pub kept: Kept,
    pub credits: Vec<Kept>,
}

impl Found {
    /// What credit notes leave of it, with its tax.
    pub(super) fn left(&self) -> Money {
        let credits: Vec<_> = self.credits.iter().map(|credit| &credit.document.figures).collect();
        left_of(&self.kept.document.figures, &credits).iter().map(TaxPart::gross).sum()
    }
}

pub(super) async fn find(connection: &mut SqliteConnection, id: InvoiceId) -> Result<Found, Trouble> {
    let kept = invoices::invoice(connection, id).await?.ok_or(Trouble::NotFound("invoice"))?;
    let credits = invoices::credits_of(connection, id).await?;
    Ok(Found { kept, credits })
}

#[derive(Template)]
#[template(path = "accounts/invoice.html")]
struct InvoicePage {
    shell: Shell,
    id: InvoiceId,
    client: ClientId,
    event: Option<EventId>,
    document: Document,
    sheet: Sheet,
    /// None for a credit note.
    account: Option<Account>,
    /// Its credit notes.
    credits: Vec<(InvoiceId, String)>,
    /// The invoice that it takes back.
    of: Option<InvoiceId>,
    left: Money,
    ink: Ink,
}

impl InvoicePage {
    fn standing(&self) -> (&'static str, String) {
        match &self.account {
            Some(account) => standing(account, self.ink.0, self.shell.today),
            None => ("off", "Takes an invoice back".to_owned()),
        }
    }

    fn is_open(&self) -> bool {
        self.account.as_ref().is_some_and(|account| account.open() > Money::ZERO)
    }

    fn can_be_credited(&self) -> bool {
        self.document.kind != Kind::Credit && self.left > Money::ZERO
    }
}

#[derive(Template)]
#[template(path = "accounts/missing.html")]
struct MissingPage {
    shell: Shell,
    id: InvoiceId,
    heading: String,
    client: ClientId,
    missing: Vec<Missing>,
}

impl MissingPage {
    /// Where something is entered: address and words.
    fn place(&self, missing: &Missing) -> Option<(String, &'static str)> {
        match missing.place {
            missing::Place::Settings => Some(("/settings".to_owned(), "Settings")),
            missing::Place::Terms => Some(("/accounts/terms".to_owned(), "How we invoice")),
            missing::Place::Client => {
                Some((format!("/clients/{}/account", self.client), "The client’s account"))
            }
            missing::Place::Nowhere => None,
        }
    }
}

/// The document as an e-invoice, or what is missing for it.
pub(super) async fn e_invoice(mut visit: Visit, Path(id): Path<InvoiceId>) -> Answer {
    let found = find(&mut visit.connection, id).await?;
    let terms = terms::terms(&mut visit.connection).await?;
    let buyer = party(&mut visit.connection, found.kept.client_id).await?;
    let document = completed(found.kept.document, &seller(&visit.studio, &terms), &buyer, &terms);
    let decimals = ink(&document, visit.studio.formats).0.minor_digits();
    match ubl(&document, decimals) {
        Ok(xml) => download(&format!("{}.xml", document.heading()), "application/xml", xml),
        Err(missing) => page(&MissingPage {
            shell: visit.shell(Section::Accounts, "E-invoice"),
            id,
            heading: document.heading(),
            client: found.kept.client_id,
            missing,
        }),
    }
}

pub(super) async fn as_pdf(mut visit: Visit, Path(id): Path<InvoiceId>) -> Answer {
    let sheet = file(&mut visit, id).await?;
    pdf_answer(sheet, visit.studio.paper).await
}

pub(super) async fn as_html(mut visit: Visit, Path(id): Path<InvoiceId>) -> Answer {
    html_answer(&file(&mut visit, id).await?, visit.studio.paper)
}

/// The paper with the studio's sign in it, as a file needs it.
async fn file(visit: &mut Visit, id: InvoiceId) -> Result<Sheet, Trouble> {
    let document = find(&mut visit.connection, id).await?.kept.document;
    let mut sheet = sheet(&document, visit.studio.formats);
    if let (Some(sign), Some(logo)) = (&mut sheet.head.logo, document.logo) {
        sign.bytes = papers::store::logo(&mut visit.connection, logo).await?.unwrap_or_default();
    }
    Ok(sheet)
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<InvoiceId>) -> Answer {
    let found = find(&mut visit.connection, id).await?;
    let left = found.left();
    let ledger = payments::ledger_of(&mut visit.connection, found.kept.client_id).await?;
    let credits = found.credits.iter().map(|credit| (credit.id, credit.document.number.clone())).collect();
    let document = found.kept.document;
    page(&InvoicePage {
        shell: visit.shell(Section::Accounts, document.heading()),
        id,
        client: found.kept.client_id,
        event: found.kept.event_id,
        ink: ink(&document, visit.studio.formats),
        sheet: sheet(&document, visit.studio.formats),
        document,
        account: ledger.invoices.into_iter().find(|account| account.invoice.id == id),
        credits,
        of: found.kept.credits_id,
        left,
    })
}
