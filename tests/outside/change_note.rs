//! The rows of a change note against the printed totals of published invoices (`fixtures/invoices.json`, source in the
//! file): of each two of them, one taken as agreed and the other as what is now, the rows must add up to the difference of
//! the printed totals.

use rust_decimal::Decimal;
use serde_json::Value;
use trug::ground::ids::QuoteVersionId;
use trug::ground::money::Money;
use trug::ground::quantity::Share;
use trug::quotes::change_note::change_note;
use trug::quotes::document::{
    Addressee, ChargeLine, Discounted, Document, DocumentLine, Frozen, Letterhead, Occasion, PlaceLines,
    TaxLine,
};
use trug::quotes::{Acceptance, ChargeKind, Version};

fn number(of: &Value) -> Decimal {
    of.as_str().filter(|text| !text.is_empty()).map(|text| text.parse().unwrap()).unwrap_or_default()
}

fn minor(of: &Value) -> Money {
    Money::rounded(number(of) * Decimal::ONE_HUNDRED)
}

fn line((place, line): (usize, &Value)) -> DocumentLine {
    DocumentLine {
        piece: None,
        name: format!("Line {place}"),
        words: String::new(),
        count: Some(1),
        price: minor(&line["net"]),
        discount: Discounted::default(),
        amount: Some(minor(&line["net"])),
        tax: None,
        stems: Vec::new(),
        picture: None,
    }
}

fn tax(of: &Value) -> TaxLine {
    let rate = i64::try_from(number(&of["rate"]) * Decimal::from(10_000)).unwrap();
    TaxLine {
        id: None,
        name: of["tax"].as_str().unwrap().to_owned(),
        rate: Share::from_raw(rate),
        net: minor(&of["base"]),
        amount: minor(&of["amount"]),
    }
}

/// An invoice with its printed figures, none of them reckoned here.
fn printed(invoice: &Value) -> Document {
    let list = |name: &str| invoice[name].as_array().unwrap().clone();
    let totals = &invoice["totals"];
    Document {
        studio: Letterhead {
            name: String::new(),
            address: String::new(),
            email: String::new(),
            phone: String::new(),
            tax_number: String::new(),
            logo: None,
        },
        client: Addressee { name: String::new(), address: String::new() },
        event: Occasion {
            name: String::new(),
            day: "2026-06-13".parse().unwrap(),
            venue: String::new(),
            venue_address: String::new(),
        },
        priced_on: "2026-05-04".parse().unwrap(),
        valid_until: None,
        words: String::new(),
        terms: String::new(),
        accept_words: String::new(),
        closing: String::new(),
        currency: "EUR".into(),
        inclusive: false,
        places: vec![PlaceLines {
            place: String::new(),
            lines: list("lines").iter().enumerate().map(line).collect(),
        }],
        lines: minor(&totals["LineExtensionAmount"]),
        discount: Discounted { share: None, amount: minor(&totals["AllowanceTotalAmount"]) },
        charges: vec![ChargeLine {
            kind: ChargeKind::Service,
            amount: minor(&totals["ChargeTotalAmount"]),
            tax: None,
        }],
        before_tax: minor(&totals["TaxExclusiveAmount"]),
        taxes: list("tax_subtotals").iter().map(tax).collect(),
        total: minor(&totals["TaxInclusiveAmount"]),
        instalments: Vec::new(),
    }
}

#[test]
fn the_rows_add_up_to_the_difference_of_the_printed_totals() {
    let file: Value = serde_json::from_str(include_str!("../fixtures/invoices.json")).unwrap();
    let documents: Vec<Document> = file["invoices"].as_array().unwrap().iter().map(printed).collect();
    let on = "2026-05-03".parse().unwrap();
    let acceptance = Acceptance { on, by: "Ada".into(), how: String::new() };
    let mut checked = 0;
    for before in &documents {
        let agreed = Version {
            id: QuoteVersionId(1),
            number: 1,
            sent_on: on,
            sent_to: String::new(),
            frozen: Frozen { document: before.clone(), cost: Money::ZERO, asked: Money::ZERO, change: None },
            acceptance: None,
            decline: None,
        };
        for after in &documents {
            let note = change_note(1, (&agreed, &acceptance), after, &[]);
            let lines: Money = note.lines.iter().map(|line| line.amounts().difference()).sum();
            let sums: Money = note.sums.iter().map(|sum| sum.both.difference()).sum();
            assert_eq!(lines + sums, after.total - before.total);
            checked += 1;
        }
    }
    assert_eq!(checked, 14 * 14);
}
