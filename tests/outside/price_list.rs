//! Packs, prices and storage lives against outside values; each fixture names its source in each row.

use rust_decimal::Decimal;
use trug::ground::money::Money;
use trug::ground::quantity::Share;
use trug::price_list::CareSource;
use trug::price_list::care_table::row;
use trug::price_list::stem_cost::good_stem_cost;

fn rows(text: &'static str) -> Vec<csv::StringRecord> {
    csv::Reader::from_reader(text.as_bytes()).into_records().map(Result::unwrap).collect()
}

fn number(text: &str) -> Decimal {
    text.parse().unwrap()
}

/// An amount in cents.
fn cents(text: &str) -> Money {
    Money::rounded(number(text) * Decimal::ONE_HUNDRED)
}

#[test]
fn a_stem_of_a_wholesale_pack_costs_price_by_stems() {
    let packs = rows(include_str!("../fixtures/packs-and-prices.csv"));
    assert_eq!(packs.len(), 22);
    for pack in &packs {
        let each = good_stem_cost(cents(&pack[3]), pack[2].parse().unwrap(), Share::default());
        assert_eq!(each, number(&pack[4]) * Decimal::ONE_HUNDRED, "{pack:?}");
    }
}

#[test]
fn value_by_quantity_rounds_to_the_printed_farm_gate_price() {
    let kinds = rows(include_str!("../fixtures/farm-gate-2010.csv"));
    assert_eq!(kinds.len(), 11);
    for kind in &kinds {
        // Value and quantity are both in thousands: a pack of so many thousand stems for so many thousand dollars.
        let each = good_stem_cost(cents(&kind[4]), kind[2].parse().unwrap(), Share::default());
        assert_eq!(Money::rounded(each), cents(&kind[3]), "{kind:?}");
    }
}

#[test]
fn the_published_storage_lives_are_the_care_tables() {
    let flowers = rows(include_str!("../fixtures/storage-life.csv"));
    let asserted: Vec<_> =
        flowers.iter().filter(|flower| !matches!(&flower[0], "ginger" | "delphinium")).collect();
    assert_eq!((flowers.len(), asserted.len()), (20, 18));
    for flower in asserted {
        let care = row(&format!("published: {}", &flower[0])).unwrap();
        assert_eq!(care.source, CareSource::Published);
        // The lower ends are the defaults.
        assert_eq!(Decimal::from(care.storage_celsius), number(&flower[1]), "{flower:?}");
        assert_eq!(Decimal::from(care.holding_days), number(&flower[3]), "{flower:?}");
        assert!(care.words.contains(&flower[4]), "{flower:?}");
    }
    for ambiguous in ["ginger", "delphinium"] {
        assert!(row(&format!("published: {ambiguous}")).is_none());
    }
}
