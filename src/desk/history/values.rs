//! A value of the book as a page says it: amounts, lengths and days in the studio's own style, references by name.

use serde_json::Value;

use super::words::code_words;
use super::{Columns, Names};
use crate::book_files::dictionary::{Meaning, meaning};
use crate::db::schema::{Column, Table};
use crate::ground::caution::Cautions;
use crate::ground::dates::{Day, MONTHS_SHORT, Moment, Season, WEEKDAYS_SHORT, Weekdays};
use crate::ground::money::Money;
use crate::ground::quantity::{Length, Quantity, Share};
use crate::ground::weight::Weight;
use crate::studio::Studio;

/// Longer texts are cut.
const MOST_LETTERS: usize = 280;

/// The value of a column in words; a dash where it holds nothing.
pub(super) fn words(table: &Table, column: &Column, value: &Value, names: &Names, studio: &Studio) -> String {
    match value {
        Value::Null => "–".to_owned(),
        Value::Number(number) => {
            let number = number.as_i64().unwrap_or_default();
            match &column.refers_to {
                Some((parent, _)) => named(parent, number, names),
                None => number_words(meaning(&table.name, &column.name), number, studio),
            }
        }
        Value::String(text) if text.is_empty() => "–".to_owned(),
        Value::String(text) => text_words(meaning(&table.name, &column.name), column, text, studio),
        other => other.to_string(),
    }
}

fn named(parent: &str, id: i64, names: &Names) -> String {
    names.get(&(parent.to_owned(), id)).cloned().unwrap_or_else(|| format!("no. {id}"))
}

fn number_words(meaning: Meaning, number: i64, studio: &Studio) -> String {
    let formats = &studio.formats;
    let set = |names: &[&str], has: &dyn Fn(u8) -> bool| {
        let members: Vec<&str> =
            names.iter().zip(0_u8..).filter(|(_, index)| has(*index)).map(|(name, _)| *name).collect();
        if members.is_empty() { "none".to_owned() } else { members.join(", ") }
    };
    match meaning {
        Meaning::Money => formats.money(Money::from_minor(number)),
        Meaning::Share => formats.share(Share::from_raw(number)),
        Meaning::Thousandths => formats.quantity(Quantity::from_raw(number)),
        Meaning::Length => formats.length(Length::from_um(number)),
        Meaning::Weight => formats.weight(Weight::from_grams(number)),
        Meaning::YesNo => if number == 0 { "no" } else { "yes" }.to_owned(),
        Meaning::Weekdays => set(&WEEKDAYS_SHORT, &|index| Weekdays(number).has_index(index)),
        Meaning::Months if number == Season::ALL_YEAR.0 => "all year".to_owned(),
        Meaning::Months => set(&MONTHS_SHORT, &|index| Season(number).has_index(index)),
        Meaning::Cautions => {
            let cautions: Vec<_> = Cautions(number).list().iter().map(|caution| caution.name()).collect();
            if cautions.is_empty() { "none".to_owned() } else { cautions.join(", ") }
        }
        _ => number.to_string(),
    }
}

fn text_words(meaning: Meaning, column: &Column, text: &str, studio: &Studio) -> String {
    let formats = &studio.formats;
    match meaning {
        Meaning::Day => text.parse::<Day>().map_or_else(|_| text.to_owned(), |day| formats.weekday(day)),
        Meaning::Moment => text
            .parse::<Moment>()
            .map_or_else(|_| text.to_owned(), |moment| formats.moment(moment, &studio.zone)),
        _ if is_code(&column.name) => code_words(text),
        _ if text.chars().count() > MOST_LETTERS => text.chars().take(MOST_LETTERS).chain(['…']).collect(),
        _ => text.to_owned(),
    }
}

/// Columns whose texts are codes of closed lists.
fn is_code(column: &str) -> bool {
    matches!(
        column,
        "kind"
            | "rule"
            | "unit"
            | "category"
            | "measure"
            | "due"
            | "ending"
            | "paper"
            | "head_class"
            | "care_source"
            | "task"
    ) || column.ends_with("_rule")
        || column.ends_with("_kind")
        || column.ends_with("_unit")
        || column.ends_with("_style")
        || column.ends_with("_direction")
}

/// The rows of other tables that a row names.
pub(super) fn references(table: &Table, row: &Columns) -> Vec<(String, i64)> {
    let reference = |column: &Column| {
        let (parent, _) = column.refers_to.as_ref()?;
        Some((parent.clone(), row.get(&column.name)?.as_i64()?))
    };
    table.columns.iter().filter_map(reference).collect()
}
