use iso_currency::Currency;

use super::*;
use crate::ground::formats::DateStyle;
use crate::ground::ids::RecipeId;
use crate::ground::money::Money;
use crate::ground::quantity::LengthUnit;

fn known() -> Known {
    Known {
        recipes: RecipeNames(vec![(RecipeId(7), "Low bowl".into())]),
        rates: vec![
            TaxRate { id: TaxRateId(1), name: "Standard".into(), rate: Share::from_raw(200_000) },
            TaxRate { id: TaxRateId(2), name: "Reduced".into(), rate: Share::from_raw(50_000) },
        ],
        party: Party::default(),
        formats: Formats {
            currency: Currency::EUR,
            length_unit: LengthUnit::Inch,
            date_style: DateStyle::DayMonthYear,
        },
    }
}

fn column(cells: &[&str]) -> Vec<String> {
    cells.iter().map(|cell| (*cell).to_owned()).collect()
}

fn one_piece() -> QuoteForm {
    QuoteForm {
        place: column(&["Long room", ""]),
        recipe: column(&["Low bowl", ""]),
        count: column(&["14", ""]),
        rule: column(&["number", "number"]),
        price: column(&["", ""]),
        discount: column(&["10 %", ""]),
        tax: column(&["2", "1"]),
        ..QuoteForm::default()
    }
}

#[test]
fn a_row_is_a_piece_with_its_terms_and_empty_rows_are_skipped() {
    let new = one_piece().parse(&known()).unwrap();
    assert_eq!(new.pieces.len(), 1);
    let discount = Discount::Share(Share::from_raw(100_000));
    assert_eq!(new.terms, [LineTerms { typed_price: None, discount, tax: TaxRateId(2) }]);
}

#[test]
fn an_amount_and_a_share_are_told_apart() {
    let form = QuoteForm {
        charge: column(&["12 %", "80", "", "0"]),
        charge_tax: column(&["1", "2", "1", "1"]),
        whole_discount: "25,50".into(),
        ..one_piece()
    };
    let new = form.parse(&known()).unwrap();
    assert_eq!(new.discount, Discount::Amount(Money::from_minor(2_550)));
    let rules: Vec<ChargeRule> = new.charges.iter().map(|charge| charge.rule).collect();
    let amount = |minor| ChargeRule::Amount(Money::from_minor(minor));
    assert_eq!(rules, [ChargeRule::Share(Share::from_raw(120_000)), amount(8_000), amount(0)]);
}

#[test]
fn parts_of_the_payment_make_up_the_whole() {
    let parts = |shares: &[&str]| QuoteForm {
        part_label: column(&["One", "Two"]),
        part_share: column(shares),
        part_due: column(&["", "2026-06-01"]),
        ..one_piece()
    };
    assert_eq!(parts(&["33.3333", "66.6667"]).parse(&known()).unwrap().instalments.len(), 2);
    let errors = parts(&["50", "49"]).parse(&known()).unwrap_err();
    assert_eq!(errors.of("parts-1-share"), Some("The parts make up 99 %; together they must be 100 %."));
}

#[test]
fn a_price_of_no_piece_and_an_unknown_tax_rate_are_refused() {
    let form = QuoteForm { price: column(&["", "70"]), tax: column(&["9", "1"]), ..one_piece() };
    let errors = form.parse(&known()).unwrap_err();
    assert!(errors.of("pieces-1-recipe").is_some() && errors.of("pieces-0-tax").is_some(), "{errors:?}");
}

#[test]
fn what_can_be_read_is_drafted_while_the_rest_is_typed() {
    let form = QuoteForm { price: column(&["6x", ""]), whole_discount: "half".into(), ..one_piece() };
    let draft = form.draft(&known());
    assert_eq!((draft.lines.len(), draft.lines[0].made.count, draft.lines[0].typed), (1, Some(14), None));
    assert_eq!(draft.discount, Discount::None);
    assert!(form.parse(&known()).is_err());
}
