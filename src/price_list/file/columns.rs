//! The columns of a price list's file: their headings and what stands in them. Any order, any choice of them.

/// Of what a column tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Subject {
    /// The material.
    Material,
    /// The supplier.
    Supplier,
    /// The pack.
    Offer,
    /// The price.
    Price,
}

/// One column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Of what it tells.
    pub of: Subject,
    /// The field of that form.
    pub field: &'static str,
    /// Its heading.
    pub header: &'static str,
    /// What stands in it.
    pub words: &'static str,
    /// Whether `none` empties it.
    pub clears: bool,
}

const fn must(of: Subject, field: &'static str, header: &'static str, words: &'static str) -> Column {
    Column { of, field, header, words, clears: false }
}

const fn may(of: Subject, field: &'static str, header: &'static str, words: &'static str) -> Column {
    Column { of, field, header, words, clears: true }
}

use Subject::{Material, Offer, Price, Supplier};

/// Every column, in the order in which a file is written.
pub const COLUMNS: [Column; 45] = [
    must(Material, "name", "material", "its name in the list"),
    must(
        Material,
        "kind",
        "kind",
        "flower, foliage, vessel, stand, candle, mechanics or sundry; a new material needs it",
    ),
    may(Material, "colour", "colour", "in words"),
    may(Material, "grade", "grade", "in words"),
    must(Material, "unit", "counted by", "stem, each or roll"),
    must(Supplier, "name", "supplier", "its name"),
    must(Offer, "pack_name", "pack", "bunch, box, roll"),
    must(Offer, "pack_size", "in a pack", "how many stems, pieces or rolls"),
    must(Price, "price", "price", "of a pack, with decimal point or comma"),
    must(Price, "from_day", "from", "the price's first day; empty is today"),
    may(Price, "until_day", "until", "the price's last day"),
    must(Offer, "least_packs", "least packs", "if any are bought"),
    may(Offer, "most_packs", "most packs", "a delivery"),
    must(Offer, "month", "months", "such as Mar to Sep, or all year"),
    may(Material, "loss", "usual loss", "in per cent"),
    may(Material, "head_class", "head", "small, medium or large"),
    may(Material, "usable_length", "usable length", "in the studio's unit, or with mm, cm, m, in behind it"),
    may(Material, "preferred_supplier", "bought from", "the preferred supplier's name"),
    may(Material, "inner_height", "inner height", "a vessel's"),
    may(Material, "inner_diameter", "inner diameter", "a vessel's"),
    must(Material, "loaned", "comes back", "yes or no"),
    may(Material, "owned", "owned", "how many the studio has to lend"),
    may(Material, "loan_fee", "loan fee", "for each"),
    must(Material, "spare_per", "one spare for each", "started so many; 0 for none"),
    may(Material, "conditioning_minutes", "conditioning minutes", "a pack"),
    may(Material, "hydrate_hours", "hours in water", "before use"),
    may(Material, "opening_days", "days to open", "bought in bud"),
    may(Material, "holding_days", "days in storage", "after arrival"),
    may(Material, "storage_celsius", "storage °C", "whole degrees"),
    may(Material, "vase_days", "days in a vase", "at 20 °C"),
    may(Material, "cut_keeps_hours", "hours once cut", "in pieces"),
    must(Material, "care_source", "care from", "own, published or memory"),
    may(Material, "cautions", "cautions", "names, with a semicolon between"),
    may(Material, "note", "note", "several lines may stand in one cell"),
    may(Supplier, "contact", "contact", "whom to ask for"),
    may(Supplier, "email", "email", ""),
    may(Supplier, "phone", "phone", ""),
    may(Supplier, "account", "account", "the studio's there"),
    must(Supplier, "weekday", "delivers on", "such as Mon, Thu; every day; none"),
    must(Supplier, "cutoff_days", "cut-off days", "before the delivery"),
    must(Supplier, "cutoff_time", "cut-off time", "such as 11:00"),
    may(Supplier, "delivery_fee", "delivery fee", ""),
    may(Supplier, "fee_waived_over", "fee waived over", "goods of at least so much"),
    may(Supplier, "least_order", "least order", ""),
    may(Supplier, "note", "supplier note", ""),
];

/// The column with a heading; capitals, spaces and signs in it do not count.
///
/// ```
/// use trug::price_list::file::columns::headed;
/// assert_eq!(headed("IN_A_PACK"), Some(7));
/// assert!(headed("basket").is_none());
/// ```
#[must_use]
pub fn headed(heading: &str) -> Option<usize> {
    let heading = folded(heading);
    COLUMNS.iter().position(|column| folded(column.header) == heading)
}

fn folded(heading: &str) -> String {
    heading.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// The place of a column in [`COLUMNS`].
#[must_use]
pub fn place(of: Subject, field: &str) -> Option<usize> {
    COLUMNS.iter().position(|column| column.of == of && column.field == field)
}

/// The heading of a form's field.
#[must_use]
pub fn header(of: Subject, field: &str) -> &'static str {
    place(of, field).map_or("", |place| COLUMNS[place].header)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_heading_finds_its_own_column() {
        for (place, column) in COLUMNS.iter().enumerate() {
            assert_eq!(headed(column.header), Some(place), "{}", column.header);
            assert_eq!(super::place(column.of, column.field), Some(place), "{}", column.header);
        }
    }
}
