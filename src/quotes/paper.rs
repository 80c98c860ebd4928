//! A quote as a paper: what a version says, put into words and figures once for page, PDF and HTML file.
//!
//! May import: plain values of the ground and of the stages before, the room's own document.

use super::document::{Discounted, Document, DocumentLine, InstalmentLine};
use super::stems::in_each;
use super::words;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::PictureId;
use crate::ground::quantity::Share;
use crate::papers::sheet::{
    Cell, Fact, Group, Head, Image, Part, Row, Section, Sheet, Sum, Table, lines, paragraphs,
};

/// What a paper is called.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Called {
    /// As a file: "Quote 2, North wedding".
    pub title: String,
    /// At its head: "Quote, version 2, 14 May 2026".
    pub heading: String,
    /// The day it bears.
    pub dated: Day,
    /// Whether it is only a draft, which nobody can accept.
    pub draft: bool,
}

/// The paper of a document. Amounts are written in the currency it was made in, days by the studio's style.
#[must_use]
pub fn sheet(document: &Document, called: Called, formats: Formats) -> Sheet {
    let ink = formats.in_currency(&document.currency);
    let opening = Section { heading: String::new(), parts: paragraphs(&document.words) };
    let table = Section { heading: String::new(), parts: vec![Part::Table(table(document, ink))] };
    let open = document.has_open_counts().then(|| {
        Section::words("", "Lines whose count is to be agreed are not in the total.").unwrap_or_default()
    });
    let sections = [
        (!opening.parts.is_empty()).then_some(opening),
        Some(table),
        open,
        payment(document, ink),
        Section::words("Terms", &document.terms),
        Some(if called.draft { draft() } else { acceptance(document, ink) }),
        Section::words("", &document.closing),
    ];
    Sheet {
        title: called.title,
        dated: called.dated,
        head: head(document, called.heading),
        facts: facts(document, ink),
        sections: sections.into_iter().flatten().collect(),
    }
}

pub(super) fn head(document: &Document, heading: String) -> Head {
    let studio = &document.studio;
    let mut from = lines(&studio.address);
    from.extend([&studio.phone, &studio.email].into_iter().filter(|line| !line.is_empty()).cloned());
    if !studio.tax_number.is_empty() {
        from.push(format!("Tax number {}", studio.tax_number));
    }
    let logo = studio.logo.map(|id| Image {
        address: format!("/logos/{id}"),
        alt: format!("Sign of {}", studio.name),
        bytes: Vec::new(),
    });
    Head { name: studio.name.clone(), heading, from, logo }
}

fn facts(document: &Document, ink: Formats) -> Vec<Fact> {
    let (client, event) = (&document.client, &document.event);
    let with =
        |first: &str, rest: &str| std::iter::once(first.to_owned()).chain(lines(rest)).collect::<Vec<_>>();
    let mut facts = vec![
        Fact::new("For", with(&client.name, &client.address)),
        Fact::new(event.name.clone(), [ink.weekday(event.day)]),
    ];
    if !event.venue.is_empty() {
        facts.push(Fact::new("Where", with(&event.venue, &event.venue_address)));
    }
    if let Some(until) = document.valid_until {
        facts.push(Fact::new("This quote holds until", [ink.day(until)]));
    }
    facts
}

fn table(document: &Document, ink: Formats) -> Table {
    let heading = |place: &str| match place {
        "" if document.places.len() > 1 => "Besides".to_owned(),
        place => place.to_owned(),
    };
    let groups = document.places.iter().map(|place| Group {
        heading: heading(&place.place),
        rows: place.lines.iter().map(|line| row(line, ink)).collect(),
    });
    Table {
        caption: "Flowers and what goes with them".into(),
        unseen_caption: false,
        heads: ["What", "Count", "Each", "Price"].map(str::to_owned).to_vec(),
        groups: groups.collect(),
        sums: sums(document, ink),
    }
}

fn row(line: &DocumentLine, ink: Formats) -> Row {
    let mut notes: Vec<String> = Vec::new();
    if !line.words.trim().is_empty() {
        notes.push(line.words.clone());
    }
    notes.extend(in_each(&line.stems, ink));
    if !line.discount.amount.is_zero() {
        notes.push(format!("less {}{}", share(line.discount, ink), ink.money(line.discount.amount)));
    }
    let picture = line.picture.map(|id| Image {
        address: picture_address(id),
        alt: format!("Picture of {}", line.name),
        bytes: Vec::new(),
    });
    let count =
        line.count.map_or_else(|| Cell::words("to be agreed"), |count| Cell::figure(count.to_string()));
    let amount =
        line.amount.map_or_else(|| Cell::words("not in the total"), |amount| Cell::figure(ink.money(amount)));
    Row {
        name: line.name.clone(),
        notes,
        picture,
        cells: vec![count, Cell::figure(ink.money(line.price)), amount],
    }
}

/// Where a page finds a picture.
#[must_use]
pub fn picture_address(id: PictureId) -> String {
    format!("/pictures/{id}/small")
}

/// A share as a client reads it: a tenth of a per cent is fine enough beside its amount. Tax rates stand as they are.
fn said(share: Share, ink: Formats) -> String {
    words::percent(share.decimal(), &ink)
}

fn share(of: Discounted, ink: Formats) -> String {
    of.share.map(|share| format!("{}, ", said(share, ink))).unwrap_or_default()
}

fn sums(document: &Document, ink: Formats) -> Vec<Sum> {
    let mut sums = vec![Sum::new("Lines", ink.money(document.lines))];
    let discount = document.discount;
    if !discount.amount.is_zero() {
        let share = discount.share.map(|share| format!(", {}", said(share, ink))).unwrap_or_default();
        sums.push(Sum::new(format!("Discount{share}"), ink.money(-discount.amount)));
    }
    sums.extend(document.charges.iter().map(|charge| Sum::new(charge.label(), ink.money(charge.amount))));
    let tax = |before: &str, on: &str| {
        let line = |tax: &super::document::TaxLine| {
            let label = format!("{before}{}, {} {on} {}", tax.name, ink.share(tax.rate), ink.money(tax.net));
            Sum::new(label, ink.money(tax.amount))
        };
        document.taxes.iter().map(line).collect::<Vec<_>>()
    };
    let total = Sum::total("Total", ink.money(document.total));
    if document.inclusive {
        sums.push(total);
        sums.extend(tax("In it: ", "on"));
    } else {
        sums.push(Sum::new("Without tax", ink.money(document.before_tax)));
        sums.extend(tax("", "of"));
        sums.push(total);
    }
    sums
}

fn payment(document: &Document, ink: Formats) -> Option<Section> {
    let parts = &document.instalments;
    let on_days = parts.iter().any(|part| part.due_on.is_some());
    let row = |part: &InstalmentLine| {
        let day = part.due_on.map(|day| ink.day(day)).unwrap_or_default();
        let mut cells = vec![Cell::figure(said(part.share, ink)), Cell::figure(ink.money(part.amount))];
        if on_days {
            cells.insert(0, Cell::words(day));
        }
        Row { name: part.label.clone(), cells, ..Row::default() }
    };
    let mut heads = vec!["Part", "Share", "Amount"];
    if on_days {
        heads.insert(1, "By");
    }
    let table = Table {
        caption: "Parts of the payment".into(),
        unseen_caption: true,
        heads: heads.into_iter().map(str::to_owned).collect(),
        groups: vec![Group { heading: String::new(), rows: parts.iter().map(row).collect() }],
        sums: Vec::new(),
    };
    (!parts.is_empty()).then(|| Section { heading: "Payment".into(), parts: vec![Part::Table(table)] })
}

fn draft() -> Section {
    Section::words(
        "A draft",
        "This is a draft and no offer yet. It cannot be accepted, and its figures may change.",
    )
    .unwrap_or_default()
}

fn acceptance(document: &Document, ink: Formats) -> Section {
    let mut parts = paragraphs(&document.accept_words);
    if parts.is_empty() {
        let email = &document.studio.email;
        let write = if email.is_empty() { String::new() } else { format!(", or write “yes” to {email}") };
        let until = document.valid_until.map(|until| format!(", by {}", ink.day(until))).unwrap_or_default();
        parts.push(Part::Paragraph(format!("Sign below and send this page back{write}{until}.")));
    }
    parts.push(Part::Sign(vec!["Name".into(), "Date".into()]));
    Section { heading: "To accept".into(), parts }
}
