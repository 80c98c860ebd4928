//! What a buyer saw before placing: the plan's lines and fees, each as a row of text that travels through the page, and in
//! what the plan differs from them when they come back.
//!
//! May import `ground` and the stage's own order.

use std::collections::{BTreeMap, BTreeSet};

use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::stem_order::order::StemOrder;

/// Parts of a row: which line, its day, packs, price a pack, words for a reader.
const PARTS: usize = 5;

/// Something that was shown otherwise than it is now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Change {
    /// The line or fee.
    pub(super) what: String,
    /// As it was shown.
    pub(super) shown: String,
    /// As it is now.
    pub(super) now: String,
}

/// The rows of a plan, in its order.
pub(super) fn rows(order: &StemOrder, formats: Formats) -> Vec<String> {
    let mut rows = Vec::new();
    for delivery in &order.deliveries {
        let day = formats.weekday(delivery.day);
        for line in &delivery.lines {
            let words =
                format!("{}, {} of {}, {}, {day}", line.name, line.pack_name, line.pack_size, delivery.name);
            rows.push(format!(
                "{}|{}|{}|{}|{words}",
                line.offer,
                delivery.day,
                line.packs,
                line.price.minor()
            ));
        }
        let (supplier, fee) = (delivery.supplier, delivery.fee.minor());
        rows.push(format!("fee {supplier}|{}|1|{fee}|Delivery, {}, {day}", delivery.day, delivery.name));
    }
    rows
}

/// What differs between the rows that were shown and those of the plan now.
pub(super) fn changes(shown: &[String], now: &[String], formats: Formats) -> Vec<Change> {
    let (before, after) = (read(shown), read(now));
    let keys: BTreeSet<&(&str, &str)> = before.keys().chain(after.keys()).collect();
    let changed = keys.into_iter().filter_map(|key| {
        let (old, new) = (before.get(key), after.get(key));
        let same = old.map(|row| (row.packs, row.price)) == new.map(|row| (row.packs, row.price));
        let what = new.or(old).filter(|_| !same)?.words.to_owned();
        Some(Change { what, shown: told(old, key.0, formats), now: told(new, key.0, formats) })
    });
    changed.collect()
}

struct Row<'a> {
    packs: i64,
    price: i64,
    words: &'a str,
}

/// By line and day. What cannot be read was not written by the page and counts as not shown.
fn read(rows: &[String]) -> BTreeMap<(&str, &str), Row<'_>> {
    let mut read = BTreeMap::new();
    for text in rows {
        if let Some((line, day, packs, price, words)) = row(text) {
            read.insert((line, day), Row { packs, price, words });
        }
    }
    read
}

fn row(text: &str) -> Option<(&str, &str, i64, i64, &str)> {
    let parts: Vec<&str> = text.splitn(PARTS, '|').collect();
    let [line, day, packs, price, words] = parts.as_slice() else { return None };
    Some((*line, *day, packs.parse().ok()?, price.parse().ok()?, *words))
}

fn told(row: Option<&Row<'_>>, key: &str, formats: Formats) -> String {
    let Some(row) = row else { return "not in it".into() };
    let price = formats.money(Money::from_minor(row.price));
    if key.starts_with("fee") { price } else { format!("{} at {price}", row.packs) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn rows_of(texts: &[&str]) -> Vec<String> {
        texts.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn packs_prices_and_fees_that_changed_are_told() {
        let formats = Studio::new_book().formats;
        let shown = rows_of(&[
            "1|2026-05-14|10|500|Rose",
            "2|2026-05-14|3|700|Stock",
            "fee 4|2026-05-14|1|0|Delivery",
        ]);
        let now = rows_of(&[
            "1|2026-05-14|12|500|Rose",
            "3|2026-05-14|1|900|Phlox",
            "fee 4|2026-05-14|1|1500|Delivery",
        ]);
        assert_eq!(changes(&shown, &shown, formats), []);
        let told = changes(&shown, &now, formats);
        let told: Vec<_> = told
            .iter()
            .map(|change| (change.what.as_str(), change.shown.as_str(), change.now.as_str()))
            .collect();
        assert_eq!(
            told,
            [
                ("Rose", "10 at €5.00", "12 at €5.00"),
                ("Stock", "3 at €7.00", "not in it"),
                ("Phlox", "not in it", "1 at €9.00"),
                ("Delivery", "€0.00", "€15.00"),
            ]
        );
    }

    #[test]
    fn what_the_page_did_not_write_counts_as_not_shown() {
        let formats = Studio::new_book().formats;
        let now = rows_of(&["1|2026-05-14|12|500|Rose"]);
        let rubbish = rows_of(&["", "|||", "1|2026-05-14|many|500|Rose", "<script>"]);
        assert_eq!(changes(&rubbish, &now, formats).len(), 1);
    }
}
