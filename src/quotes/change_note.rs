//! What a change note says: what was agreed against what is now, line by line and in money, and what that does to the
//! payment. A version that is sent while another one is agreed carries one; it is kept with it and never rewritten.
//!
//! May import: `serde`, the room's documents and plain values of the ground.

pub mod payment;

use serde::{Deserialize, Serialize};

use super::changes::{Placed, other_words, pairs};
use super::document::{Document, InstalmentLine, TaxLine};
use super::{Acceptance, ChargeKind, Instalment, Version};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::QuoteVersionId;
use crate::ground::money::Money;
use crate::ground::quantity::Share;

/// A change note. All its rows but those of the tax within add up: the differences of the lines and of the sums are the
/// difference of the total.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct ChangeNote {
    /// First, second, third of the event.
    pub number: i64,
    /// What it changes.
    pub agreed: Agreed,
    /// The lines that differ: those of the new quote in its order, then those taken off.
    pub lines: Vec<LineChange>,
    /// How many lines stay as they are.
    pub kept_lines: i64,
    /// What those come to.
    pub kept: Money,
    /// All lines.
    pub all_lines: Both,
    /// Discount, charges and tax on top of the lines; a discount is below nothing.
    pub sums: Vec<SumChange>,
    /// The whole with tax.
    pub total: Both,
    /// Tax that is in the total where prices include it.
    pub within: Vec<SumChange>,
    /// The parts of the payment.
    pub parts: Vec<PartChange>,
    /// What else differs.
    pub other: Vec<String>,
    /// The payment's parts as the studio typed them, so that the next note knows whether they were typed anew.
    pub plan: Vec<Instalment>,
}

/// The version that counts as accepted when the note is made.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Agreed {
    /// Which.
    pub version: QuoteVersionId,
    /// Its number.
    pub number: i64,
    /// The day on which it was accepted.
    pub on: Day,
    /// By whom.
    pub by: String,
}

/// An amount as agreed and as it is now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Both {
    /// As agreed.
    pub before: Money,
    /// Now.
    pub after: Money,
}

impl Both {
    /// Now less as agreed.
    #[must_use]
    pub fn difference(self) -> Money {
        self.after - self.before
    }
}

/// A line that differs. One side is missing where it was added or taken off.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct LineChange {
    /// As agreed.
    pub before: Option<Side>,
    /// Now.
    pub after: Option<Side>,
}

/// One side of a line.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Side {
    /// What and where.
    pub what: String,
    /// How many; none while that is to be agreed.
    pub count: Option<i64>,
    /// For how much each.
    pub price: Money,
    /// What is taken off the line.
    pub discount: Money,
    /// What it comes to; none while its count is to be agreed.
    pub amount: Option<Money>,
}

impl LineChange {
    /// What the line comes to, nothing where it is not there or its count is open.
    #[must_use]
    pub fn amounts(&self) -> Both {
        let of = |side: &Option<Side>| side.as_ref().and_then(|side| side.amount).unwrap_or_default();
        Both { before: of(&self.before), after: of(&self.after) }
    }
}

/// What a row of the sums is.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Sum {
    /// The discount on the whole.
    Discount,
    /// Service, delivery, set-up, strike.
    Charge(ChargeKind),
    /// A tax rate, by name.
    Tax(String, Share),
}

/// A row of the sums.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct SumChange {
    /// What.
    pub what: Sum,
    /// Its amounts.
    pub both: Both,
}

/// A part of the payment.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct PartChange {
    /// What it is called.
    pub label: String,
    /// When it is due, if on a day.
    pub due_on: Option<Day>,
    /// What it was agreed to be; none where it is new.
    pub before: Option<Money>,
    /// What it is now; none where it falls away.
    pub after: Option<Money>,
}

/// The note that stands between an agreed version and a quote as it is now, numbered `number`. `plan` are the payment's
/// parts as typed.
#[must_use]
pub fn change_note(
    number: i64,
    (agreed, acceptance): (&Version, &Acceptance),
    now: &Document,
    plan: &[Instalment],
) -> ChangeNote {
    let before = &agreed.frozen.document;
    let (lines, kept): (Vec<LineChange>, Vec<LineChange>) =
        pairs(before, now).into_iter().map(line_change).partition(|line| line.before != line.after);
    ChangeNote {
        number,
        agreed: Agreed {
            version: agreed.id,
            number: agreed.number,
            on: acceptance.on,
            by: acceptance.by.clone(),
        },
        lines,
        kept_lines: i64::try_from(kept.len()).unwrap_or(i64::MAX),
        kept: kept.iter().map(|line| line.amounts().after).sum(),
        all_lines: Both { before: before.lines, after: now.lines },
        sums: sums(before, now),
        total: Both { before: before.total, after: now.total },
        within: taxes(before, now, true),
        parts: part_changes(&before.instalments, &now.instalments),
        other: other(before, now),
        plan: plan.to_vec(),
    }
}

impl ChangeNote {
    /// Whether nothing differs that was agreed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        let same_sums = self.sums.iter().chain(&self.within).all(|sum| sum.both.before == sum.both.after);
        let same_parts = self.parts.iter().all(|part| part.before == part.after);
        let same_total = self.total.before == self.total.after;
        self.lines.is_empty() && same_sums && same_parts && same_total && self.other.is_empty()
    }
}

fn line_change((before, after): (Option<Placed>, Option<Placed>)) -> LineChange {
    LineChange { before: before.as_ref().map(side), after: after.as_ref().map(side) }
}

fn side(placed: &Placed) -> Side {
    let line = placed.line;
    Side {
        what: placed.what(),
        count: line.count,
        price: line.price,
        discount: line.discount.amount,
        amount: line.amount,
    }
}

/// Discount, charges and tax on top, in the order of the document; what is nothing on both sides is left out.
fn sums(before: &Document, now: &Document) -> Vec<SumChange> {
    let discount = Both { before: -before.discount.amount, after: -now.discount.amount };
    let charge = |kind: &ChargeKind| {
        let of = |document: &Document| {
            let of_kind = document.charges.iter().filter(|charge| charge.kind == *kind);
            of_kind.map(|charge| charge.amount).sum::<Money>()
        };
        SumChange { what: Sum::Charge(*kind), both: Both { before: of(before), after: of(now) } }
    };
    let mut sums = vec![SumChange { what: Sum::Discount, both: discount }];
    sums.extend(ChargeKind::ALL.iter().map(charge));
    sums.retain(is_something);
    sums.extend(taxes(before, now, false));
    sums
}

fn is_something(sum: &SumChange) -> bool {
    !sum.both.before.is_zero() || !sum.both.after.is_zero()
}

/// Tax by rate: what is within the prices, or what comes on top of them.
fn taxes(before: &Document, now: &Document, within: bool) -> Vec<SumChange> {
    let mut taxes: Vec<SumChange> = Vec::new();
    for (document, is_now) in [(before, false), (now, true)] {
        for tax in document.taxes.iter().filter(|_| document.inclusive == within) {
            add_tax(&mut taxes, tax, is_now);
        }
    }
    taxes.retain(is_something);
    taxes
}

fn add_tax(taxes: &mut Vec<SumChange>, tax: &TaxLine, is_now: bool) {
    let what = Sum::Tax(tax.name.clone(), tax.rate);
    let at = taxes.iter().position(|known| known.what == what).unwrap_or_else(|| {
        let nothing = Both { before: Money::ZERO, after: Money::ZERO };
        taxes.push(SumChange { what, both: nothing });
        taxes.len() - 1
    });
    let both = &mut taxes[at].both;
    if is_now { both.after += tax.amount } else { both.before += tax.amount }
}

/// Parts of the payment by what they are called; of several of a name in their order.
fn part_changes(before: &[InstalmentLine], now: &[InstalmentLine]) -> Vec<PartChange> {
    let mut agreed: Vec<&InstalmentLine> = before.iter().collect();
    let mut parts: Vec<PartChange> = Vec::new();
    for part in now {
        let at = agreed.iter().position(|known| known.label.eq_ignore_ascii_case(&part.label));
        let before = at.map(|at| agreed.remove(at).amount);
        let (label, due_on) = (part.label.clone(), part.due_on);
        parts.push(PartChange { label, due_on, before, after: Some(part.amount) });
    }
    parts.extend(agreed.into_iter().map(|gone| PartChange {
        label: gone.label.clone(),
        due_on: gone.due_on,
        before: Some(gone.amount),
        after: None,
    }));
    parts
}

/// What differs beside figures. How long it holds is said anew each time and was never agreed; the payment has rows.
fn other(before: &Document, now: &Document) -> Vec<String> {
    let told = other_words(before, now).into_iter();
    let agreed = told.filter(|what| !["how long it holds", "the payment"].contains(what));
    let mut other: Vec<String> = agreed.map(str::to_owned).collect();
    let day = |label: &str, lines: &[InstalmentLine]| {
        let line = lines.iter().find(|line| line.label.eq_ignore_ascii_case(label));
        line.map(|line| line.due_on)
    };
    let moved = now
        .instalments
        .iter()
        .any(|part| day(&part.label, &before.instalments).is_some_and(|due_on| due_on != part.due_on));
    if moved {
        other.push("the day on which a part of the payment is due".into());
    }
    other
}

#[cfg(test)]
mod tests;
