//! What a cell of a file means in a form's field, and what a field means in a cell.

use super::super::super::calendar_words::{months, read_months, read_weekdays, weekdays};
use super::super::super::file::columns::Column;
use super::super::super::file::escape::{empties, unguarded};
use super::super::super::{CareSource, HeadClass, MaterialKind, Unit};
use super::super::material::MaterialForm;
use super::super::offer::OfferForm;
use super::super::supplier::SupplierForm;
use crate::ground::caution::Caution;
use crate::ground::choice::Choice;
use crate::ground::dates::{Season, Weekdays};
use crate::ground::formats::{DateStyle, Formats, clipped};

/// A cell's text: its guard taken off; empty where it says `none` and the column may be empty.
pub(super) fn said<'a>(column: &Column, cell: &'a str) -> &'a str {
    if column.clears && empties(cell) { "" } else { unguarded(cell) }
}

/// Puts a cell into a material's form. The preferred supplier is looked up by the caller.
pub(super) fn into_material(form: &mut MaterialForm, column: &Column, cell: &str) -> Result<(), String> {
    let text = said(column, cell);
    match column.field {
        "kind" => form.kind = code_of::<MaterialKind>(text),
        "unit" => form.unit = code_of::<Unit>(text),
        "head_class" => form.head_class = code_of::<HeadClass>(text),
        "care_source" => form.care_source = code_of::<CareSource>(text),
        "loaned" => form.loaned = yes_or_no(text)?,
        "cautions" => form.cautions = cautions(text),
        field => {
            if let Some(slot) = form.slot(field) {
                text.clone_into(slot);
            }
        }
    }
    Ok(())
}

/// Puts a cell into a supplier's form.
pub(super) fn into_supplier(form: &mut SupplierForm, column: &Column, cell: &str) -> Result<(), String> {
    let text = said(column, cell);
    match column.field {
        "weekday" => form.weekday = indices(read_weekdays(text)?.0, 7),
        "cutoff_time" => without_seconds(text).clone_into(&mut form.cutoff_time),
        field => {
            if let Some(slot) = form.slot(field) {
                text.clone_into(slot);
            }
        }
    }
    Ok(())
}

/// Puts a cell into an offer's form.
pub(super) fn into_offer(form: &mut OfferForm, column: &Column, cell: &str) -> Result<(), String> {
    let text = said(column, cell);
    match column.field {
        "month" => form.month = indices(read_months(text)?.0, 12),
        "least_packs" => text.clone_into(&mut form.least_packs),
        "most_packs" => text.clone_into(&mut form.most_packs),
        _ => {}
    }
    Ok(())
}

/// A material's field as a cell; the preferred supplier is named by the caller.
pub(super) fn of_material(form: &mut MaterialForm, field: &str) -> String {
    match field {
        "cautions" => form.cautions.join("; "),
        field => form.slot(field).cloned().unwrap_or_default(),
    }
}

/// A supplier's field as a cell.
pub(super) fn of_supplier(form: &mut SupplierForm, field: &str) -> String {
    match field {
        "weekday" => weekdays(Weekdays(set_of(&form.weekday))),
        field => form.slot(field).cloned().unwrap_or_default(),
    }
}

/// An offer's field as a cell.
pub(super) fn of_offer(form: &OfferForm, field: &str) -> String {
    match field {
        "pack_name" => form.pack_name.clone(),
        "pack_size" => form.pack_size.clone(),
        "least_packs" => form.least_packs.clone(),
        "most_packs" => form.most_packs.clone(),
        _ => months(Season(set_of(&form.month))),
    }
}

/// A day written as year-month-day or, where the studio writes its days so, as day/month/year or month/day/year.
pub(super) fn iso_day(text: &str, formats: Formats) -> String {
    let parts: Vec<&str> = text.split(['/', '.']).map(str::trim).collect();
    let iso = |year: &str, month: &str, day: &str| format!("{year}-{month:0>2}-{day:0>2}");
    match (parts[..].as_ref(), formats.date_style) {
        ([day, month, year], DateStyle::DayMonthYear) if year.len() == 4 => iso(year, month, day),
        ([month, day, year], DateStyle::MonthDayYear) if year.len() == 4 => iso(year, month, day),
        _ => text.to_owned(),
    }
}

fn code_of<T: Choice>(text: &str) -> String {
    let same = |member: &&T| {
        text.eq_ignore_ascii_case(member.code()) || text.to_lowercase() == member.label().to_lowercase()
    };
    T::ALL.iter().find(same).map_or(text, |member| member.code()).to_owned()
}

fn yes_or_no(text: &str) -> Result<String, String> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => Ok("yes".into()),
        "no" | "n" | "false" | "0" => Ok("no".into()),
        _ => Err(format!("\u{201c}{}\u{201d} is neither yes nor no.", clipped(text))),
    }
}

fn cautions(text: &str) -> Vec<String> {
    let canonical = |name: &str| {
        let known = Caution::ALL.into_iter().find(|caution| caution.name().eq_ignore_ascii_case(name));
        known.map_or_else(|| name.to_owned(), |caution| caution.name().to_owned())
    };
    text.split(';').map(str::trim).filter(|name| !name.is_empty()).map(canonical).collect()
}

/// Spreadsheets add seconds to a time of day.
fn without_seconds(text: &str) -> &str {
    if text.matches(':').count() == 2 { text.strip_suffix(":00").unwrap_or(text) } else { text }
}

fn indices(set: i64, count: u32) -> Vec<String> {
    (0..count).filter(|index| (set >> index) & 1 == 1).map(|index| index.to_string()).collect()
}

fn set_of(indices: &[String]) -> i64 {
    indices.iter().filter_map(|index| index.parse::<u32>().ok()).fold(0, |set, index| set | 1 << index)
}
