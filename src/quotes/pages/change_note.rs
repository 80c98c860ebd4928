//! A change note as the client reads it: printed, signed, sent back.

use askama::Template;

use super::ink::Ink;
use super::versions::{find, in_currency_of, overtaken, standing};
use crate::events::Event;
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::QuoteVersionId;
use crate::ground::money::Money;
use crate::quotes::change_note::{Both, ChangeNote, LineChange, PartChange, Side, Sum, SumChange};
use crate::quotes::document::Document;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::path::Path;

/// A change note in words.
pub(super) struct Paper {
    pub note: ChangeNote,
    pub formats: Formats,
}

/// A row of its tables: what, how it was, how it is, the difference.
pub(super) struct PaperRow {
    pub what: String,
    /// What happened to it, where that is a word.
    pub how: String,
    pub before: (String, String),
    pub after: (String, String),
    pub difference: String,
}

impl Paper {
    pub(super) fn heading(&self) -> String {
        format!("Change note {}", self.note.number)
    }

    /// `to version 2, accepted on 4 May 2026 by Ada North`
    pub(super) fn of(&self) -> String {
        let agreed = &self.note.agreed;
        let on = self.formats.day(agreed.on);
        format!("to the quote as agreed (version {}, accepted on {on} by {})", agreed.number, agreed.by)
    }

    /// In one sentence: `€1,041.60 was agreed; it is €1,190.40 now, €148.80 more, tax included.`
    pub(super) fn sentence(&self) -> String {
        let Both { before, after } = self.note.total;
        let (agreed, now) = (self.formats.money(before), self.formats.money(after));
        let apart = match before.cmp(&after) {
            std::cmp::Ordering::Equal => return format!("The total stays {now}, tax included."),
            std::cmp::Ordering::Less => format!("{} more", self.formats.money(after - before)),
            std::cmp::Ordering::Greater => format!("{} less", self.formats.money(before - after)),
        };
        format!("{agreed} was agreed; it is {now} now: {apart}, tax included.")
    }

    pub(super) fn lines(&self) -> Vec<PaperRow> {
        let mut rows: Vec<PaperRow> = self.note.lines.iter().map(|line| self.line(line)).collect();
        if self.note.kept_lines > 0 {
            let what = match self.note.kept_lines {
                1 => "1 line as it was".to_owned(),
                many => format!("{many} lines as they were"),
            };
            let kept = (String::new(), self.formats.money(self.note.kept));
            rows.push(PaperRow {
                what,
                how: String::new(),
                before: kept.clone(),
                after: kept,
                difference: "0".into(),
            });
        }
        rows
    }

    fn line(&self, line: &LineChange) -> PaperRow {
        let (what, how) = match (&line.before, &line.after) {
            (Some(before), Some(after)) if before.what == after.what => (after.what.clone(), String::new()),
            (Some(before), Some(after)) => (after.what.clone(), format!("instead of {}", before.what)),
            (None, Some(after)) => (after.what.clone(), "added".to_owned()),
            (Some(before), None) => (before.what.clone(), "taken off".to_owned()),
            (None, None) => (String::new(), String::new()),
        };
        PaperRow {
            what,
            how,
            before: self.side(line.before.as_ref()),
            after: self.side(line.after.as_ref()),
            difference: self.signed(line.amounts().difference()),
        }
    }

    /// `14 × €62.00 less €10.00`, and what that comes to.
    fn side(&self, side: Option<&Side>) -> (String, String) {
        let Some(side) = side else { return ("\u{2013}".into(), String::new()) };
        let f = &self.formats;
        let count = side.count.map_or_else(|| "to be agreed".to_owned(), |count| count.to_string());
        let off =
            if side.discount.is_zero() { String::new() } else { format!(" less {}", f.money(side.discount)) };
        let amount = side.amount.map(|amount| f.money(amount)).unwrap_or_default();
        (format!("{count} × {}{off}", f.money(side.price)), amount)
    }

    pub(super) fn sums(&self) -> Vec<PaperRow> {
        let all = SumChange { what: Sum::Discount, both: self.note.all_lines };
        let lines = PaperRow { what: "Lines".into(), ..self.sum(&all) };
        [lines].into_iter().chain(self.note.sums.iter().map(|sum| self.sum(sum))).collect()
    }

    pub(super) fn total(&self) -> PaperRow {
        let all = SumChange { what: Sum::Discount, both: self.note.total };
        PaperRow { what: "Total".into(), ..self.sum(&all) }
    }

    pub(super) fn within(&self) -> Vec<PaperRow> {
        let within = |sum: &SumChange| {
            let row = self.sum(sum);
            PaperRow { what: format!("In it: {}", row.what), ..row }
        };
        self.note.within.iter().map(within).collect()
    }

    fn sum(&self, sum: &SumChange) -> PaperRow {
        let what = match &sum.what {
            Sum::Discount => "Discount".to_owned(),
            Sum::Charge(kind) => kind.label().to_owned(),
            Sum::Tax(name, rate) => format!("{name}, {}", self.formats.share(*rate)),
        };
        let amount = |amount: Money| (String::new(), self.formats.money(amount));
        PaperRow {
            what,
            how: String::new(),
            before: amount(sum.both.before),
            after: amount(sum.both.after),
            difference: self.signed(sum.both.difference()),
        }
    }

    pub(super) fn parts(&self) -> Vec<PaperRow> {
        let amount = |amount: Option<Money>| {
            let amount = amount.map_or_else(|| "\u{2013}".to_owned(), |amount| self.formats.money(amount));
            (String::new(), amount)
        };
        let row = |part: &PartChange| PaperRow {
            what: part.label.clone(),
            how: part.due_on.map(|day| format!("by {}", self.formats.day(day))).unwrap_or_default(),
            before: amount(part.before),
            after: amount(part.after),
            difference: self.signed(part.after.unwrap_or_default() - part.before.unwrap_or_default()),
        };
        self.note.parts.iter().map(row).collect()
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

#[derive(Template)]
#[template(path = "quotes/change_note.html")]
struct NotePage {
    shell: Shell,
    event: Event,
    id: QuoteVersionId,
    number: i64,
    document: Document,
    paper: Paper,
    standing: (&'static str, String),
    /// Whether it may still be answered.
    open: bool,
    sent_on: Day,
    ink: Ink,
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<QuoteVersionId>) -> Answer {
    let found = find(&mut visit.connection, id).await?;
    let version = found.version()?;
    let note = version.frozen.change.clone().ok_or(Trouble::NotFound("change note"))?;
    let document = version.frozen.document.clone();
    let ink = in_currency_of(&document, visit.studio.formats);
    let overtaken = overtaken(&found.versions, version).is_some();
    page(&NotePage {
        shell: visit.shell(Section::Events, format!("Change note {}, {}", note.number, found.event.name)),
        id,
        number: version.number,
        paper: Paper { note, formats: ink.0 },
        standing: standing(&found.versions, found.place, visit.studio.formats, visit.today),
        open: version.acceptance.is_none() && !overtaken,
        sent_on: version.sent_on,
        document,
        ink,
        event: found.event,
    })
}
