//! The allowance against scipy.stats.binom and scipy.stats.betabinom (`fixtures/allowance.csv`, source in each row).

use rust_decimal::Decimal;
use trug::stem_order::allowance::{LossModel, order_for};

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
