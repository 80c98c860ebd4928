//! A placed order as a table: a row a line, a row a delivery fee; and as CSV (RFC 4180) with amounts as plain numbers.
//! Texts that a spreadsheet would take for a formula get an apostrophe in front.
//!
//! May import `ground`, the price list's guard, and the room's own types.

use super::{PlacedDelivery, PlacedLine, PlacedOrder};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::price_list::file::escape::guarded;

/// The columns before the two of money.
pub(super) const HEADS: [&str; 13] = [
    "order",
    "placed on",
    "supplier",
    "account",
    "delivery",
    "order by",
    "material",
    "colour, grade",
    "pack",
    "pack size",
    "packs",
    "stems",
    "unit",
];

/// A cell with its type.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Cell {
    /// Words.
    Text(String),
    /// A whole number.
    Count(i64),
    /// A day.
    Day(Day),
    /// An amount.
    Money(Money),
    /// Nothing.
    Empty,
}

/// All column heads; amounts name their currency.
pub(super) fn heads(formats: Formats) -> Vec<String> {
    let code = formats.currency.code();
    let money = [format!("price a pack, {code}"), format!("amount, {code}")];
    HEADS.iter().map(ToString::to_string).chain(money).collect()
}

/// The rows. The last column adds up to what was placed.
pub(super) fn rows(order: &PlacedOrder) -> Vec<Vec<Cell>> {
    let mut rows = Vec::new();
    for delivery in &order.deliveries {
        rows.extend(delivery.lines.iter().map(|line| line_row(order, delivery, line)));
        if !delivery.fee.is_zero() {
            rows.push(fee_row(order, delivery));
        }
    }
    rows
}

fn start(order: &PlacedOrder, delivery: &PlacedDelivery) -> Vec<Cell> {
    vec![
        Cell::Count(order.number),
        Cell::Day(order.placed_on),
        Cell::Text(order.supplier.clone()),
        Cell::Text(order.account.clone()),
        Cell::Day(delivery.day),
        Cell::Text(format!("{} {}", delivery.order_by_day, delivery.order_by_time)),
    ]
}

fn line_row(order: &PlacedOrder, delivery: &PlacedDelivery, line: &PlacedLine) -> Vec<Cell> {
    let mut row = start(order, delivery);
    row.extend([
        Cell::Text(line.name.clone()),
        Cell::Text(line.looks.clone()),
        Cell::Text(line.pack_name.clone()),
        Cell::Count(line.pack_size),
        Cell::Count(line.packs),
        Cell::Count(line.stems()),
        Cell::Text(line.unit.code().to_owned()),
        Cell::Money(line.price),
        Cell::Money(line.goods()),
    ]);
    row
}

fn fee_row(order: &PlacedOrder, delivery: &PlacedDelivery) -> Vec<Cell> {
    let mut row = start(order, delivery);
    row.push(Cell::Text("Delivery fee".into()));
    row.resize(HEADS.len() + 1, Cell::Empty);
    row.push(Cell::Money(delivery.fee));
    row
}

/// The order as CSV.
///
/// # Errors
/// What the CSV writer cannot write, which plain text never makes it say.
pub(super) fn csv(order: &PlacedOrder, formats: Formats) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(heads(formats))?;
    for row in rows(order) {
        writer.write_record(row.iter().map(|cell| text(cell, formats)))?;
    }
    writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

fn text(cell: &Cell, formats: Formats) -> String {
    match cell {
        Cell::Text(text) => guarded(text),
        Cell::Count(count) => count.to_string(),
        Cell::Day(day) => day.to_string(),
        Cell::Money(amount) => formats.money_input(*amount),
        Cell::Empty => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stem_order::placing::PlacedLine;
    use crate::stem_order::samples::{placed_line, placed_order};
    use crate::studio::Studio;

    #[test]
    fn a_row_a_line_and_a_row_a_fee() {
        let order = placed_order(vec![placed_line(10, &[(1, 60)])]);
        let text = String::from_utf8(csv(&order, Studio::new_book().formats).unwrap()).unwrap();
        let rows: Vec<&str> = text.split("\r\n").collect();
        assert_eq!(
            rows[0],
            "order,placed on,supplier,account,delivery,order by,material,\"colour, grade\",pack,pack size,packs,stems,unit,\
             \"price a pack, EUR\",\"amount, EUR\""
        );
        assert_eq!(
            rows[1],
            "12,2026-05-09,Alder Wholesale,A-17,2026-05-14,2026-05-12 11:00,Material 1,,bunch,10,10,100,stem,5.00,50.00"
        );
        assert!(rows[2].ends_with("Delivery fee,,,,,,,,15.00"), "{}", rows[2]);
    }

    #[test]
    fn no_cell_is_a_formula() {
        let line = PlacedLine { name: "=1+2".into(), looks: "@x".into(), ..placed_line(1, &[(1, 1)]) };
        let text =
            String::from_utf8(csv(&placed_order(vec![line]), Studio::new_book().formats).unwrap()).unwrap();
        assert!(text.contains(",'=1+2,'@x,"), "{text}");
    }
}
