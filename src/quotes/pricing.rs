//! Prices a draft: each piece by its recipe's cost, or as typed; totals; what it costs the studio and what is left.
//!
//! May import: `rust_decimal`, plain values, the calculations of `recipes` and of this room.

use rust_decimal::Decimal;

use super::draft::{Draft, DraftLine};
use super::tax::tax_within;
use super::totals::{Charge, Line, LineTotal, Terms, Totals, instalments, reckon};
use crate::ground::money::Money;
use crate::recipes::cost::{Costing, Missing, PiecePrice};

/// A draft with its figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Priced {
    /// One a line of the draft, in order.
    pub lines: Vec<PricedLine>,
    /// Totals of the lines that have both a count and a price.
    pub totals: Totals,
    /// One an instalment, in order.
    pub instalments: Vec<Money>,
    /// What the pieces cost and bring.
    pub margin: Margin,
}

/// A line with its figures.
#[derive(Debug, Clone, PartialEq)]
pub struct PricedLine {
    /// What it was made from.
    pub line: DraftLine,
    /// What its recipe costs and asks.
    pub computed: Option<PiecePrice>,
    /// Why its recipe cannot be priced: a sentence each.
    pub missing: Vec<String>,
    /// What one is asked for: as typed, else as computed where nothing is missing.
    pub price: Option<Money>,
    /// What it comes to; none while its count is open or its price unknown.
    pub total: Option<LineTotal>,
    /// What it leaves, after discounts, without tax.
    pub margin: Option<Margin>,
}

/// What something costs and what it brings without tax.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Margin {
    /// The cost, in minor units, unrounded.
    pub cost: Decimal,
    /// What is asked for it after all discounts, without tax.
    pub asked: Money,
}

impl Margin {
    /// What is left: asked − cost, the cost rounded half up.
    #[must_use]
    pub fn left(&self) -> Money {
        self.asked - Money::rounded(self.cost)
    }

    /// (asked − cost) ÷ asked; none where nothing is asked.
    ///
    /// ```
    /// use rust_decimal::Decimal;
    /// use trug::ground::money::Money;
    /// use trug::quotes::pricing::Margin;
    /// let margin = Margin { cost: 3_000.into(), asked: Money::from_minor(8_000) };
    /// assert_eq!(margin.share(), Some(Decimal::new(625, 3)));
    /// ```
    #[must_use]
    pub fn share(&self) -> Option<Decimal> {
        (self.asked > Money::ZERO).then(|| (self.asked.decimal() - self.cost) / self.asked.decimal())
    }
}

impl Priced {
    /// The lines that no total holds because their count is open.
    #[must_use]
    pub fn open(&self) -> Vec<&PricedLine> {
        self.lines.iter().filter(|line| line.line.made.count.is_none()).collect()
    }

    /// The lines that no total holds because their price is not known.
    #[must_use]
    pub fn unpriced(&self) -> Vec<&PricedLine> {
        self.lines.iter().filter(|line| line.price.is_none()).collect()
    }
}

/// Prices a draft.
///
/// A piece's price is the typed one; else the computed one, if every material of its recipe has a cost: a price that
/// leaves something out is none. Lines without count or price are left out of every total. Margins are of what is asked
/// after all discounts, without tax; lines whose cost is not known are left out of them.
#[must_use]
pub fn price(draft: &Draft, costing: &Costing) -> Priced {
    let mut lines: Vec<PricedLine> = draft.lines.iter().map(|line| priced(line, draft, costing)).collect();
    let counted = |line: &PricedLine| {
        let count = line.line.made.count?;
        let (discount, tax) = (line.line.discount, line.line.tax);
        Some(Line { count: count.into(), price: line.price?, discount, tax })
    };
    let charges = draft.charges.iter().map(|(_, rule, tax)| Charge { rule: *rule, tax: *tax });
    let totals = reckon(&Terms {
        lines: lines.iter().filter_map(counted).collect(),
        discount: draft.discount,
        charges: charges.collect(),
        inclusive: draft.inclusive,
    });
    let held = lines.iter_mut().filter(|line| counted(line).is_some());
    for (line, total) in held.zip(&totals.lines) {
        line.total = Some(*total);
        line.margin = margin(line, total, draft.inclusive);
    }
    let instalments = instalments(totals.sums.total, &draft.instalments);
    let margin = lines.iter().filter_map(|line| line.margin).fold(Margin::default(), |sum, one| Margin {
        cost: sum.cost + one.cost,
        asked: sum.asked + one.asked,
    });
    Priced { lines, totals, instalments, margin }
}

fn priced(line: &DraftLine, draft: &Draft, costing: &Costing) -> PricedLine {
    let computed = line.recipe.map(|recipe| costing.piece(recipe, draft.batch(recipe)));
    let (computed, mut missing) = match computed {
        Some(Ok(computed)) => (Some(computed), Vec::new()),
        Some(Err(error)) => (None, vec![error.to_string()]),
        None => (None, Vec::new()),
    };
    missing.extend(computed.iter().flat_map(|computed| missing_words(computed, costing)));
    let whole = computed.as_ref().filter(|_| missing.is_empty());
    let price = line.typed.or(whole.map(|computed| computed.price));
    PricedLine { line: line.clone(), computed, missing, price, total: None, margin: None }
}

fn missing_words(computed: &PiecePrice, costing: &Costing) -> Vec<String> {
    let name = |id| costing.book.materials.get(&id).map_or("A material", |material| material.name.as_str());
    let words = |(id, missing): (_, Missing)| match missing {
        Missing::Price => format!("{} has no price that day: nobody offers it.", name(id)),
        Missing::UsableLength => {
            format!("{} is cut to lengths, but its usable length is not known.", name(id))
        }
        Missing::TooShort => format!("{} is too short for a piece that is cut from it.", name(id)),
    };
    computed.lines.iter().filter_map(|line| Some((line.material, line.missing?))).map(words).collect()
}

fn margin(line: &PricedLine, total: &LineTotal, inclusive: bool) -> Option<Margin> {
    let computed = line.computed.as_ref().filter(|_| line.missing.is_empty())?;
    let with_tax = total.after_all();
    let tax = if inclusive { tax_within(with_tax, line.line.tax.rate) } else { Money::ZERO };
    let cost = computed.cost() * Decimal::from(line.line.made.count?);
    Some(Margin { cost, asked: with_tax - tax })
}

#[cfg(test)]
mod tests;
