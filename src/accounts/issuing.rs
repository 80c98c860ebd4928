//! A new invoice or credit note, whole: who, to whom, when, with which figures. Nothing in it is asked for again later.
//!
//! May import: plain values of the ground and of the rooms before, the room's own documents.

use super::document::{Bank, Document, Earlier, Figures, Kind, Occasion, Party};
use super::{ClientAccount, Terms};
use crate::clients::Client;
use crate::events::Event;
use crate::ground::dates::Day;
use crate::ground::fingerprint::fingerprint;
use crate::ground::money::Money;
use crate::studio::Studio;

/// Everything around the figures.
#[derive(Debug, Clone, Copy)]
pub struct Around<'a> {
    /// Who asks.
    pub studio: &'a Studio,
    /// How it invoices.
    pub terms: &'a Terms,
    /// Who is asked.
    pub buyer: &'a Party,
    /// For what.
    pub event: Option<&'a Event>,
    /// Its date.
    pub today: Day,
    /// The number it gets.
    pub number: i64,
}

/// What the document is about.
#[derive(Debug, Clone)]
pub struct Subject {
    /// What it asks for or takes back.
    pub kind: Kind,
    /// One line under the heading.
    pub about: String,
    /// The day on which it is due by agreement; one that is past gives way to the usual days.
    pub due_on: Option<Day>,
    /// The invoice that a credit note takes back.
    pub credits: Option<Earlier>,
    /// What the accepted version comes to, for the final invoice.
    pub whole: Option<Money>,
}

/// Makes the document.
#[must_use]
pub fn issue(around: &Around, subject: Subject, figures: Figures) -> Document {
    let (studio, terms, today) = (around.studio, around.terms, around.today);
    let due_on = match subject.due_on {
        _ if subject.kind == Kind::Credit => today,
        Some(day) if day >= today => day,
        _ => today.plus(terms.payment_days),
    };
    // The studio's words ask for a payment; a credit note asks for none.
    let words = if subject.kind == Kind::Credit { String::new() } else { terms.words.clone() };
    Document {
        kind: subject.kind,
        number: format!("{}{}", terms.number_prefix, around.number),
        issued_on: today,
        due_on,
        currency: studio.formats.currency.code().to_owned(),
        seller: seller(studio, terms),
        buyer: around.buyer.clone(),
        event: around.event.map(occasion),
        about: subject.about,
        credits: subject.credits,
        words,
        bank: Bank { holder: terms.account_holder.clone(), iban: terms.iban.clone(), bic: terms.bic.clone() },
        figures: treated(figures, terms),
        whole: subject.whole,
        logo: studio.logo,
    }
}

/// The studio as an invoice names it.
#[must_use]
pub fn seller(studio: &Studio, terms: &Terms) -> Party {
    Party {
        name: studio.name.clone(),
        address: studio.address.clone(),
        country: terms.country.clone(),
        email: studio.email.clone(),
        phone: studio.phone.clone(),
        tax_number: studio.tax_number.clone(),
        legal_id: terms.legal_id.clone(),
        reference: String::new(),
    }
}

/// A client as an invoice names it.
#[must_use]
pub fn buyer(client: &Client, account: &ClientAccount) -> Party {
    Party {
        name: client.name.clone(),
        address: client.address.clone(),
        country: account.country.clone(),
        email: client.email.clone(),
        phone: client.phone.clone(),
        tax_number: account.tax_number.clone(),
        legal_id: account.legal_id.clone(),
        reference: account.reference.clone(),
    }
}

fn occasion(event: &Event) -> Occasion {
    Occasion {
        name: event.name.clone(),
        day: event.day,
        venue: event.venue.clone(),
        venue_address: event.venue_address.clone(),
    }
}

/// The same figures with what each rate is to EN 16931, where the studio said so.
#[must_use]
pub fn treated(mut figures: Figures, terms: &Terms) -> Figures {
    for tax in &mut figures.taxes {
        if let Some(treatment) = tax.id.and_then(|id| terms.treatment(id)) {
            tax.category = Some(treatment.category);
            tax.reason.clone_from(&treatment.reason);
        }
    }
    figures
}

/// A key that can be used once: for this place and exactly this document.
#[must_use]
pub fn once_key(place: &str, document: &Document) -> String {
    format!("{place}-{}-{}", document.number, fingerprint(document))
}
