//! A change note as a paper: what it says, put into words and figures once for page, PDF and HTML file.
//!
//! May import: plain values of the ground, the papers' sheet, the room's own documents.

use super::change_note::{Both, ChangeNote, LineChange, PartChange, Side, Sum, SumChange};
use super::document::Document;
use super::paper::head;
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::papers::sheet::{self, Cell, Fact, Group, Part, Row, Section, Sheet, Table, lines};

/// Where there is nothing to say.
const NOTHING: &str = "\u{2013}";

/// A change note in words.
#[derive(Debug, Clone)]
pub struct NotePaper {
    /// What it says.
    pub note: ChangeNote,
    /// How amounts and days are written.
    pub formats: Formats,
}

impl NotePaper {
    /// The note that a document carries, written in the currency that this was made in.
    #[must_use]
    pub fn of(note: ChangeNote, document: &Document, formats: Formats) -> NotePaper {
        NotePaper { note, formats: formats.in_currency(&document.currency) }
    }

    /// `Change note 1`
    #[must_use]
    pub fn heading(&self) -> String {
        format!("Change note {}", self.note.number)
    }

    /// `to the quote as agreed (version 2, accepted on 4 May 2026 by Ada North)`
    #[must_use]
    pub fn to_what(&self) -> String {
        let agreed = &self.note.agreed;
        let on = self.formats.day(agreed.on);
        format!("to the quote as agreed (version {}, accepted on {on} by {})", agreed.number, agreed.by)
    }

    /// In one sentence: `€1,041.60 was agreed; it is €1,190.40 now: €148.80 more, tax included.`
    #[must_use]
    pub fn sentence(&self) -> String {
        let Both { before, after } = self.note.total;
        let (agreed, now) = (self.formats.money(before), self.formats.money(after));
        let apart = match before.cmp(&after) {
            std::cmp::Ordering::Equal => return format!("The total stays {now}, tax included."),
            std::cmp::Ordering::Less => format!("{} more", self.formats.money(after - before)),
            std::cmp::Ordering::Greater => format!("{} less", self.formats.money(before - after)),
        };
        format!("{agreed} was agreed; it is {now} now: {apart}, tax included.")
    }

    /// The paper that the client signs. `document` is the quote as it would be with the change.
    #[must_use]
    pub fn sheet(&self, document: &Document, sent_on: Day) -> Sheet {
        let (event, day) = (&document.event, self.formats.day(sent_on));
        let agreed = &self.note.agreed;
        let accepted = format!("accepted on {} by {}", self.formats.day(agreed.on), agreed.by);
        let client = std::iter::once(document.client.name.clone()).chain(lines(&document.client.address));
        let mut sections = vec![plain(vec![Part::Paragraph(self.sentence())])];
        sections.extend(self.sections());
        sections.push(to_accept(document));
        Sheet {
            title: format!("{}, {}", self.heading(), event.name),
            dated: sent_on,
            head: head(document, format!("{}, {day}", self.heading())),
            facts: vec![
                Fact::new("For", client),
                Fact::new(event.name.clone(), [self.formats.weekday(event.day)]),
                Fact::new("Changes", [format!("version {} of the quote", agreed.number), accepted]),
            ],
            sections,
        }
    }

    /// What changes, in money and otherwise, and what that does to the payment.
    #[must_use]
    pub fn sections(&self) -> Vec<Section> {
        let mut sections = vec![plain(vec![Part::Table(self.changes())])];
        if !self.note.other.is_empty() {
            let other = self.note.other.join(", ");
            let words = format!("Also changed: {other}. The full quote says how it reads now.");
            sections.push(plain(vec![Part::Paragraph(words)]));
        }
        if !self.note.parts.is_empty() {
            let words = "Parts stay as agreed; the last that has not fallen due takes the difference.";
            let parts = vec![Part::Paragraph(words.into()), Part::Table(self.payment())];
            sections.push(Section { heading: "Payment".into(), parts });
        }
        sections
    }

    fn changes(&self) -> Table {
        let mut rows: Vec<Row> = self.note.lines.iter().map(|line| self.line(line)).collect();
        rows.extend(self.kept());
        let mut sums = vec![self.sum("Lines".into(), self.note.all_lines)];
        sums.extend(self.note.sums.iter().map(|sum| self.sum(self.named(&sum.what), sum.both)));
        sums.push(sheet::Sum { total: true, ..self.sum("Total".into(), self.note.total) });
        let within = |sum: &SumChange| self.sum(format!("In it: {}", self.named(&sum.what)), sum.both);
        sums.extend(self.note.within.iter().map(within));
        Table {
            caption: "What changes".into(),
            heads: heads("What"),
            groups: vec![Group { heading: String::new(), rows }],
            sums,
            ..Table::default()
        }
    }

    fn line(&self, line: &LineChange) -> Row {
        let (before, after) = (line.before.as_ref(), line.after.as_ref());
        let name = after.or(before).map(|side| side.what.clone()).unwrap_or_default();
        let said = match (before, after) {
            (Some(before), Some(after)) => {
                let instead = (before.what != after.what).then(|| format!("instead of {}", before.what));
                let counts = format!("{}, now {}", self.side(before), self.side(after));
                instead.into_iter().chain([counts]).collect()
            }
            (None, Some(added)) => vec![format!("added: {}", self.side(added))],
            (Some(gone), None) => vec![format!("taken off: {}", self.side(gone))],
            (None, None) => Vec::new(),
        };
        let amount = |side: Option<&Side>| match side.map(|side| side.amount) {
            None => NOTHING.to_owned(),
            Some(None) => "not in the total".to_owned(),
            Some(Some(amount)) => self.formats.money(amount),
        };
        let both = [amount(before), amount(after)];
        Row { name, notes: said, picture: None, cells: self.cells(both, line.amounts().difference()) }
    }

    /// `14 × €62.00 less €10.00`
    fn side(&self, side: &Side) -> String {
        let price = self.formats.money(side.price);
        let off = if side.discount.is_zero() {
            String::new()
        } else {
            format!(" less {}", self.formats.money(side.discount))
        };
        match side.count {
            Some(count) => format!("{count} × {price}{off}"),
            None => format!("a number to be agreed × {price}{off}"),
        }
    }

    fn kept(&self) -> Option<Row> {
        let name = match self.note.kept_lines {
            0 => return None,
            1 => "1 line as it was".to_owned(),
            many => format!("{many} lines as they were"),
        };
        let kept = self.formats.money(self.note.kept);
        Some(Row { name, cells: self.cells([kept.clone(), kept], Money::ZERO), ..Row::default() })
    }

    fn named(&self, sum: &Sum) -> String {
        match sum {
            Sum::Discount => "Discount".to_owned(),
            Sum::Charge(kind) => kind.label().to_owned(),
            Sum::Tax(name, rate) => format!("{name}, {}", self.formats.share(*rate)),
        }
    }

    fn sum(&self, label: String, both: Both) -> sheet::Sum {
        let beside = [both.before, both.after].map(|amount| self.formats.money(amount)).to_vec();
        sheet::Sum { beside, ..sheet::Sum::new(label, self.signed(both.difference())) }
    }

    fn payment(&self) -> Table {
        let row = |part: &PartChange| {
            let amount = |amount: Option<Money>| {
                amount.map_or_else(|| NOTHING.to_owned(), |amount| self.formats.money(amount))
            };
            let by = part.due_on.map(|day| format!("by {}", self.formats.day(day)));
            let difference = part.after.unwrap_or_default() - part.before.unwrap_or_default();
            Row {
                name: part.label.clone(),
                notes: by.into_iter().collect(),
                picture: None,
                cells: self.cells([part.before, part.after].map(amount), difference),
            }
        };
        Table {
            caption: "Parts of the payment".into(),
            unseen_caption: true,
            heads: heads("Part"),
            groups: vec![Group { heading: String::new(), rows: self.note.parts.iter().map(row).collect() }],
            sums: Vec::new(),
        }
    }

    fn cells(&self, [before, after]: [String; 2], difference: Money) -> Vec<Cell> {
        vec![Cell::figure(before), Cell::figure(after), Cell::figure(self.signed(difference))]
    }

    /// `+€120.00`, `−€12.00`, `0`.
    fn signed(&self, amount: Money) -> String {
        match amount.cmp(&Money::ZERO) {
            std::cmp::Ordering::Equal => "0".into(),
            std::cmp::Ordering::Greater => format!("+{}", self.formats.money(amount)),
            std::cmp::Ordering::Less => format!("−{}", self.formats.money(-amount)),
        }
    }
}

fn plain(parts: Vec<Part>) -> Section {
    Section { heading: String::new(), parts }
}

fn heads(first: &str) -> Vec<String> {
    [first, "Agreed", "Now", "Difference"].map(str::to_owned).to_vec()
}

fn to_accept(document: &Document) -> Section {
    let email = &document.studio.email;
    let write = if email.is_empty() { String::new() } else { format!(", or write “yes” to {email}") };
    let words =
        format!("Sign below and send this page back{write}. Until then what was agreed stays as it is.");
    let parts = vec![Part::Paragraph(words), Part::Sign(vec!["Name".into(), "Date".into()])];
    Section { heading: "To accept".into(), parts }
}
