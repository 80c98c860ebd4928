//! Quotes to draw up invoices from, for the tests of several files and for those against the outside, which take this file in
//! by its path.

use proptest::prelude::*;

use crate::accounts::document::{Bank, Document as Invoice, Figures, Kind, Party};
use crate::ground::dates::Day;
use crate::ground::formats::{DateStyle, Formats};
use crate::ground::ids::TaxRateId;
use crate::ground::money::Money;
use crate::ground::quantity::{LengthUnit, Share};
use crate::quotes::ChargeKind;
use crate::quotes::document::{
    Addressee, ChargeLine, Discounted, Document, DocumentLine, Letterhead, Occasion, PlaceLines, TaxLine,
};
use crate::quotes::tax::Tax;
use crate::quotes::totals::{Charge, ChargeRule, Discount, Line, Terms, reckon};
use crate::studio::TaxRate;

pub(crate) fn rates() -> [TaxRate; 5] {
    let rate =
        |id, name: &str, rate| TaxRate { id: TaxRateId(id), name: name.into(), rate: Share::from_raw(rate) };
    [
        rate(1, "Standard", 200_000),
        rate(2, "Reduced", 55_000),
        rate(3, "Local", 88_750),
        rate(4, "None", 0),
        rate(5, "Exempt", 0),
    ]
}

/// 14 × 86.00 and 6 × 14.50, 5 % off, delivery 180.00, all at 20 %.
pub(crate) fn quote(inclusive: bool) -> Document {
    of(
        &[(14, 8_600, 0, 0), (6, 1_450, 0, 0)],
        Discount::Share(Share::from_raw(50_000)),
        &[(18_000, 0)],
        inclusive,
    )
}

/// The same with the second line at 5.5 %.
pub(crate) fn quote_of_two_rates(inclusive: bool) -> Document {
    of(
        &[(14, 8_600, 0, 0), (6, 1_450, 0, 1)],
        Discount::Share(Share::from_raw(50_000)),
        &[(18_000, 0)],
        inclusive,
    )
}

/// Any quote with one to five rates, line discounts, a discount on the whole and charges.
pub(crate) fn any_quote() -> impl Strategy<Value = Document> {
    let line = (1_i64..400, 0_i64..300_000, 0_i64..2_000, 0_usize..5);
    let discount = prop_oneof![
        Just(Discount::None),
        (1_i64..1_000_001).prop_map(|raw| Discount::Share(Share::from_raw(raw))),
        (1_i64..500_000).prop_map(|minor| Discount::Amount(Money::from_minor(minor))),
    ];
    let charge = (0_i64..80_000, 0_usize..5);
    (proptest::collection::vec(line, 1..9), discount, proptest::collection::vec(charge, 0..4), any::<bool>())
        .prop_map(|(lines, discount, charges, inclusive)| of(&lines, discount, &charges, inclusive))
}

/// Count, price, discount and rate of each line; amount and rate of each charge.
fn of(
    lines: &[(i64, i64, i64, usize)],
    discount: Discount,
    charges: &[(i64, usize)],
    inclusive: bool,
) -> Document {
    let m = Money::from_minor;
    let rates = rates();
    let tax = |rate: usize| Tax { id: rates[rate].id, rate: rates[rate].rate };
    let line = |(count, price, off, rate): &(i64, i64, i64, usize)| Line {
        count: (*count).into(),
        price: m(*price),
        discount: Discount::Amount(m(*off)),
        tax: tax(*rate),
    };
    let charge =
        |(amount, rate): &(i64, usize)| Charge { rule: ChargeRule::Amount(m(*amount)), tax: tax(*rate) };
    let totals = reckon(&Terms {
        lines: lines.iter().map(line).collect(),
        discount,
        charges: charges.iter().map(charge).collect(),
        inclusive,
    });
    let shown = lines.iter().zip(&totals.lines).map(|((count, price, _, rate), total)| DocumentLine {
        piece: None,
        name: "Low bowl".into(),
        words: "White & green".into(),
        count: Some(*count),
        price: m(*price),
        discount: Discounted { share: None, amount: total.discount },
        amount: Some(total.net()),
        tax: Some(rates[*rate].id),
        stems: Vec::new(),
        picture: None,
    });
    let kinds = [ChargeKind::Delivery, ChargeKind::SetUp, ChargeKind::Strike, ChargeKind::Service];
    let beside = charges.iter().zip(kinds).map(|((amount, rate), kind)| ChargeLine {
        kind,
        amount: m(*amount),
        tax: Some(rates[*rate].id),
    });
    let taxes = totals.sums.taxes.iter().map(|subtotal| {
        let rate = rates.iter().find(|rate| rate.id == subtotal.tax.id).unwrap();
        TaxLine {
            id: Some(rate.id),
            name: rate.name.clone(),
            rate: rate.rate,
            net: subtotal.net,
            amount: subtotal.amount,
        }
    });
    Document {
        places: vec![PlaceLines { place: "Long room".into(), lines: shown.collect() }],
        lines: totals.sums.lines,
        discount: Discounted { share: None, amount: totals.sums.allowances },
        charges: beside.collect(),
        before_tax: totals.sums.before_tax,
        taxes: taxes.collect(),
        total: totals.sums.total,
        ..blank(inclusive)
    }
}

fn blank(inclusive: bool) -> Document {
    let day = "2026-03-01".parse().unwrap();
    Document {
        studio: Letterhead {
            name: "Studio".into(),
            address: "1 Yard\nTown".into(),
            email: "studio@example.org".into(),
            phone: String::new(),
            tax_number: "GB123456789".into(),
            logo: None,
        },
        client: Addressee { name: "Ada North".into(), address: "2 Lane\nTown".into() },
        event: Occasion { name: "Supper".into(), day, venue: "Hall".into(), venue_address: String::new() },
        priced_on: day,
        valid_until: None,
        words: String::new(),
        terms: String::new(),
        currency: "EUR".into(),
        inclusive,
        places: Vec::new(),
        lines: Money::ZERO,
        discount: Discounted::default(),
        charges: Vec::new(),
        before_tax: Money::ZERO,
        taxes: Vec::new(),
        total: Money::ZERO,
        instalments: Vec::new(),
        accept_words: String::new(),
        closing: String::new(),
    }
}

/// A final invoice with some figures.
pub(crate) fn document(figures: Figures) -> Invoice {
    let day: Day = "2026-03-01".parse().unwrap();
    let party = |name: &str, number: &str| Party {
        name: name.into(),
        address: "1 Yard\nTown".into(),
        country: "IE".into(),
        email: "post@example.org".into(),
        tax_number: number.into(),
        ..Party::default()
    };
    Invoice {
        kind: Kind::Final,
        number: "7".into(),
        issued_on: day,
        due_on: day.plus(14),
        currency: "EUR".into(),
        seller: party("Studio", "IE1234567A"),
        buyer: party("Ada North", ""),
        event: None,
        about: "All of it".into(),
        credits: None,
        words: String::new(),
        bank: Bank::default(),
        figures,
        whole: None,
        logo: None,
    }
}

pub(crate) fn formats() -> Formats {
    Formats {
        currency: iso_currency::Currency::EUR,
        length_unit: LengthUnit::Centimetre,
        date_style: DateStyle::Iso,
    }
}
