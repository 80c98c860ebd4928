//! The quote's sums (C4): lines → discounts → charges → tax a rate → total, all tied to the minor unit.
//!
//! May import: `rust_decimal`, plain values of the ground, the room's own tax.

use rust_decimal::Decimal;

use super::tax::{Sums, Tax, Taxable, sums};
use crate::ground::largest_remainder::split;
use crate::ground::money::Money;
use crate::ground::quantity::Share;

/// What is taken off a line or off the whole quote.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Discount {
    /// Nothing.
    #[default]
    None,
    /// A share of it.
    Share(Share),
    /// An amount, but never more than there is.
    Amount(Money),
}

impl Discount {
    /// What it takes off an amount: amount × share rounded half up, or the amount of the discount; never below nothing
    /// and never more than the amount itself.
    ///
    /// ```
    /// use trug::ground::{money::Money, quantity::Share};
    /// use trug::quotes::totals::Discount;
    /// let ten_per_cent = Discount::Share(Share::from_raw(100_000));
    /// assert_eq!(ten_per_cent.of(Money::from_minor(1_005)), Money::from_minor(101));
    /// assert_eq!(Discount::Amount(Money::from_minor(2_000)).of(Money::from_minor(1_500)), Money::from_minor(1_500));
    /// ```
    #[must_use]
    pub fn of(self, amount: Money) -> Money {
        let most = amount.max(Money::ZERO);
        let wanted = match self {
            Discount::None => Money::ZERO,
            Discount::Share(share) => Money::rounded(most.decimal() * share.decimal()),
            Discount::Amount(off) => off,
        };
        wanted.clamp(Money::ZERO, most)
    }
}

/// One line: so many at a price.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    /// How many.
    pub count: Decimal,
    /// The price of one.
    pub price: Money,
    /// What is taken off this line.
    pub discount: Discount,
    /// Its tax rate.
    pub tax: Tax,
}

/// A charge beside the lines: service, delivery, set-up, strike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Charge {
    /// How it is reckoned.
    pub rule: ChargeRule,
    /// Its tax rate.
    pub tax: Tax,
}

/// How a charge is reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChargeRule {
    /// An amount.
    Amount(Money),
    /// A share of the lines after all discounts.
    Share(Share),
}

/// Everything that a quote's sums are made of.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Terms {
    /// The lines.
    pub lines: Vec<Line>,
    /// What is taken off the whole.
    pub discount: Discount,
    /// What is added.
    pub charges: Vec<Charge>,
    /// Whether prices and charges include tax.
    pub inclusive: bool,
}

/// What one line comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LineTotal {
    /// Count × price, rounded half up.
    pub full: Money,
    /// Its own discount.
    pub discount: Money,
    /// Its part of the quote's discount.
    pub shared_discount: Money,
}

impl LineTotal {
    /// After its own discount: the amount that stands in the line.
    #[must_use]
    pub fn net(&self) -> Money {
        self.full - self.discount
    }

    /// After all discounts.
    #[must_use]
    pub fn after_all(&self) -> Money {
        self.net() - self.shared_discount
    }
}

/// What a quote comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Totals {
    /// One a line, in order.
    pub lines: Vec<LineTotal>,
    /// One a charge, in order.
    pub charges: Vec<Money>,
    /// The sums at its foot; `allowances` is the quote's discount.
    pub sums: Sums,
}

/// Reckons a quote.
///
/// 1. Each line is count × price, rounded half up, less its own discount.
/// 2. The quote's discount is taken off the sum of the lines and split over them in proportion by largest remainder
///    (C5), so that every tax rate bears its part.
/// 3. A charge is its amount, or its share of the lines after all discounts, rounded half up.
/// 4. Tax, a rate at a time, and the total: [`sums`].
///
/// ```
/// use trug::ground::{ids::TaxRateId, money::Money, quantity::Share};
/// use trug::quotes::tax::Tax;
/// use trug::quotes::totals::{Charge, ChargeRule, Discount, Line, Terms, reckon};
/// let tax = Tax { id: TaxRateId(1), rate: Share::from_raw(200_000) };
/// let line = |count: i64, price| Line { count: count.into(), price: Money::from_minor(price), discount: Discount::None, tax };
/// let totals = reckon(&Terms {
///     lines: vec![line(14, 8_600), line(6, 1_450)],                        // 1204.00 + 87.00
///     discount: Discount::Share(Share::from_raw(50_000)),                   // −64.55
///     charges: vec![Charge { rule: ChargeRule::Amount(Money::from_minor(18_000)), tax }],
///     inclusive: false,
/// });
/// assert_eq!(totals.sums.before_tax, Money::from_minor(140_645));           // 1406.45
/// assert_eq!(totals.sums.tax, Money::from_minor(28_129));                   // 281.29
/// assert_eq!(totals.sums.total, Money::from_minor(168_774));
/// ```
#[must_use]
pub fn reckon(terms: &Terms) -> Totals {
    let mut lines: Vec<LineTotal> = terms.lines.iter().map(line_total).collect();
    share_out(terms.discount, &mut lines);
    let after_discount: Money = lines.iter().map(LineTotal::after_all).sum();
    let charges: Vec<Money> =
        terms.charges.iter().map(|charge| charge_on(after_discount, charge.rule)).collect();
    let taxable = |tax: &Tax, amount: Money| Taxable { tax: *tax, amount };
    let nets: Vec<Taxable> =
        both(&terms.lines, &lines).map(|(line, total)| taxable(&line.tax, total.net())).collect();
    let allowances: Vec<Taxable> =
        both(&terms.lines, &lines).map(|(line, total)| taxable(&line.tax, total.shared_discount)).collect();
    let beside: Vec<Taxable> =
        both(&terms.charges, &charges).map(|(charge, amount)| taxable(&charge.tax, *amount)).collect();
    let sums = sums(&nets, &allowances, &beside, terms.inclusive);
    Totals { lines, charges, sums }
}

/// The amount of a line as an invoice states it (EN 16931, BT-131): quantity × unit price ÷ the quantity the price is
/// for, rounded half up once, less the line's allowances, plus its charges. `price` is in minor units and may have
/// decimals of them.
///
/// ```
/// use rust_decimal::Decimal;
/// use trug::ground::money::Money;
/// // 132 pieces at 15.24 the dozen.
/// let amount = trug::quotes::totals::line_amount(132.into(), 1_524.into(), 12.into(), Money::ZERO, Money::ZERO);
/// assert_eq!(amount, Money::from_minor(16_764));
/// ```
#[must_use]
pub fn line_amount(count: Decimal, price: Decimal, per: Decimal, allowances: Money, charges: Money) -> Money {
    let per = if per.is_zero() { Decimal::ONE } else { per };
    Money::rounded(count.saturating_mul(price) / per) - allowances + charges
}

fn line_total(line: &Line) -> LineTotal {
    let full = line_amount(line.count, line.price.decimal(), Decimal::ONE, Money::ZERO, Money::ZERO);
    LineTotal { full, discount: line.discount.of(full), shared_discount: Money::ZERO }
}

fn share_out(discount: Discount, lines: &mut [LineTotal]) {
    let nets: Vec<Decimal> = lines.iter().map(|line| line.net().decimal()).collect();
    let off = discount.of(lines.iter().map(LineTotal::net).sum());
    for (line, part) in lines.iter_mut().zip(split(off.minor(), &nets)) {
        line.shared_discount = Money::from_minor(part);
    }
}

fn charge_on(lines: Money, rule: ChargeRule) -> Money {
    match rule {
        ChargeRule::Amount(amount) => amount,
        ChargeRule::Share(share) => Money::rounded(lines.decimal() * share.decimal()),
    }
}

fn both<'a, A, B>(a: &'a [A], b: &'a [B]) -> impl Iterator<Item = (&'a A, &'a B)> {
    a.iter().zip(b)
}

/// Splits a total into instalments by shares: each is total × share rounded half up, the last takes what is left,
/// so that they add up to the total; none is below nothing. Sixty per cent of 0.05 five times over is no schedule,
/// but it still ties.
///
/// ```
/// use trug::ground::{money::Money, quantity::Share};
/// let thirds = [Share::from_raw(333_333), Share::from_raw(333_333), Share::from_raw(333_334)];
/// let parts = trug::quotes::totals::instalments(Money::from_minor(168_774), &thirds);
/// assert_eq!(parts.iter().map(|part| part.minor()).collect::<Vec<_>>(), [56_258, 56_258, 56_258]);
/// let deposit = [Share::from_raw(300_000), Share::from_raw(700_000)];
/// let parts = trug::quotes::totals::instalments(Money::from_minor(181_081), &deposit);
/// assert_eq!(parts.iter().map(|part| part.minor()).collect::<Vec<_>>(), [54_324, 126_757]);
/// ```
#[must_use]
pub fn instalments(total: Money, shares: &[Share]) -> Vec<Money> {
    let mut left = total;
    let last = shares.len().saturating_sub(1);
    let part = |(place, share): (usize, &Share)| {
        let wanted = Money::rounded(total.decimal() * share.decimal());
        let part = if place == last { left } else { wanted.clamp(Money::ZERO, left.max(Money::ZERO)) };
        left = left - part;
        part
    };
    shares.iter().enumerate().map(part).collect()
}

#[cfg(test)]
mod tests;
