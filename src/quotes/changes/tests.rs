use super::super::ChargeKind;
use super::super::document::{Addressee, ChargeLine, Discounted, Letterhead, Occasion, PlaceLines, TaxLine};
use super::*;
use crate::ground::ids::PieceId;
use crate::ground::quantity::Share;

pub(in crate::quotes) fn m(minor: i64) -> Money {
    Money::from_minor(minor)
}

pub(in crate::quotes) fn line(piece: Option<i64>, name: &str, count: i64, price: i64) -> DocumentLine {
    DocumentLine {
        piece: piece.map(PieceId),
        name: name.into(),
        words: String::new(),
        count: Some(count),
        price: m(price),
        discount: Discounted::default(),
        amount: Some(m(price * count)),
        tax: None,
        stems: Vec::new(),
        picture: None,
    }
}

pub(in crate::quotes) fn document(lines: Vec<DocumentLine>, delivery: i64) -> Document {
    let sum: Money = lines.iter().filter_map(|line| line.amount).sum();
    Document {
        studio: Letterhead {
            name: "Studio".into(),
            address: String::new(),
            email: String::new(),
            phone: String::new(),
            tax_number: String::new(),
            logo: None,
        },
        client: Addressee { name: "Ada".into(), address: String::new() },
        event: Occasion {
            name: "Supper".into(),
            day: "2026-06-13".parse().unwrap(),
            venue: String::new(),
            venue_address: String::new(),
        },
        priced_on: "2026-05-04".parse().unwrap(),
        valid_until: None,
        words: String::new(),
        terms: String::new(),
        currency: "EUR".into(),
        inclusive: false,
        places: vec![PlaceLines { place: "Long room".into(), lines }],
        lines: sum,
        discount: Discounted::default(),
        charges: vec![ChargeLine { kind: ChargeKind::Delivery, amount: m(delivery), tax: None }],
        before_tax: sum + m(delivery),
        taxes: vec![TaxLine {
            id: None,
            name: "None".into(),
            rate: Share::default(),
            net: sum + m(delivery),
            amount: m(0),
        }],
        total: sum + m(delivery),
        instalments: Vec::new(),
        accept_words: String::new(),
        closing: String::new(),
    }
}

#[test]
fn nothing_changed_is_no_change() {
    let one = document(vec![line(Some(1), "Low bowl", 14, 6_200)], 8_000);
    assert_eq!(changes(&one, &one), []);
}

#[test]
fn pieces_and_money_are_told_and_the_total_last() {
    let before = vec![line(Some(1), "Low bowl", 12, 6_200), line(Some(2), "Arch", 1, 50_000)];
    let after = vec![line(Some(1), "Low bowl", 14, 6_000), line(None, "Hire", 1, 9_000)];
    let (older, newer) = (document(before, 8_000), document(after, 9_000));
    let what = |name: &str| format!("{name}, Long room");
    assert_eq!(
        changes(&older, &newer),
        [
            Change::Count { what: what("Low bowl"), from: Some(12), to: Some(14) },
            Change::Amount { what: "Low bowl, Long room, each".into(), from: m(6_200), to: m(6_000) },
            Change::Added { what: what("Hire"), count: Some(1) },
            Change::Removed { what: what("Arch") },
            Change::Amount { what: "Delivery".into(), from: m(8_000), to: m(9_000) },
            Change::Amount { what: "Total".into(), from: older.total, to: newer.total },
        ]
    );
}

#[test]
fn other_words_and_another_recipe_in_the_same_row_are_told() {
    let older = document(vec![line(Some(1), "Low bowl", 2, 100)], 0);
    let newer = Document {
        terms: "Vessels stay ours.".into(),
        ..document(vec![line(Some(1), "Tall vase", 2, 100)], 0)
    };
    assert_eq!(
        changes(&older, &newer),
        [
            Change::Removed { what: "Low bowl, Long room".into() },
            Change::Added { what: "Tall vase, Long room".into(), count: Some(2) },
            Change::Words { what: "the terms" },
        ]
    );
}
