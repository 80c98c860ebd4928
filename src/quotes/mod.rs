//! What the client is asked for: priced pieces, charges, discount, tax, totals that tie (C4); frozen versions and
//! acceptance. May import the stages before it.
//!
//! # Invariants
//! - An event has one working quote. Its lines are the event's own pieces (kept by `events`), each with its terms here,
//!   and lines of its own that no recipe makes.
//! - A price that is not typed is computed from the recipe and the price list of the day [`Quote::priced_on`].
//! - What was sent is a version: the whole document as it read, never rewritten. Accepting or declining one adds a row.
//! - A version that is sent while another one is accepted is a change note: kept with it is what it changes of that one. It
//!   can only be accepted while that one is what is agreed.

pub mod budget;
pub mod change_note;
pub mod change_paper;
pub mod changes;
pub mod document;
pub mod draft;
pub mod forms;
pub mod margin_shift;
pub mod pages;
pub mod paper;
pub mod payment;
pub mod pricing;
pub mod stems;
pub mod store;
pub mod tax;
pub mod totals;
pub mod what_if;
pub mod words;

use serde::{Deserialize, Serialize};

use crate::events::NewPiece;
use crate::ground::choice::choices;
use crate::ground::dates::Day;
use crate::ground::ids::{PieceId, QuoteId, QuoteVersionId, TaxRateId};
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use totals::{ChargeRule, Discount};

choices! {
    /// What is charged beside the lines.
    ChargeKind {
        /// Planning, consultation, being there.
        Service "service" "Service"
        /// Driving there.
        Delivery "delivery" "Delivery"
        /// Building it up.
        SetUp "set_up" "Set-up"
        /// Taking it down.
        Strike "strike" "Strike"
    }
}

/// An event's working quote, as the book holds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quote {
    /// Its identity.
    pub id: QuoteId,
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// The day whose prices it uses.
    pub priced_on: Day,
    /// What is said around the figures.
    pub wording: Wording,
    /// Whether its prices include tax.
    pub inclusive: bool,
    /// What is taken off the whole.
    pub discount: Discount,
    /// How pieces are priced; a piece without terms has its computed price and the studio's first tax rate.
    pub pieces: Vec<(PieceId, LineTerms)>,
    /// Lines of its own.
    pub own: Vec<OwnLine>,
    /// What is added.
    pub charges: Vec<NewCharge>,
    /// When which share is paid.
    pub instalments: Vec<Instalment>,
}

/// What is said around the figures.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wording {
    /// How the document begins.
    pub words: String,
    /// The terms under it.
    pub terms: String,
    /// The last day on which it can be accepted.
    pub valid_until: Option<Day>,
}

/// How a line is priced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LineTerms {
    /// A price typed over the computed one.
    pub typed_price: Option<Money>,
    /// What is taken off the line.
    pub discount: Discount,
    /// Its tax rate.
    pub tax: TaxRateId,
}

/// A line that no recipe makes: a fee, a hire.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnLine {
    /// Where, if anywhere.
    pub place: String,
    /// What it is.
    pub words: String,
    /// How many.
    pub count: i64,
    /// For how much each.
    pub price: Money,
    /// What is taken off the line.
    pub discount: Discount,
    /// Its tax rate.
    pub tax: TaxRateId,
}

/// A charge beside the lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NewCharge {
    /// For what.
    pub kind: ChargeKind,
    /// An amount, or a share of the lines after discount.
    pub rule: ChargeRule,
    /// Its tax rate.
    pub tax: TaxRateId,
}

/// A part of the payment.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Instalment {
    /// What it is called: "On accepting".
    pub label: String,
    /// Its share of the total.
    pub share: Share,
    /// When it is due, if on a day.
    pub due_on: Option<Day>,
}

/// A quote as typed in, with the event's pieces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewQuote {
    /// The event's pieces.
    pub pieces: Vec<NewPiece>,
    /// Their terms, in the same order.
    pub terms: Vec<LineTerms>,
    /// Lines of its own.
    pub own: Vec<OwnLine>,
    /// What is taken off the whole.
    pub discount: Discount,
    /// What is added.
    pub charges: Vec<NewCharge>,
    /// When which share is paid.
    pub instalments: Vec<Instalment>,
    /// Whether its prices include tax.
    pub inclusive: bool,
    /// What is said around the figures.
    pub wording: Wording,
}

/// A version that was sent.
#[derive(Debug, Clone)]
pub struct Version {
    /// Its identity.
    pub id: QuoteVersionId,
    /// First, second, third.
    pub number: i64,
    /// When it went out.
    pub sent_on: Day,
    /// To whom.
    pub sent_to: String,
    /// What was sent, and what it cost the studio then.
    pub frozen: document::Frozen,
    /// Who accepted it and when, if anyone did.
    pub acceptance: Option<Acceptance>,
    /// Who declined it, when and why, if anyone did.
    pub decline: Option<Decline>,
}

/// Who declined a version, when and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decline {
    /// The day on which they said so.
    pub on: Day,
    /// Who said so.
    pub by: String,
    /// What they said.
    pub reason: String,
}

/// Who accepted a version, when and how.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Acceptance {
    /// The day on which they said so.
    pub on: Day,
    /// Who said so.
    pub by: String,
    /// By letter, on the telephone, by signature.
    pub how: String,
}

/// What other rooms know of an event's quote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// The latest version's number.
    pub number: i64,
    /// That version.
    pub version_id: QuoteVersionId,
    /// When it went out.
    pub sent_on: Day,
    /// What it came to.
    pub total: Money,
    /// The last day on which it can be accepted.
    pub valid_until: Option<Day>,
    /// The version that counts as accepted, which may be an earlier one.
    pub accepted: Option<Accepted>,
    /// The day on which the latest version was declined.
    pub declined_on: Option<Day>,
    /// The latest version's number among the event's change notes, and the version that it changes.
    pub note: Option<(i64, QuoteVersionId)>,
}

impl Standing {
    /// Whether the latest version waits for an answer: it is neither accepted nor declined and, as a change note, changes
    /// what is still agreed.
    #[must_use]
    pub fn awaits_answer(&self) -> bool {
        let accepted = self.accepted.as_ref().map(|accepted| accepted.version_id);
        let overtaken = self.note.is_some_and(|(_, base)| accepted != Some(base));
        self.declined_on.is_none() && !overtaken && accepted != Some(self.version_id)
    }
}

/// The version of a quote that counts as accepted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accepted {
    /// Its number.
    pub number: i64,
    /// That version.
    pub version_id: QuoteVersionId,
    /// What it came to.
    pub total: Money,
    /// The day on which it was accepted.
    pub on: Day,
    /// By whom.
    pub by: String,
}

/// The place in a list of versions, oldest first, of the one that counts as accepted: of several the one accepted last,
/// of one day the later version. Earlier acceptances are superseded; their rows stay.
#[must_use]
pub fn standing_acceptance(versions: &[Version]) -> Option<usize> {
    let accepted = versions.iter().enumerate().filter_map(|(place, version)| {
        let acceptance = version.acceptance.as_ref()?;
        Some((acceptance.on, version.number, place))
    });
    accepted.max().map(|(_, _, place)| place)
}

/// The version that counts as accepted, with its acceptance.
#[must_use]
pub fn agreed(versions: &[Version]) -> Option<(&Version, &Acceptance)> {
    let version = versions.get(standing_acceptance(versions)?)?;
    Some((version, version.acceptance.as_ref()?))
}
