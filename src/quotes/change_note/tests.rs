use proptest::prelude::*;

use super::super::changes::tests::{document, line, m};
use super::super::document::{ChargeLine, Discounted, Frozen, PlaceLines};
use super::*;
use crate::ground::ids::TaxRateId;
use crate::quotes::tax::Tax;
use crate::quotes::totals::{Charge, ChargeRule, Discount, Line, Terms, reckon};

fn version(document: Document) -> Version {
    Version {
        id: QuoteVersionId(4),
        number: 2,
        sent_on: "2026-05-01".parse().unwrap(),
        sent_to: String::new(),
        frozen: Frozen { document, cost: m(0), asked: m(0), change: None },
        acceptance: None,
        decline: None,
    }
}

fn note(before: Document, after: &Document) -> ChangeNote {
    let on = "2026-05-03".parse().unwrap();
    let acceptance = Acceptance { on, by: "Ada North".into(), how: String::new() };
    change_note(1, (&version(before), &acceptance), after, &[])
}

/// A quote of these lines (piece, count, price) with a discount on the whole, delivery and tax at 20 %.
fn reckoned(lines: &[(i64, i64, i64)], off: i64, delivery: i64, inclusive: bool) -> Document {
    let tax = Tax { id: TaxRateId(1), rate: Share::from_raw(200_000) };
    let asked = |(_, count, price): &(i64, i64, i64)| Line {
        count: (*count).into(),
        price: m(*price),
        discount: Discount::None,
        tax,
    };
    let totals = reckon(&Terms {
        lines: lines.iter().map(asked).collect(),
        discount: Discount::Amount(m(off)),
        charges: vec![Charge { rule: ChargeRule::Amount(m(delivery)), tax }],
        inclusive,
    });
    let read = |(piece, count, price): &(i64, i64, i64)| line(Some(*piece), "Bowl", *count, *price);
    let tax_line = |subtotal: &crate::quotes::tax::TaxSubtotal| TaxLine {
        id: None,
        name: "Standard".into(),
        rate: subtotal.tax.rate,
        net: subtotal.net,
        amount: subtotal.amount,
    };
    Document {
        inclusive,
        places: vec![PlaceLines { place: "Hall".into(), lines: lines.iter().map(read).collect() }],
        lines: totals.sums.lines,
        discount: Discounted { share: None, amount: totals.sums.allowances },
        charges: vec![ChargeLine { kind: ChargeKind::Delivery, amount: m(delivery), tax: None }],
        before_tax: totals.sums.before_tax,
        taxes: totals.sums.taxes.iter().map(tax_line).collect(),
        total: totals.sums.total,
        ..document(Vec::new(), 0)
    }
}

#[test]
fn a_worked_example() {
    // Agreed: 14 bowls at 62.00 and an arch at 500.00, delivery 80.00, 20 %: 1,448.00 and 289.60 of tax.
    // Now: 16 bowls at 60.00, no arch, a second kind of bowl, 6 at 45.00, delivery 80.00.
    let before = reckoned(&[(1, 14, 6_200), (2, 1, 50_000)], 0, 8_000, false);
    let after = reckoned(&[(1, 16, 6_000), (3, 6, 4_500)], 0, 8_000, false);
    let note = note(before, &after);
    let amounts: Vec<(i64, i64)> =
        note.lines.iter().map(|line| (line.amounts().before.minor(), line.amounts().after.minor())).collect();
    assert_eq!(amounts, [(86_800, 96_000), (0, 27_000), (50_000, 0)]);
    let differences: Vec<i64> = note.sums.iter().map(|sum| sum.both.difference().minor()).collect();
    // Delivery stays; tax falls with the lines by 20 % of 138.00.
    assert_eq!(differences, [0, -2_760]);
    assert_eq!(
        (note.total.before, note.total.after, note.total.difference()),
        (m(173_760), m(157_200), m(-16_560))
    );
    assert_eq!((note.agreed.number, note.agreed.by.as_str()), (2, "Ada North"));
}

#[test]
fn nothing_changed_is_an_empty_note() {
    let one = reckoned(&[(1, 14, 6_200)], 100, 8_000, false);
    let held = Document { valid_until: "2026-06-01".parse().ok(), ..one.clone() };
    assert!(note(one.clone(), &held).is_empty());
    let words = Document { terms: "Vessels stay ours.".into(), ..one.clone() };
    let note = note(one, &words);
    assert!(!note.is_empty() && note.total.difference().is_zero());
    assert_eq!(note.other, ["the terms"]);
}

#[test]
fn two_own_lines_of_one_name_are_two_lines() {
    let before = document(vec![line(None, "Hire", 1, 9_000), line(None, "Hire", 2, 9_000)], 0);
    let after = document(vec![line(None, "Hire", 1, 9_000), line(None, "Hire", 3, 9_000)], 0);
    let note = note(before, &after);
    assert_eq!((note.lines.len(), note.kept_lines, note.kept), (1, 1, m(9_000)));
}

#[test]
fn a_moved_part_of_the_payment_is_said() {
    let part = |day: &str| InstalmentLine {
        label: "Rest".into(),
        share: Share::from_raw(1_000_000),
        due_on: day.parse().ok(),
        amount: m(9_000),
    };
    let before =
        Document { instalments: vec![part("2026-06-01")], ..document(vec![line(None, "Hire", 1, 9_000)], 0) };
    let after = Document { instalments: vec![part("2026-06-08")], ..before.clone() };
    assert_eq!(note(before, &after).other, ["the day on which a part of the payment is due"]);
}

fn lines() -> impl Strategy<Value = Vec<(i64, i64, i64)>> {
    prop::collection::vec((1_i64..6, 1_i64..50, 0_i64..100_000), 0..6).prop_map(|mut lines| {
        lines.sort_unstable();
        lines.dedup_by_key(|line| line.0);
        lines
    })
}

proptest! {
    /// The rows add up to the difference in the total, whatever changes, also where prices come to include tax.
    #[test]
    fn the_rows_add_up(
        (before, after) in (lines(), lines()),
        off in (0_i64..100_000, 0_i64..100_000),
        delivery in (0_i64..50_000, 0_i64..50_000),
        inclusive in (any::<bool>(), any::<bool>()),
    ) {
        let before = reckoned(&before, off.0, delivery.0, inclusive.0);
        let after = reckoned(&after, off.1, delivery.1, inclusive.1);
        let total = after.total - before.total;
        let note = note(before, &after);
        let lines: Money = note.lines.iter().map(|line| line.amounts().difference()).sum();
        let sums: Money = note.sums.iter().map(|sum| sum.both.difference()).sum();
        prop_assert_eq!(lines, note.all_lines.difference());
        prop_assert_eq!(lines + sums, total);
        let now: Money = note.lines.iter().map(|line| line.amounts().after).sum();
        prop_assert_eq!(now + note.kept, note.all_lines.after);
    }
}
