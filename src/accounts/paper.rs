//! An invoice or a credit note as a paper: what it says, put into words and figures once for page, PDF and HTML file.
//!
//! May import: plain values of the ground and of the stages before, the room's own document.

use super::document::{Beside, Document, Figures, Line, Party, TaxPart};
use crate::ground::formats::Formats;
use crate::papers::sheet::{
    Cell, Fact, Group, Head, Image, Part, Row, Section, Sheet, Sum, Table, lines, paragraphs,
};

/// The paper of a document. Amounts are written in the currency it was made in, days by the studio's style.
#[must_use]
pub fn sheet(document: &Document, formats: Formats) -> Sheet {
    let ink = formats.in_currency(&document.currency);
    let sections = [
        Section::words("", &document.about),
        Some(Section { heading: String::new(), parts: vec![Part::Table(table(document, ink))] }),
        whole(document, ink),
        bank(document),
        Some(Section { heading: String::new(), parts: paragraphs(&document.words) }),
    ];
    let sections = sections.into_iter().flatten().filter(|section| !section.parts.is_empty());
    Sheet {
        title: format!("{}, {}", document.heading(), document.buyer.name),
        dated: document.issued_on,
        head: head(document),
        facts: facts(document, ink),
        sections: sections.collect(),
    }
}

fn head(document: &Document) -> Head {
    let seller = &document.seller;
    let mut from = lines(&seller.address);
    from.extend([&seller.phone, &seller.email].into_iter().filter(|line| !line.is_empty()).cloned());
    from.extend(numbers(seller));
    let logo = document.logo.map(|id| Image {
        address: format!("/logos/{id}"),
        alt: format!("Sign of {}", seller.name),
        bytes: Vec::new(),
    });
    Head { name: seller.name.clone(), heading: document.heading(), from, logo }
}

fn numbers(party: &Party) -> Vec<String> {
    let tax = (!party.tax_number.is_empty()).then(|| format!("Tax number {}", party.tax_number));
    let legal = (!party.legal_id.is_empty()).then(|| format!("Register number {}", party.legal_id));
    tax.into_iter().chain(legal).collect()
}

fn facts(document: &Document, ink: Formats) -> Vec<Fact> {
    let buyer = &document.buyer;
    let mut named = vec![buyer.name.clone()];
    named.extend(lines(&buyer.address));
    if !buyer.tax_number.is_empty() {
        named.push(format!("Tax number {}", buyer.tax_number));
    }
    let mut facts = vec![Fact::new("For", named), Fact::new("Date", [ink.day(document.issued_on)])];
    facts.push(match &document.credits {
        Some(of) => Fact::new("Takes back", [format!("Invoice {} of {}", of.number, ink.day(of.issued_on))]),
        None => Fact::new("To be paid by", [ink.day(document.due_on)]),
    });
    if !buyer.reference.is_empty() {
        facts.push(Fact::new("Your reference", [buyer.reference.clone()]));
    }
    if let Some(event) = &document.event {
        facts.push(Fact::new(event.name.clone(), [ink.weekday(event.day), event.venue.clone()]));
    }
    facts
}

fn table(document: &Document, ink: Formats) -> Table {
    let figures = &document.figures;
    let groups = figures.groups().into_iter().map(|(heading, lines)| Group {
        heading: heading.to_owned(),
        rows: lines.iter().map(|line| row(line, ink)).collect(),
    });
    Table {
        caption: "Lines and sums".into(),
        unseen_caption: true,
        heads: ["What", "Count", "Each", "Price"].map(str::to_owned).to_vec(),
        groups: groups.collect(),
        sums: sums(figures, document.credits.is_some(), ink),
    }
}

fn row(line: &Line, ink: Formats) -> Row {
    let mut notes: Vec<String> = Vec::new();
    if !line.words.trim().is_empty() {
        notes.push(line.words.clone());
    }
    if !line.discount.is_zero() {
        notes.push(format!("less {}", ink.money(line.discount)));
    }
    let count = if line.count < 0 { "less".to_owned() } else { line.count.to_string() };
    let cells = [count, ink.money(line.price), ink.money(line.amount)].map(Cell::figure).to_vec();
    Row { name: line.name.clone(), notes, picture: None, cells }
}

fn sums(figures: &Figures, credited: bool, ink: Formats) -> Vec<Sum> {
    let mut sums = Vec::new();
    if figures.lines_total != figures.total {
        sums.push(Sum::new("Lines", ink.money(figures.lines_total)));
    }
    if !figures.off.is_empty() {
        sums.push(Sum::new("Discount", ink.money(-figures.taken_off())));
    }
    sums.extend(
        figures.charges.iter().map(|Beside { what, amount, .. }| Sum::new(what.as_str(), ink.money(*amount))),
    );
    let tax = |before: &str, on: &str| {
        let line = |tax: &TaxPart| {
            let why = if tax.reason.is_empty() { String::new() } else { format!(" ({})", tax.reason) };
            let label =
                format!("{before}{}, {} {on} {}{why}", tax.name, ink.share(tax.rate), ink.money(tax.net));
            Sum::new(label, ink.money(tax.amount))
        };
        figures.taxes.iter().map(line).collect::<Vec<_>>()
    };
    let total = Sum::total(if credited { "Credited" } else { "To be paid" }, ink.money(figures.total));
    if figures.inclusive {
        sums.push(total);
        sums.extend(tax("In it: ", "on"));
    } else {
        sums.push(Sum::new("Without tax", ink.money(figures.before_tax)));
        sums.extend(tax("", "of"));
        sums.push(total);
    }
    sums
}

fn whole(document: &Document, ink: Formats) -> Option<Section> {
    let whole = document.whole?;
    let less =
        if whole == document.figures.total { "" } else { "; what was invoiced before is taken off above" };
    Section::words("", &format!("The whole comes to {}{less}.", ink.money(whole)))
}

fn bank(document: &Document) -> Option<Section> {
    let bank = &document.bank;
    if document.credits.is_some() || bank.iban.is_empty() {
        return None;
    }
    let holder = if bank.holder.is_empty() { &document.seller.name } else { &bank.holder };
    let mut facts = vec![Fact::new("Account of", [holder.clone()]), Fact::new("IBAN", [bank.printed()])];
    if !bank.bic.is_empty() {
        facts.push(Fact::new("BIC", [bank.bic.clone()]));
    }
    facts.push(Fact::new("Reference", [document.number.clone()]));
    Some(Section { heading: "To pay".into(), parts: vec![Part::Facts(facts)] })
}
