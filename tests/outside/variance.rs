//! Price and usage variance, and labour's rate and efficiency variance, against published worked answers of textbook problems
//! in standard costing (`fixtures/variance.csv`, source in each row). Amounts are in hundredths; favourable is below nothing.

use rust_decimal::Decimal;
use trug::close_out::variance::{Amount, variance};
use trug::ground::money::Money;

#[test]
fn variances_are_those_of_the_textbooks() {
    let text = include_str!("../fixtures/variance.csv");
    let mut rows = 0;
    for row in csv::Reader::from_reader(text.as_bytes()).into_records() {
        let row = row.unwrap();
        let number = |at: usize| row[at].parse::<Decimal>().unwrap();
        let amount = |quantity: usize, price: usize| {
            let count = i64::try_from(number(quantity)).unwrap();
            Amount::whole(count, Money::rounded(number(quantity) * number(price) * Decimal::ONE_HUNDRED))
        };
        let hundredths = |at: usize| Money::rounded(number(at) * Decimal::ONE_HUNDRED);
        let found = variance(amount(3, 4), amount(5, 6));
        assert_eq!(found.price, hundredths(7), "price of {}", &row[0]);
        assert_eq!(found.usage, hundredths(8), "usage of {}", &row[0]);
        assert_eq!(found.total(), hundredths(9), "both of {}", &row[0]);
        rows += 1;
    }
    assert_eq!(rows, 5);
}
