//! Tax of a quote (C4): one subtotal a rate, and the sums that tie lines, allowances, charges and tax to the total.
//!
//! May import: `rust_decimal` and plain values of the ground.

use rust_decimal::Decimal;

use crate::ground::ids::TaxRateId;
use crate::ground::money::Money;
use crate::ground::quantity::Share;

/// A tax rate as a quote uses it. Two rates of the same per cent but different names stay apart, as the
/// categories of EN 16931 do (an exempt and a zero-rated supply are both 0 %).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tax {
    /// Which one.
    pub id: TaxRateId,
    /// How much.
    pub rate: Share,
}

/// An amount that a rate applies to: a line after its discount, a discount of the quote (as an allowance), a charge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taxable {
    /// Under which rate.
    pub tax: Tax,
    /// How much, in minor units; with its tax where the quote's prices include it.
    pub amount: Money,
}

/// What one rate comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TaxSubtotal {
    /// Which rate.
    pub tax: Tax,
    /// The taxable amount, without tax.
    pub net: Money,
    /// The tax.
    pub amount: Money,
}

impl TaxSubtotal {
    /// The taxable amount with its tax.
    #[must_use]
    pub fn gross(&self) -> Money {
        self.net + self.amount
    }
}

/// The sums at the foot of a quote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sums {
    /// Sum of the lines, each after its own discount (BR-CO-10).
    pub lines: Money,
    /// Sum of what is taken off the whole (BR-CO-11).
    pub allowances: Money,
    /// Sum of the charges (BR-CO-12).
    pub charges: Money,
    /// One subtotal a rate, in the order in which the rates first occur.
    pub taxes: Vec<TaxSubtotal>,
    /// The whole without tax: lines − allowances + charges (BR-CO-13), less the tax in them where prices include it.
    pub before_tax: Money,
    /// Sum of the subtotals' tax (BR-CO-14).
    pub tax: Money,
    /// The whole with tax (BR-CO-15).
    pub total: Money,
}

/// Adds up lines, allowances and charges, and the tax on them.
///
/// For each rate its taxable amounts are summed (lines − allowances + charges) and the tax on that sum is rounded
/// half up **once**: base × rate where prices are without tax, base × rate ÷ (1 + rate) where they include it.
/// The total is the sum without tax plus all tax; where prices include tax that is the sum of the amounts themselves.
///
/// Minor units throughout; no errors. Source: EN 16931-1:2017, business rules BR-CO-10 to BR-CO-17 (as published
/// with the validation artefacts of CEN/TC 434).
///
/// ```
/// use trug::ground::{ids::TaxRateId, money::Money, quantity::Share};
/// use trug::quotes::tax::{Tax, Taxable, sums};
/// let tax = Tax { id: TaxRateId(1), rate: Share::from_raw(250_000) };
/// let line = Taxable { tax, amount: Money::from_minor(146_050) };
/// // 1460.50 at 25 % is 365.125: an EN 16931 example prints 365.13.
/// assert_eq!(sums(&[line], &[], &[], false).tax, Money::from_minor(36_513));
/// // With the tax in it: 1460.50 × 0.25 ÷ 1.25 = 292.10.
/// let inclusive = sums(&[line], &[], &[], true);
/// assert_eq!((inclusive.tax, inclusive.total), (Money::from_minor(29_210), Money::from_minor(146_050)));
/// ```
#[must_use]
pub fn sums(lines: &[Taxable], allowances: &[Taxable], charges: &[Taxable], inclusive: bool) -> Sums {
    let sum = |amounts: &[Taxable]| amounts.iter().map(|taxable| taxable.amount).sum::<Money>();
    let taken_off = allowances.iter().map(|taxable| Taxable { amount: -taxable.amount, ..*taxable });
    let taxables: Vec<Taxable> =
        lines.iter().copied().chain(taken_off).chain(charges.iter().copied()).collect();
    let taxes = subtotals(&taxables, inclusive);
    let before_tax = taxes.iter().map(|subtotal| subtotal.net).sum::<Money>();
    let tax = taxes.iter().map(|subtotal| subtotal.amount).sum::<Money>();
    Sums {
        lines: sum(lines),
        allowances: sum(allowances),
        charges: sum(charges),
        taxes,
        before_tax,
        tax,
        total: before_tax + tax,
    }
}

fn subtotals(taxables: &[Taxable], inclusive: bool) -> Vec<TaxSubtotal> {
    let mut bases: Vec<Taxable> = Vec::new();
    for taxable in taxables {
        match bases.iter_mut().find(|base| base.tax.id == taxable.tax.id) {
            Some(base) => base.amount += taxable.amount,
            None => bases.push(*taxable),
        }
    }
    bases.into_iter().map(|base| subtotal(base, inclusive)).collect()
}

fn subtotal(base: Taxable, inclusive: bool) -> TaxSubtotal {
    if inclusive {
        let amount = tax_within(base.amount, base.tax.rate);
        TaxSubtotal { tax: base.tax, net: base.amount - amount, amount }
    } else {
        let amount = Money::rounded(base.amount.decimal() * base.tax.rate.decimal());
        TaxSubtotal { tax: base.tax, net: base.amount, amount }
    }
}

/// The tax in an amount that includes it: amount × rate ÷ (1 + rate), rounded half up to the minor unit.
///
/// ```
/// use trug::ground::{money::Money, quantity::Share};
/// // 120.00 with 20 % in it holds 20.00 of tax.
/// let tax = trug::quotes::tax::tax_within(Money::from_minor(12_000), Share::from_raw(200_000));
/// assert_eq!(tax, Money::from_minor(2_000));
/// ```
#[must_use]
pub fn tax_within(amount: Money, rate: Share) -> Money {
    let rate = rate.decimal();
    // Multiplied before it is divided: one division, one rounding.
    Money::rounded(amount.decimal() * rate / (Decimal::ONE + rate))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(id: i64, rate: i64, amount: i64) -> Taxable {
        let tax = Tax { id: TaxRateId(id), rate: Share::from_raw(rate) };
        Taxable { tax, amount: Money::from_minor(amount) }
    }

    #[test]
    fn tax_is_rounded_once_a_rate_and_not_once_a_line() {
        // Three lines of 0.33 at 10 %: by line 3 × 0.03 = 0.09, on the sum 0.099 = 0.10.
        let sums = sums(&[at(1, 100_000, 33), at(1, 100_000, 33), at(1, 100_000, 33)], &[], &[], false);
        assert_eq!(sums.tax, Money::from_minor(10));
        assert_eq!(sums.total, Money::from_minor(109));
    }

    #[test]
    fn rates_of_the_same_per_cent_stay_apart() {
        let sums = sums(&[at(1, 0, 500), at(2, 0, 700), at(1, 0, 1)], &[], &[], false);
        let nets: Vec<i64> = sums.taxes.iter().map(|subtotal| subtotal.net.minor()).collect();
        assert_eq!(nets, [501, 700]);
    }

    #[test]
    fn a_charge_may_have_a_rate_of_its_own() {
        let sums = sums(&[at(1, 200_000, 10_000)], &[at(1, 200_000, 1_000)], &[at(2, 50_000, 2_000)], false);
        assert_eq!((sums.lines, sums.allowances, sums.charges), (m(10_000), m(1_000), m(2_000)));
        assert_eq!((sums.before_tax, sums.tax, sums.total), (m(11_000), m(1_900), m(12_900)));
    }

    fn m(minor: i64) -> Money {
        Money::from_minor(minor)
    }
}
