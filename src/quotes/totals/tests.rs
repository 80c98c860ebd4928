use proptest::prelude::*;

use super::*;
use crate::ground::ids::TaxRateId;

fn m(minor: i64) -> Money {
    Money::from_minor(minor)
}

fn tax(id: i64, rate: i64) -> Tax {
    Tax { id: TaxRateId(id), rate: Share::from_raw(rate) }
}

fn line(count: i64, price: i64, discount: Discount, tax: Tax) -> Line {
    Line { count: count.into(), price: m(price), discount, tax }
}

#[test]
fn a_quote_of_two_rates_worked_by_hand() {
    let (standard, reduced) = (tax(1, 200_000), tax(2, 50_000));
    let totals = reckon(&Terms {
        lines: vec![
            line(14, 8_600, Discount::Share(Share::from_raw(100_000)), standard), // 1204.00 − 120.40 = 1083.60
            line(3, 3_333, Discount::Amount(m(999)), reduced),                    // 99.99 − 9.99 = 90.00
        ],
        discount: Discount::Amount(m(10_001)), // of 1173.60: 92.34 and 7.67 (quotas 9234.04…, 766.95…)
        charges: vec![
            Charge { rule: ChargeRule::Share(Share::from_raw(125_000)), tax: standard }, // of 1073.59: 134.20
            Charge { rule: ChargeRule::Amount(m(8_500)), tax: reduced },
        ],
        inclusive: false,
    });
    assert_eq!(totals.lines[0].shared_discount, m(9_234));
    assert_eq!(totals.lines[1].shared_discount, m(767));
    assert_eq!(totals.charges, [m(13_420), m(8_500)]);
    // Standard: 1083.60 − 92.34 + 134.20 = 1125.46, tax 225.09(2). Reduced: 90.00 − 7.67 + 85.00 = 167.33, tax 8.37 (8.3665).
    assert_eq!(totals.sums.taxes[0].net, m(112_546));
    assert_eq!(totals.sums.taxes[0].amount, m(22_509));
    assert_eq!(totals.sums.taxes[1].amount, m(837));
    assert_eq!(totals.sums.total, m(112_546 + 22_509 + 16_733 + 837));
}

#[test]
fn with_the_tax_in_them_prices_add_up_to_the_total() {
    let totals = reckon(&Terms {
        lines: vec![line(1, 9_999, Discount::None, tax(1, 200_000))],
        inclusive: true,
        ..Terms::default()
    });
    // 99.99 × 0.2 ÷ 1.2 = 16.665, half up 16.67.
    assert_eq!((totals.sums.tax, totals.sums.before_tax, totals.sums.total), (m(1_667), m(8_332), m(9_999)));
}

#[test]
fn a_discount_larger_than_the_quote_takes_all_of_it_and_no_more() {
    let totals = reckon(&Terms {
        lines: vec![line(2, 500, Discount::Amount(m(600)), tax(1, 200_000))],
        discount: Discount::Amount(m(1_000_000)),
        ..Terms::default()
    });
    assert_eq!(totals.sums.total, Money::ZERO);
    assert_eq!(totals.sums.allowances, m(400));
}

#[test]
fn tiny_totals_still_fall_into_instalments_that_tie() {
    let tenth = [Share::from_raw(100_000); 10];
    let parts = instalments(m(5), &tenth);
    assert_eq!(parts.iter().copied().sum::<Money>(), m(5));
    assert!(parts.iter().all(|part| *part >= Money::ZERO), "{parts:?}");
    assert_eq!(instalments(m(5), &[]), []);
}

fn any_discount() -> impl Strategy<Value = Discount> {
    prop_oneof![
        Just(Discount::None),
        (0_i64..=1_000_000).prop_map(|ppm| Discount::Share(Share::from_raw(ppm))),
        (0_i64..=10_000_000_000).prop_map(|minor| Discount::Amount(m(minor))),
    ]
}

fn any_tax() -> impl Strategy<Value = Tax> {
    // A rate belongs to its identity.
    (0_usize..4).prop_map(|at| tax(i64::try_from(at).unwrap(), [0, 50_000, 88_750, 210_000][at]))
}

fn any_line() -> impl Strategy<Value = Line> {
    let price = prop_oneof![0_i64..=100_000, Just(0), Just(10_000_000_000)];
    (1_i64..=100_000, price, any_discount(), any_tax())
        .prop_map(|(count, price, off, tax)| line(count, price, off, tax))
}

fn any_charge() -> impl Strategy<Value = Charge> {
    let rule = prop_oneof![
        (0_i64..=10_000_000).prop_map(|minor| ChargeRule::Amount(m(minor))),
        (0_i64..=1_000_000).prop_map(|ppm| ChargeRule::Share(Share::from_raw(ppm))),
    ];
    (rule, any_tax()).prop_map(|(rule, tax)| Charge { rule, tax })
}

fn any_terms() -> impl Strategy<Value = Terms> {
    let lines = prop::collection::vec(any_line(), 0..12);
    let charges = prop::collection::vec(any_charge(), 0..4);
    (lines, any_discount(), charges, any::<bool>()).prop_map(|(lines, discount, charges, inclusive)| Terms {
        lines,
        discount,
        charges,
        inclusive,
    })
}

proptest! {
    #[test]
    fn everything_ties_to_the_minor_unit(terms in any_terms()) {
        let totals = reckon(&terms);
        let sums = &totals.sums;
        prop_assert_eq!(sums.lines, totals.lines.iter().map(LineTotal::net).sum());
        prop_assert_eq!(sums.allowances, totals.lines.iter().map(|line| line.shared_discount).sum());
        prop_assert_eq!(sums.charges, totals.charges.iter().copied().sum());
        prop_assert_eq!(sums.total, sums.before_tax + sums.tax);
        let asked = sums.lines - sums.allowances + sums.charges;
        let stated = if terms.inclusive { sums.total } else { sums.before_tax };
        prop_assert_eq!(asked, stated);
        prop_assert_eq!(sums.tax, sums.taxes.iter().map(|subtotal| subtotal.amount).sum());
        prop_assert_eq!(sums.before_tax, sums.taxes.iter().map(|subtotal| subtotal.net).sum());
    }

    #[test]
    fn tax_is_within_half_a_minor_unit_of_the_exact_one(terms in any_terms()) {
        for subtotal in reckon(&terms).sums.taxes {
            let rate = subtotal.tax.rate.decimal();
            let exact = if terms.inclusive {
                subtotal.gross().decimal() * rate / (Decimal::ONE + rate)
            } else {
                subtotal.net.decimal() * rate
            };
            prop_assert!((subtotal.amount.decimal() - exact).abs() <= Decimal::new(5, 1));
        }
    }

    #[test]
    fn no_discount_makes_anything_less_than_nothing(terms in any_terms()) {
        let totals = reckon(&terms);
        prop_assert!(totals.sums.total >= Money::ZERO && totals.sums.before_tax >= Money::ZERO);
        for line in &totals.lines {
            prop_assert!(line.discount <= line.full && line.after_all() >= Money::ZERO);
        }
    }

    #[test]
    fn instalments_tie_to_the_total(total in 0_i64..=1_000_000_000_000, shares in prop::collection::vec(1_i64..=1_000_000, 1..12)) {
        let shares: Vec<Share> = shares.into_iter().map(Share::from_raw).collect();
        let parts = instalments(m(total), &shares);
        prop_assert_eq!(parts.len(), shares.len());
        prop_assert_eq!(parts.iter().copied().sum::<Money>(), m(total));
        prop_assert!(parts.iter().all(|part| *part >= Money::ZERO));
    }
}
