//! An invoice or a credit note as it is kept: everything it says, computed once and never again.
//!
//! May import: `serde`, plain values of the ground and of quotes.

use serde::{Deserialize, Serialize};

use super::iban::printed;
use crate::ground::choice::choices;
use crate::ground::dates::Day;
use crate::ground::ids::{LogoId, TaxRateId};
use crate::ground::money::Money;
use crate::ground::quantity::Share;
pub use crate::quotes::document::Occasion;
use crate::studio::TaxRate;

choices! {
    /// What a document asks for or takes back.
    Kind {
        /// A part of the payment before the last.
        Deposit "deposit" "Instalment"
        /// All that is left.
        Final "final" "Final invoice"
        /// Something beside the quote: what broke, what was added on the day.
        Other "other" "Extras"
        /// What is kept of an event that was called off.
        Cancellation "cancellation" "Cancellation"
        /// A credit note.
        Credit "credit" "Credit note"
    }
}

choices! {
    /// What a tax rate is to EN 16931 (code list UNCL 5305, as far as a studio needs it).
    Category {
        /// Standard or reduced rate.
        Standard "S" "Standard or reduced rate"
        /// Taxed at nothing.
        ZeroRated "Z" "Zero rated"
        /// Exempt, for a reason that is stated.
        Exempt "E" "Exempt from tax"
        /// Outside the scope of the tax, as for a studio that is not registered.
        Outside "O" "Not subject to tax"
    }
}

/// The whole document.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Document {
    /// What it asks for or takes back.
    pub kind: Kind,
    /// Its number as it stands on paper.
    pub number: String,
    /// Its date.
    pub issued_on: Day,
    /// Until when it is to be paid; a credit note's is its date.
    pub due_on: Day,
    /// ISO 4217 code of all its amounts.
    pub currency: String,
    /// Who asks.
    pub seller: Party,
    /// Who is asked.
    pub buyer: Party,
    /// For what, if for an event.
    pub event: Option<Occasion>,
    /// One line under the heading: "Deposit", "What broke".
    pub about: String,
    /// The invoice that a credit note takes back, by number and date.
    pub credits: Option<Earlier>,
    /// What is said under the figures.
    pub words: String,
    /// Where to pay.
    pub bank: Bank,
    /// Lines, taxes, sums.
    pub figures: Figures,
    /// What the accepted version comes to, where it is the final invoice.
    pub whole: Option<Money>,
    /// The studio's sign; none in documents from before there was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub logo: Option<LogoId>,
}

/// An earlier document, by number and date.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Earlier {
    /// Its number as it stands on paper.
    pub number: String,
    /// Its date.
    pub issued_on: Day,
}

/// The studio or the client.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
pub struct Party {
    /// A person's or a firm's name.
    pub name: String,
    /// Postal address, several lines.
    pub address: String,
    /// ISO 3166-1 alpha-2, if known.
    pub country: String,
    /// Where to write.
    pub email: String,
    /// Where to ring.
    pub phone: String,
    /// Its tax number, if it has one.
    pub tax_number: String,
    /// Its number in a register of companies, if it stands in one.
    pub legal_id: String,
    /// What the buyer wants to see on it.
    pub reference: String,
}

/// Where to pay.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
pub struct Bank {
    /// In whose name.
    pub holder: String,
    /// International bank account number.
    pub iban: String,
    /// Bank identifier code.
    pub bic: String,
}

/// Lines, taxes and sums that tie.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Figures {
    /// Whether amounts include tax.
    pub inclusive: bool,
    /// Its lines; those that deduct earlier invoices have a count of −1.
    pub lines: Vec<Line>,
    /// What is taken off the whole, a part a tax rate.
    pub off: Vec<Beside>,
    /// What is added.
    pub charges: Vec<Beside>,
    /// One a tax rate.
    pub taxes: Vec<TaxPart>,
    /// Sum of the lines.
    pub lines_total: Money,
    /// The whole without tax.
    pub before_tax: Money,
    /// The sum of the taxes.
    pub tax: Money,
    /// What it comes to.
    pub total: Money,
}

/// One line.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Line {
    /// Under which heading it stands; may be empty.
    pub group: String,
    /// What it is.
    pub name: String,
    /// What is said of it.
    pub words: String,
    /// How many; −1 where an earlier invoice is deducted.
    pub count: i64,
    /// For how much each.
    pub price: Money,
    /// What is taken off the line.
    pub discount: Money,
    /// What it comes to: count × price − discount.
    pub amount: Money,
    /// The same without tax.
    pub net: Money,
    /// Its place among the taxes.
    pub tax: usize,
}

/// An allowance or a charge beside the lines.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Beside {
    /// For what.
    pub what: String,
    /// How much.
    pub amount: Money,
    /// The same without tax.
    pub net: Money,
    /// Its place among the taxes.
    pub tax: usize,
}

/// What one tax rate comes to.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct TaxPart {
    /// Which rate; none for a quote from before that was kept.
    pub id: Option<TaxRateId>,
    /// Its name.
    pub name: String,
    /// How much of a hundred.
    pub rate: Share,
    /// What it is to EN 16931, where the studio said so by then.
    pub category: Option<Category>,
    /// Why it is exempt.
    pub reason: String,
    /// The taxable amount.
    pub net: Money,
    /// The tax.
    pub amount: Money,
}

impl TaxPart {
    /// One of the studio's rates, with nothing reckoned yet.
    #[must_use]
    pub fn of(rate: &TaxRate) -> TaxPart {
        TaxPart {
            id: Some(rate.id),
            name: rate.name.clone(),
            rate: rate.rate,
            category: None,
            reason: String::new(),
            net: Money::ZERO,
            amount: Money::ZERO,
        }
    }

    /// The taxable amount with its tax.
    #[must_use]
    pub fn gross(&self) -> Money {
        self.net + self.amount
    }

    /// Whether both are of the same rate: the same entry at the same per cent. One that was edited in place since is
    /// another: what was invoiced at the old per cent is deducted at it.
    #[must_use]
    pub fn is_same_rate(&self, other: &TaxPart) -> bool {
        let same = match (self.id, other.id) {
            (Some(one), Some(two)) => one == two,
            _ => self.name == other.name,
        };
        same && self.rate == other.rate
    }
}

impl Figures {
    /// Adds up what stands in lines and taxes.
    #[must_use]
    pub fn new(
        inclusive: bool,
        lines: Vec<Line>,
        (off, charges): (Vec<Beside>, Vec<Beside>),
        taxes: Vec<TaxPart>,
    ) -> Figures {
        let before_tax: Money = taxes.iter().map(|tax| tax.net).sum();
        let tax: Money = taxes.iter().map(|tax| tax.amount).sum();
        let lines_total = lines.iter().map(|line| line.amount).sum();
        let total = before_tax + tax;
        Figures { inclusive, lines, off, charges, taxes, lines_total, before_tax, tax, total }
    }

    /// Sum of what is taken off the whole.
    #[must_use]
    pub fn taken_off(&self) -> Money {
        self.off.iter().map(|beside| beside.amount).sum()
    }

    /// Lines one under another with the same heading, in order.
    #[must_use]
    pub fn groups(&self) -> Vec<(&str, &[Line])> {
        self.lines
            .chunk_by(|one, other| one.group == other.group)
            .map(|lines| (lines[0].group.as_str(), lines))
            .collect()
    }
}

impl Bank {
    /// Its number in groups of four.
    #[must_use]
    pub fn printed(&self) -> String {
        printed(&self.iban)
    }
}

impl Document {
    /// "Invoice 12" or "Credit note 13".
    #[must_use]
    pub fn heading(&self) -> String {
        let what = if self.kind == Kind::Credit { "Credit note" } else { "Invoice" };
        format!("{what} {}", self.number)
    }
}
