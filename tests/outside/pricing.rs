//! The price of a piece against published pricing examples (`fixtures/pricing.csv`, source and status in each row).
//! Amounts are in hundredths, as the sources have them.

use std::collections::HashMap;

use rust_decimal::Decimal;
use trug::ground::money::Money;
use trug::ground::quantity::{Factor, Length, Quantity, Share};
use trug::price_list::MaterialKind::{Flower, Foliage, Sundry, Vessel};
use trug::recipes::Measure;
use trug::recipes::cost::{Costing, PiecePrice};
use trug::studio::{Labour, LabourRule, Markups, PriceRounding, RoundingDirection};

use crate::pieces::{Bench, PIECE};

fn expected(name: &str) -> Money {
    let text = include_str!("../fixtures/pricing.csv");
    let rows: HashMap<String, Decimal> = csv::Reader::from_reader(text.as_bytes())
        .into_records()
        .map(|row| row.unwrap())
        .map(|row| (row[0].to_string(), row[4].parse().unwrap()))
        .collect();
    assert_eq!(rows.len(), 10);
    Money::rounded(rows[name] * Decimal::ONE_HUNDRED)
}

/// Mark-ups of flowers, hard goods and sundries in thousandths; an hour costs 60.00, so that a minute costs 1.00.
fn price(bench: &Bench, minutes: i64, (fresh, hard, sundries): (i64, i64, i64), up: bool) -> PiecePrice {
    let direction = if up { RoundingDirection::Up } else { RoundingDirection::Nearest };
    let factor = Factor::from_raw;
    let book = bench.book(minutes);
    let costing = Costing {
        book: &book,
        costs: &bench.costs,
        usual_loss: Share::default(),
        markups: Markups { fresh: factor(fresh), hard_goods: factor(hard), sundries: factor(sundries) },
        labour: Labour { rule: LabourRule::Minutes, rate: Money::from_minor(6_000), share: Share::default() },
        rounding: PriceRounding { step: Money::from_minor(1), direction },
    };
    costing.piece(PIECE, 1).unwrap()
}

const AT_COST: (i64, i64, i64) = (1_000, 1_000, 1_000);

#[test]
fn ratio_mark_up() {
    let piece = Bench::default()
        .count(Flower, 10_000, 30)
        .count(Foliage, 10_000, 10)
        .count(Vessel, 1_000, 90)
        .count(Sundry, 1_000, 5);
    let price = price(&piece, 0, (3_000, 2_000, 2_000), false);
    assert_eq!(price.price, expected("ratio mark-up"));
    assert_eq!(price.computed, price.price.decimal(), "nothing was rounded");
}

#[test]
fn one_of_a_pack() {
    let one = Measure::Count { quantity: Quantity::whole(1) };
    let cases = [
        ("unit cost of a bunch", Flower, (750, 10), false),
        ("unit cost of a case", Vessel, (1_800, 36), false),
        ("bowl rounded up", Vessel, (1_460, 48), true),
        ("leatherleaf rounded up", Foliage, (249, 20), true),
    ];
    for (name, kind, pack, up) in cases {
        let piece = Bench::default().line(kind, one, pack, None);
        assert_eq!(price(&piece, 0, AT_COST, up).price, expected(name), "{name}");
    }
}

/// A yard from a roll of 100 yards; the unrounded cost, 0.0495, is brought up to the cent.
#[test]
fn a_yard_of_ribbon() {
    let yard = Length::from_um(914_400);
    let cut = Measure::Cut { quantity: Quantity::whole(1), length: yard };
    let piece = Bench::default().line(Sundry, cut, (495, 1), Some(Length::from_um(100 * yard.um())));
    let price = price(&piece, 0, AT_COST, true);
    assert_eq!((price.cost(), price.price), (Decimal::new(495, 2), expected("ribbon rounded up")));
}

#[test]
fn half_a_bunch() {
    let piece = Bench::default().count(Flower, 500, 375);
    assert_eq!(price(&piece, 0, AT_COST, true).price, expected("half a bunch rounded up"));
}

/// The source goes backwards from a price of 50.00 to what may be spent on flowers; here that sum is spent and the
/// profit must come out.
#[test]
fn flower_budget() {
    let flowers = expected("flower budget").minor();
    let piece = Bench::default()
        .count(Flower, 1_000, flowers)
        .count(Vessel, 1_000, 1_000)
        .count(Foliage, 1_000, 1_200);
    let price = price(&piece, 15, AT_COST, false);
    let asked = Money::from_minor(5_000);
    assert_eq!(asked.decimal() - price.cost(), Decimal::from(400));
    assert_eq!(price.margin_at(asked), Some(Decimal::new(8, 2)));
}

#[test]
fn half_a_cent_goes_up() {
    let piece = Bench::default().count(Flower, 1_000, 35);
    let price = price(&piece, 0, (3_500, 1_000, 1_000), false);
    assert_eq!((price.computed, price.price), (Decimal::new(1_225, 1), expected("rounding half up")));
}

/// The source takes labour from the whole marked-up sum, Trug from minutes or from the flowers' price alone: so the
/// marked-up sum is Trug's, and the source's labour is added here.
#[test]
fn course_competency() {
    let piece = Bench::default().count(Flower, 1_000, 1_000).count(Vessel, 1_000, 500);
    let without = price(&piece, 0, (4_000, 3_000, 1_000), false).price;
    let labour = without.decimal() * Decimal::new(3, 1);
    assert_eq!(Money::rounded(without.decimal() + labour), expected("course competency"));
}
