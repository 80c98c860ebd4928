//! How a close-out's figures are written.

use std::borrow::Borrow;

use crate::close_out::figures::{Figures, Line, Sum};
use crate::close_out::forms::clock;
use crate::close_out::labour::MINUTES;
use crate::close_out::per_million;
use crate::close_out::variance::{Amount, Variance};
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::ground::quantity::{Quantity, Share};
use crate::price_list::Unit;

/// Writes figures in the studio's formats.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ink(pub Formats);

impl Ink {
    pub(super) fn money(self, amount: impl Borrow<Money>) -> String {
        self.0.money(*amount.borrow())
    }

    /// A difference: with its sign, nothing as a dash.
    pub(super) fn signed(self, amount: impl Borrow<Money>) -> String {
        let amount = *amount.borrow();
        match amount.minor() {
            0 => "–".into(),
            minor if minor > 0 => format!("+{}", self.0.money(amount)),
            _ => self.0.money(amount),
        }
    }

    /// How many of a line, in its unit.
    pub(super) fn quantity(self, line: &Line, amount: &Amount) -> String {
        match line.unit.as_str() {
            "" => String::new(),
            MINUTES => format!("{} h", clock(amount.quantity.raw() / 1000)),
            unit => {
                let count = if amount.quantity == Quantity::whole(1) { 1 } else { 2 };
                let name = Unit::from_code(unit).map_or(unit, |unit| unit.words(count));
                format!("{} {name}", self.0.number(amount.quantity.decimal(), 1))
            }
        }
    }

    /// The working of a line's variances, in words.
    pub(super) fn working(self, line: &Line) -> String {
        let Variance { price, usage } = line.variance();
        let of = |amount: &Amount| {
            let quantity = self.quantity(line, amount);
            let at = if quantity.is_empty() { String::new() } else { format!("{quantity} for ") };
            format!("{at}{}", self.money(amount.cost))
        };
        format!(
            "Planned {}, actual {}. Price: actual cost less planned price × actual quantity: {}. Usage: the quantity more or less × planned price: {}. Together {}.",
            of(&line.planned),
            of(&line.actual),
            self.signed(price),
            self.signed(usage),
            self.signed(price + usage)
        )
    }

    /// A margin in money and per cent.
    pub(super) fn margin(self, margin: Money, income: Money) -> String {
        match self.share(margin, income).as_str() {
            "–" => self.money(margin),
            share => format!("{} ({share})", self.money(margin)),
        }
    }

    /// A part of an income in per cent; a tenth of a per cent is fine enough.
    fn share(self, part: Money, income: Money) -> String {
        per_million(part, income).map_or("–".into(), |share| {
            let per_cent = Share::from_raw(share).decimal() * rust_decimal::Decimal::ONE_HUNDRED;
            format!("{} %", self.0.number(per_cent, 1))
        })
    }
}

/// What the summary says: label, planned, actual.
pub(super) fn summary(figures: &Figures, ink: Ink) -> Vec<(&'static str, String, String)> {
    let Sum { planned, actual, .. } = figures.sum();
    let (planned_income, income) = (figures.income.planned(), figures.income.actual());
    let (planned_margin, margin) = figures.margins();
    let (planned_minutes, minutes) = figures.minutes();
    vec![
        ("Income, without tax", ink.money(planned_income), ink.money(income)),
        ("Cost", ink.money(planned), ink.money(actual)),
        ("Gross margin", ink.money(planned_margin), ink.money(margin)),
        ("Margin of the income", ink.share(planned_margin, planned_income), ink.share(margin, income)),
        ("Hours", format!("{} h", clock(planned_minutes)), format!("{} h", clock(minutes))),
    ]
}
