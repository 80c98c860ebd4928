//! Worked examples, refusals and laws of the allowance.
#![expect(clippy::float_arithmetic, reason = "probabilities")]

use proptest::prelude::*;

use super::*;

fn hundredths(n: u32) -> Decimal {
    Decimal::new(n.into(), 2)
}

fn known(percent: u32) -> LossModel {
    LossModel::Known { loss: hundredths(percent) }
}

fn learned(good: u32, lost: u32) -> LossModel {
    LossModel::Learned { good: good.into(), lost: lost.into() }
}

fn order(need: u64, model: &LossModel) -> u64 {
    order_for(need, model, hundredths(95)).unwrap().order
}

#[test]
fn known_rates() {
    let needs = [10, 42, 91, 168];
    assert_eq!(needs.map(|n| order(n, &known(3))), [11, 45, 97, 177]);
    assert_eq!(needs.map(|n| order(n, &known(5))), [12, 47, 100, 182]);
    assert_eq!(needs.map(|n| order(n, &known(10))), [13, 51, 107, 194]);
}

#[test]
fn experience_changes_the_order() {
    let before = prior(hundredths(5), DEFAULT_WORTH);
    assert_eq!((order(91, &before), order(161, &before)), (103, 181));
    assert_eq!((order(91, &before.after(460, 40)), order(161, &known(5))), (104, 175));
    assert_eq!(before.expected_loss(), hundredths(5));
    assert_eq!(known(7).after(10, 90), known(7));
}

#[test]
fn nothing_lost_needs_no_spare() {
    for model in [known(0), learned(60, 0), prior(Decimal::ZERO, 60)] {
        let allowance = order_for(42, &model, hundredths(99)).unwrap();
        assert_eq!((allowance.order, allowance.spares()), (42, 0));
    }
    assert_eq!(order(0, &known(50)), 0);
}

#[test]
fn little_experience_means_many_spares() {
    // One good and one lost stem: every rate is equally likely, P = (n − 9) ÷ (n + 1) for a need of 10.
    assert_eq!(order(10, &learned(1, 1)), 199);
    let guess = LossModel::Learned { good: hundredths(50), lost: hundredths(50) };
    assert!(order(1, &guess) > order(1, &learned(1, 1)));
}

/// Computed apart from this code: sums of C(n, k) × 19^(n − k) ÷ 20^n with Python's integers, and with 40 decimal digits.
#[test]
fn large_orders_are_exact() {
    assert_eq!(order(5_000, &known(5)), 5_291);
    assert_eq!(order(100_000, &known(5)), 105_386);
}

#[test]
fn refusals() {
    let refuse = |model: LossModel, percent| order_for(5, &model, hundredths(percent)).unwrap_err();
    assert_eq!(refuse(known(100), 95), AllowanceError::LossOutOfRange(hundredths(100)));
    assert_eq!(refuse(known(5), 100), AllowanceError::AssuranceOutOfRange(hundredths(100)));
    assert_eq!(refuse(known(5), 0), AllowanceError::AssuranceOutOfRange(hundredths(0)));
    assert!(matches!(refuse(learned(0, 3), 95), AllowanceError::NoExperience { .. }));
    let negative = LossModel::Known { loss: Decimal::NEGATIVE_ONE };
    assert!(matches!(refuse(negative, 95), AllowanceError::LossOutOfRange(_)));
    let assurance = hundredths(95);
    assert_eq!(order_for(MOST_STEMS, &known(5), assurance), Err(AllowanceError::TooMany(MOST_STEMS)));
    assert_eq!(order_for(u64::MAX, &known(5), assurance), Err(AllowanceError::TooMany(u64::MAX)));
    assert_eq!(flat(10, hundredths(100)), Err(AllowanceError::LossOutOfRange(hundredths(100))));
    assert_eq!(flat(u64::MAX, hundredths(99)), Err(AllowanceError::TooMany(u64::MAX)));
}

#[test]
fn too_small_an_order_is_never_enough() {
    assert!(probability_enough(9, 10, &known(0)).unwrap() < 1e-300);
    assert!(probability_enough(10, 10, &known(0)).unwrap() > 1.0 - 1e-15);
}

/// Pooling usually saves a few spares, but is no law: for tiny needs it can be one stem more.
#[test]
fn pooling_needs_saves_spares_mostly() {
    let five = known(5);
    assert_eq!((order(91, &five) + order(70, &five), order(161, &five)), (177, 175));
    assert_eq!((order(1, &five) + order(6, &five), order(7, &five)), (8, 9));
}

fn models() -> impl Strategy<Value = LossModel> {
    prop_oneof![
        (0_u32..60).prop_map(known),
        (20_u32..2_000, 0_u32..200).prop_map(|(good, lost)| learned(good, lost)),
    ]
}

proptest! {
    #[test]
    fn the_order_is_enough_and_one_stem_less_is_not(
        need in 1_u64..1_500, model in models(), percent in 50_u32..100,
    ) {
        let allowance = order_for(need, &model, hundredths(percent)).unwrap();
        let assurance = f64::from(percent) / 100.0;
        let odds = probability_enough(allowance.order, need, &model).unwrap();
        prop_assert!((assurance - 1e-11..=1.0 + 1e-12).contains(&odds), "{odds}");
        prop_assert_eq!(odds.to_bits(), allowance.enough.to_bits());
        if allowance.order > need {
            prop_assert!(probability_enough(allowance.order - 1, need, &model).unwrap() < assurance);
        }
    }

    #[test]
    fn more_needed_or_more_assurance_never_means_fewer(
        need in 0_u64..1_500, model in models(), percent in 50_u32..99,
    ) {
        let at = |need, percent| order_for(need, &model, hundredths(percent)).unwrap().order;
        prop_assert!(at(need + 1, percent) > at(need, percent));
        prop_assert!(at(need, percent + 1) >= at(need, percent));
    }

    #[test]
    fn more_loss_never_means_fewer(need in 0_u64..1_500, percent in 0_u32..60) {
        prop_assert!(order(need, &known(percent + 1)) >= order(need, &known(percent)));
        prop_assert!(flat(need, hundredths(percent + 1)).unwrap() >= flat(need, hundredths(percent)).unwrap());
    }

    #[test]
    fn the_flat_rule_leaves_the_need_after_the_loss(need in 0_u64..10_000, percent in 0_u32..100) {
        let order = flat(need, hundredths(percent)).unwrap();
        let good = |order: u64| Decimal::from(order) * (Decimal::ONE - hundredths(percent));
        prop_assert!(good(order) >= Decimal::from(need));
        prop_assert!(order == 0 || good(order - 1) < Decimal::from(need));
    }
}
