//! Figures of a quote in words: the sum behind a price, what changed.
//!
//! May import: plain values, the ground's formats.

use rust_decimal::Decimal;

use super::changes::Change;
use super::pricing::Margin;
use crate::ground::formats::Formats;
use crate::recipes::cost::PiecePrice;
use crate::studio::{LabourRule, RoundingDirection, Studio};

/// The sum behind a computed price: `flowers €12.40 × 3.5 + … = €53.61, rounded up to €0.50: €54.00`.
#[must_use]
pub fn working(computed: &PiecePrice, studio: &Studio) -> String {
    let f = &studio.formats;
    let money = |minor: Decimal| f.unit_cost(minor);
    let marked = |what: &str, cost: Decimal, markup| {
        (!cost.is_zero()).then(|| format!("{what} {} × {}", money(cost), f.factor_input(markup)))
    };
    let labour = match studio.labour.rule {
        LabourRule::Minutes => {
            let minutes = f.number(computed.minutes, 1);
            format!(
                "labour {minutes} min at {} an hour = {}",
                f.money(studio.labour.rate),
                money(computed.labour_asked)
            )
        }
        LabourRule::Share => format!(
            "labour {} of the flowers’ price = {}",
            f.share(studio.labour.share),
            money(computed.labour_asked)
        ),
    };
    let terms = [
        marked("flowers", computed.fresh, studio.markups.fresh),
        marked("hard goods", computed.hard_goods, studio.markups.hard_goods),
        marked("sundries", computed.sundries, studio.markups.sundries),
        (!computed.loan.is_zero()).then(|| format!("loan fees {}", money(computed.loan))),
        (!computed.labour_asked.is_zero()).then_some(labour),
    ];
    let sum = terms.into_iter().flatten().collect::<Vec<_>>().join(" + ");
    let sum = if sum.is_empty() { "nothing in it costs anything".to_owned() } else { sum };
    let rounding = match studio.rounding.direction {
        RoundingDirection::Up => "up",
        RoundingDirection::Nearest => "to the nearest",
    };
    let (computed, step, price) =
        (money(computed.computed), f.money(studio.rounding.step), f.money(computed.price));
    format!("{sum}; together {computed}, rounded {rounding} by steps of {step}: {price}")
}

/// `Cost €441.30; margin 60.6 %; mark-up 2.54 ×`.
#[must_use]
pub fn margin(margin: &Margin, formats: &Formats) -> String {
    let cost = formats.money(crate::ground::money::Money::rounded(margin.cost));
    match margin.share() {
        Some(share) => format!("margin {}, cost {cost}", percent(share, formats)),
        None => format!("nothing asked, cost {cost}"),
    }
}

/// What is left to the studio, in money and as a share: `£504.00, 58.1 %`.
#[must_use]
pub fn left(margin: &Margin, formats: &Formats) -> String {
    let left = formats.money(margin.left());
    match margin.share() {
        Some(share) => format!("{left}, {}", percent(share, formats)),
        None => left,
    }
}

/// A share as per cent with one decimal: `60.6 %`.
#[must_use]
pub fn percent(share: Decimal, formats: &Formats) -> String {
    let percent = formats.number(share * Decimal::ONE_HUNDRED, 1);
    format!("{}\u{a0}%", percent.replace('-', "−"))
}

/// A difference between two versions.
#[must_use]
pub fn change(change: &Change, formats: &Formats) -> String {
    let count =
        |count: &Option<i64>| count.map_or_else(|| "to be agreed".to_owned(), |count| count.to_string());
    match change {
        Change::Added { what, count: Some(1) } => format!("{what} added"),
        Change::Added { what, count: Some(count) } => format!("{what} added, {count} of it"),
        Change::Added { what, count: None } => format!("{what} added, count to be agreed"),
        Change::Removed { what } => format!("{what} taken out"),
        Change::Count { what, from, to } => format!("{what}: {} became {}", count(from), count(to)),
        Change::Amount { what, from, to } => {
            let (sign, difference) = if to > from { ("+", *to - *from) } else { ("−", *from - *to) };
            let (from, to, difference) =
                (formats.money(*from), formats.money(*to), formats.money(difference));
            format!("{what}: {from} became {to} ({sign}{difference})")
        }
        Change::Words { what } => format!("other: {what}"),
    }
}
