//! The allowance against scipy.stats.binom and scipy.stats.betabinom (`fixtures/allowance.csv`, source in each row), and
//! from counts on top of a usual loss (`fixtures/learned.csv`): the smallest n with sf(need − 1, n, g, b) ≥ the assurance,
//! g and b being 60 stems at the usual loss and all counted ones.

use rust_decimal::Decimal;
use trug::ground::quantity::Share;
use trug::stem_order::allowance::{LossModel, order_for};
use trug::stem_order::losses::learned::{Counted, LossBasis};

#[test]
fn every_order_matches_the_reference_library() {
    let text = include_str!("../fixtures/allowance.csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let mut rows = 0;
    for row in reader.records() {
        let row = row.unwrap();
        let number = |column: usize| row[column].parse::<Decimal>().unwrap();
        let model = match &row[1] {
            "known" => LossModel::Known { loss: number(4) },
            _ => LossModel::Learned { good: number(2), lost: number(3) },
        };
        let order = order_for(row[0].parse().unwrap(), &model, number(5)).unwrap().order;
        assert_eq!(order.to_string(), row[6], "{row:?}");
        rows += 1;
    }
    assert_eq!(rows, 264);
}

#[test]
fn what_was_counted_orders_as_the_reference_library_does() {
    let text = include_str!("../fixtures/learned.csv");
    let mut rows = 0;
    for row in csv::Reader::from_reader(text.as_bytes()).records() {
        let row = row.unwrap();
        let whole = |column: usize| row[column].parse::<i64>().unwrap();
        let usual = Share::from_raw(whole(1) * 10_000);
        let basis = LossBasis::Counted { usual, counted: Counted { good: whole(2), lost: whole(3) } };
        let assurance: Decimal = row[4].parse().unwrap();
        let order = order_for(row[0].parse().unwrap(), &basis.model(), assurance).unwrap().order;
        assert_eq!(order.to_string(), row[5], "{row:?}");
        rows += 1;
    }
    assert_eq!(rows, 84);
}
