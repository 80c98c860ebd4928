//! What the client reads, as plain values: made from a priced draft, kept as it was sent. It knows no cost.
//!
//! May import: `serde`, plain values of the ground and of the stages before.

use std::collections::HashMap;

use serde::{Deserialize, Serialize};

use super::change_note::ChangeNote;
use super::draft::Draft;
use super::pricing::{Priced, PricedLine};
use super::stems::{StemCount, stem_counts};
use super::tax::Tax;
use super::totals::Discount;
use super::{ChargeKind, Instalment, Wording};
use crate::clients::Client;
use crate::events::Event;
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::{LogoId, PictureId, PieceId, TaxRateId};
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::recipes::RecipeBook;
use crate::studio::{Studio, TaxRate};

/// A version as it is kept: the document that was sent and, for the studio alone, what it cost that day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Frozen {
    /// What the client reads.
    pub document: Document,
    /// What the pieces with a known cost cost.
    pub cost: Money,
    /// What is asked for those pieces after discounts, without tax.
    pub asked: Money,
    /// What it changes of what was agreed, if a version was accepted before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub change: Option<ChangeNote>,
}

/// What the client reads.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Document {
    /// Who asks.
    pub studio: Letterhead,
    /// Who is asked.
    pub client: Addressee,
    /// For what.
    pub event: Occasion,
    /// The day whose prices it uses.
    pub priced_on: Day,
    /// The last day on which it can be accepted.
    pub valid_until: Option<Day>,
    /// How it begins.
    pub words: String,
    /// The terms under it.
    pub terms: String,
    /// ISO 4217 code of all its amounts.
    pub currency: String,
    /// Whether its prices include tax.
    pub inclusive: bool,
    /// Its lines by place; lines that stand nowhere come last.
    pub places: Vec<PlaceLines>,
    /// Sum of the lines.
    pub lines: Money,
    /// What is taken off the whole.
    pub discount: Discounted,
    /// What is added.
    pub charges: Vec<ChargeLine>,
    /// The whole without tax.
    pub before_tax: Money,
    /// One a tax rate.
    pub taxes: Vec<TaxLine>,
    /// The whole.
    pub total: Money,
    /// When which part is paid.
    pub instalments: Vec<InstalmentLine>,
    /// How to accept, in the studio's words; empty for the usual sentence.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub accept_words: String,
    /// How it ends.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub closing: String,
}

/// The studio's head.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Letterhead {
    /// Its name.
    pub name: String,
    /// Its address, several lines.
    pub address: String,
    /// Where to write.
    pub email: String,
    /// Where to ring.
    pub phone: String,
    /// Its tax number, if it has one.
    pub tax_number: String,
    /// Its sign; none in versions from before there was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub logo: Option<LogoId>,
}

/// The client's name and address.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Addressee {
    /// A person's or a firm's name.
    pub name: String,
    /// Postal address, several lines.
    pub address: String,
}

/// What the flowers are for.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Occasion {
    /// What it is called.
    pub name: String,
    /// The day.
    pub day: Day,
    /// Where.
    pub venue: String,
    /// Its address.
    pub venue_address: String,
}

/// The lines of one place.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct PlaceLines {
    /// Its name; empty for lines that stand nowhere.
    pub place: String,
    /// What stands there.
    pub lines: Vec<DocumentLine>,
}

/// One line.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct DocumentLine {
    /// Which piece of the event it is, if it is one: tells lines of two versions as the same.
    pub piece: Option<PieceId>,
    /// What it is called.
    pub name: String,
    /// What the recipe says to the client.
    pub words: String,
    /// How many; none while that is to be agreed.
    pub count: Option<i64>,
    /// For how much each.
    pub price: Money,
    /// What is taken off the line.
    pub discount: Discounted,
    /// What it comes to; none while its count is to be agreed.
    pub amount: Option<Money>,
    /// Its tax rate, so that an invoice can be made of it; none in versions from before that was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tax: Option<TaxRateId>,
    /// What is in one of it, where that was wished for when it was sent.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stems: Vec<StemCount>,
    /// How the piece looks, where that was wished for when it was sent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub picture: Option<PictureId>,
}

/// A discount, with the share it was reckoned by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, Default)]
pub struct Discounted {
    /// The share, if it was one.
    pub share: Option<Share>,
    /// How much.
    pub amount: Money,
}

/// A charge beside the lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct ChargeLine {
    /// For what.
    pub kind: ChargeKind,
    /// How much.
    pub amount: Money,
    /// Its tax rate, as a line's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tax: Option<TaxRateId>,
}

/// What one tax rate comes to.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct TaxLine {
    /// Which rate it was; none in versions from before that was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<TaxRateId>,
    /// Its name.
    pub name: String,
    /// How much of a hundred.
    pub rate: Share,
    /// On how much.
    pub net: Money,
    /// The tax.
    pub amount: Money,
}

/// A part of the payment.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct InstalmentLine {
    /// What it is called.
    pub label: String,
    /// Its share of the total.
    pub share: Share,
    /// When it is due, if on a day.
    pub due_on: Option<Day>,
    /// How much.
    pub amount: Money,
}

impl Document {
    /// Whether a line's count is still to be agreed.
    #[must_use]
    pub fn has_open_counts(&self) -> bool {
        self.places.iter().flat_map(|place| &place.lines).any(|line| line.count.is_none())
    }

    /// Shows how pieces look.
    pub fn illustrate(&mut self, pictures: &HashMap<PieceId, PictureId>) {
        for line in self.places.iter_mut().flat_map(|place| &mut place.lines) {
            line.picture = line.piece.and_then(|piece| pictures.get(&piece)).copied();
        }
    }

    /// Whether it says of a piece how many stems are in it.
    #[must_use]
    pub fn has_stems(&self) -> bool {
        self.places.iter().flat_map(|place| &place.lines).any(|line| !line.stems.is_empty())
    }

    /// Says nothing of how many stems are in a piece.
    pub fn leave_out_stems(&mut self) {
        for line in self.places.iter_mut().flat_map(|place| &mut place.lines) {
            line.stems.clear();
        }
    }

    /// The sum of the taxes.
    #[must_use]
    pub fn tax(&self) -> Money {
        self.taxes.iter().map(|tax| tax.amount).sum()
    }
}

/// Everything beside the figures that a document says.
#[derive(Debug, Clone, Copy)]
pub struct Around<'a> {
    /// Who asks.
    pub studio: &'a Studio,
    /// Who is asked.
    pub client: &'a Client,
    /// For what.
    pub event: &'a Event,
    /// The day whose prices are used.
    pub priced_on: Day,
    /// Words, terms, last day.
    pub wording: &'a Wording,
    /// The tax rates, by which taxes have names.
    pub rates: &'a [TaxRate],
    /// The payment's parts, in order.
    pub instalments: &'a [Instalment],
    /// The recipes, by which pieces have words.
    pub book: &'a RecipeBook,
}

/// Makes the document of a priced draft. Lines without a price are left out (a version with such lines is not sent);
/// lines whose count is open stand in it without an amount.
#[must_use]
pub fn document(priced: &Priced, draft: &Draft, around: &Around) -> Document {
    let sums = &priced.totals.sums;
    let (studio, client, event) = (around.studio, around.client, around.event);
    Document {
        studio: Letterhead {
            name: studio.name.clone(),
            address: studio.address.clone(),
            email: studio.email.clone(),
            phone: studio.phone.clone(),
            tax_number: studio.tax_number.clone(),
            logo: studio.logo,
        },
        client: Addressee { name: client.name.clone(), address: client.address.clone() },
        event: Occasion {
            name: event.name.clone(),
            day: event.day,
            venue: event.venue.clone(),
            venue_address: event.venue_address.clone(),
        },
        priced_on: around.priced_on,
        valid_until: around.wording.valid_until,
        words: around.wording.words.clone(),
        terms: around.wording.terms.clone(),
        currency: studio.formats.currency.code().to_owned(),
        inclusive: draft.inclusive,
        places: places(priced, around.book),
        lines: sums.lines,
        discount: discounted(draft.discount, sums.allowances),
        charges: charges(priced, draft),
        before_tax: sums.before_tax,
        taxes: taxes(priced, around.rates),
        total: sums.total,
        instalments: parts(priced, around.instalments),
        accept_words: studio.accept_words.clone(),
        closing: studio.closing.clone(),
    }
}

fn places(priced: &Priced, book: &RecipeBook) -> Vec<PlaceLines> {
    let mut places: Vec<PlaceLines> = Vec::new();
    for line in &priced.lines {
        let Some(of) = document_line(line, book) else { continue };
        let name = &line.line.place;
        match places.iter_mut().find(|place| place.place.to_lowercase() == name.to_lowercase()) {
            Some(place) => place.lines.push(of),
            None => places.push(PlaceLines { place: name.clone(), lines: vec![of] }),
        }
    }
    places.sort_by_key(|place| place.place.is_empty()); // stable: else in the event's order
    places
}

fn document_line(line: &PricedLine, book: &RecipeBook) -> Option<DocumentLine> {
    let price = line.price?;
    let recipe = line.line.recipe.and_then(|id| book.recipes.get(&id));
    let off = line.total.map(|total| total.discount).unwrap_or_default();
    Some(DocumentLine {
        piece: line.line.piece,
        name: line.line.name.clone(),
        words: recipe.map(|recipe| recipe.client_words.clone()).unwrap_or_default(),
        count: line.line.made.count,
        price,
        discount: discounted(line.line.discount, off),
        amount: line.total.map(|total| total.net()),
        tax: Some(line.line.tax.id),
        stems: line.computed.as_ref().map(|piece| stem_counts(piece, book)).unwrap_or_default(),
        picture: None,
    })
}

fn charges(priced: &Priced, draft: &Draft) -> Vec<ChargeLine> {
    let amounts = draft.charges.iter().zip(&priced.totals.charges);
    let line = |((kind, _, tax), amount): (&(ChargeKind, _, Tax), &Money)| ChargeLine {
        kind: *kind,
        amount: *amount,
        tax: Some(tax.id),
    };
    amounts.map(line).collect()
}

fn discounted(discount: Discount, amount: Money) -> Discounted {
    let share = match discount {
        Discount::Share(share) => Some(share),
        Discount::None | Discount::Amount(_) => None,
    };
    Discounted { share, amount }
}

fn taxes(priced: &Priced, rates: &[TaxRate]) -> Vec<TaxLine> {
    let names: HashMap<TaxRateId, &str> = rates.iter().map(|rate| (rate.id, rate.name.as_str())).collect();
    let line = |subtotal: &super::tax::TaxSubtotal| TaxLine {
        id: Some(subtotal.tax.id),
        name: names.get(&subtotal.tax.id).copied().unwrap_or("Tax").to_owned(),
        rate: subtotal.tax.rate,
        net: subtotal.net,
        amount: subtotal.amount,
    };
    priced.totals.sums.taxes.iter().map(line).collect()
}

fn parts(priced: &Priced, instalments: &[Instalment]) -> Vec<InstalmentLine> {
    let line = |(part, amount): (&Instalment, &Money)| InstalmentLine {
        label: part.label.clone(),
        share: part.share,
        due_on: part.due_on,
        amount: *amount,
    };
    instalments.iter().zip(&priced.instalments).map(line).collect()
}

impl ChargeLine {
    /// Its name on paper.
    #[must_use]
    pub fn label(&self) -> &'static str {
        self.kind.label()
    }
}
