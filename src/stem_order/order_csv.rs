//! The order as CSV (RFC 4180), whole or one supplier's: a row a line, a row a delivery fee, amounts as plain numbers.
//! Texts that a spreadsheet would take for a formula get an apostrophe in front.
//!
//! May import `ground`, the price list's guard, and the room's own order.

use super::order::{OrderDelivery, OrderLine, StemOrder};
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::ids::SupplierId;
use crate::ground::money::Money;
use crate::price_list::file::escape::guarded;

const HEADS: [&str; 14] = [
    "supplier",
    "account",
    "delivery",
    "order by",
    "material",
    "colour",
    "grade",
    "pack",
    "pack size",
    "packs",
    "stems",
    "unit",
    "price a pack",
    "amount",
];

/// The order's lines, of one supplier if given. The amounts add up to the order's total.
///
/// # Errors
/// What the CSV writer cannot write, which plain text never makes it say.
pub fn csv(order: &StemOrder, formats: &Formats, only: Option<SupplierId>) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let currency = format!("amount, {}", order.currency);
    let mut heads = HEADS.to_vec();
    heads[13] = &currency;
    writer.write_record(heads)?;
    for delivery in order.deliveries.iter().filter(|delivery| only.is_none_or(|id| id == delivery.supplier)) {
        for line in &delivery.lines {
            writer.write_record(row(delivery, line, *formats))?;
        }
        if !delivery.fee.is_zero() {
            writer.write_record(fee_row(delivery, *formats))?;
        }
    }
    writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

fn head(delivery: &OrderDelivery) -> [String; 4] {
    let by = format!("{} {}", delivery.order_by_day, delivery.order_by_time);
    [guarded(&delivery.name), guarded(&delivery.account), delivery.day.to_string(), by]
}

fn row(delivery: &OrderDelivery, line: &OrderLine, formats: Formats) -> Vec<String> {
    let amount = |amount: Money| formats.money_input(amount);
    let rest = [
        guarded(&line.name),
        guarded(&line.colour),
        guarded(&line.grade),
        guarded(&line.pack_name),
        line.pack_size.to_string(),
        line.packs.to_string(),
        line.stems.to_string(),
        line.unit.code().to_owned(),
        amount(line.price),
        amount(line.goods),
    ];
    head(delivery).into_iter().chain(rest).collect()
}

fn fee_row(delivery: &OrderDelivery, formats: Formats) -> Vec<String> {
    let mut row: Vec<String> = head(delivery).into_iter().collect();
    row.push("Delivery fee".into());
    row.resize(HEADS.len() - 1, String::new());
    row.push(formats.money_input(delivery.fee));
    row
}
