use std::collections::HashMap;

use iso_currency::Currency;

use super::super::names::Named;
use super::*;
use crate::ground::formats::DateStyle;
use crate::ground::quantity::{Length, LengthUnit};

fn formats() -> Formats {
    Formats { currency: Currency::EUR, length_unit: LengthUnit::Centimetre, date_style: DateStyle::Iso }
}

fn names() -> Names {
    let material = |id| Named { material: Some(MaterialId(id)), ..Named::default() };
    let part = Named { part: Some(RecipeId(9)), ..Named::default() };
    let known = [("rose", material(1)), ("stock", material(2)), ("cluster", part)];
    let known = known.into_iter().map(|(name, named)| (name.to_owned(), named)).collect::<HashMap<_, _>>();
    Names { known, all: vec!["Rose".into(), "Stock".into(), "Cluster".into()] }
}

fn form(lines: &[(&str, &str, &str)]) -> RecipeForm {
    let column = |cell: fn(&(&str, &str, &str)) -> String| lines.iter().map(cell).collect::<Vec<_>>();
    RecipeForm {
        name: "Low bowl".into(),
        minutes: "12.5".into(),
        what: column(|line| line.0.into()),
        amount: column(|line| line.1.into()),
        stands_in: column(|line| line.2.into()),
        ..RecipeForm::blank()
    }
}

#[test]
fn lines_are_read_and_empty_ones_skipped() {
    let form = form(&[
        ("Rose", "6.5", "stock; Stock"),
        ("", "", ""),
        ("cluster", "2", ""),
        ("Stock", "3 × 12 cm", ""),
    ]);
    let recipe = form.parse(&formats(), &names()).unwrap();
    let measures: Vec<Measure> = recipe.lines.iter().map(|line| line.measure).collect();
    assert_eq!(
        measures,
        [
            Measure::Count { quantity: Quantity::from_raw(6_500) },
            Measure::Count { quantity: Quantity::whole(2) },
            Measure::Cut { quantity: Quantity::whole(3), length: Length::from_um(120_000) },
        ]
    );
    assert_eq!(recipe.lines[0].substitutes, [MaterialId(2)]);
    assert_eq!(recipe.lines[1].ingredient, Ingredient::Part(RecipeId(9)));
    assert_eq!(form.lines().len(), 4 + SPARE_LINES);
}

#[test]
fn every_message_stands_at_its_cell() {
    let wrong = form(&[
        ("Ros", "6", ""),
        ("Rose", "some", "Rose"),
        ("Cluster", "2 × 3 cm", "Rose"),
        ("", "3", ""),
        ("Stock", "1", "Nobody"),
    ]);
    let errors = wrong.parse(&formats(), &names()).unwrap_err();
    let fields: Vec<&str> = errors.list().iter().map(|(field, _)| field.as_str()).collect();
    assert_eq!(
        fields,
        [
            "lines-0-what",
            "lines-1-amount",
            "lines-1-stands_in",
            "lines-2-amount",
            "lines-2-stands_in",
            "lines-3-what",
            "lines-4-stands_in"
        ]
    );
    let (_, whole) = wrong.draft(&formats(), &names());
    assert!(whole.is_empty());
}

#[test]
fn a_recipe_of_nothing_or_of_too_much_is_refused() {
    let nothing = form(&[]).parse(&formats(), &names()).unwrap_err();
    assert!(nothing.of("lines-0-what").unwrap().contains("at least one line"));
    let many = form(&vec![("Rose", "1", ""); MOST_LINES + 1]).parse(&formats(), &names()).unwrap_err();
    assert!(many.of("lines-0-what").unwrap().contains("at most 100 lines"));
    let mut slow = form(&[("Rose", "1", "")]);
    slow.minutes = "10001".into();
    assert!(slow.parse(&formats(), &names()).is_err());
    slow.minutes = "0".into();
    assert!(slow.parse(&formats(), &names()).is_ok());
}
