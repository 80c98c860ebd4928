//! How cold and how long cut flowers and greens keep in storage, as defaults that the studio may change. Pure.
//!
//! - `care_table/published.csv`: Table 19.2 of *Crop Post-Harvest: Science and Technology*, adapted from Wills et al.
//!   (1998); published, read in a reproduction. Ginger and delphinium, whose columns are ambiguous in print, are left out.
//! - `care_table/from_memory.csv`: after USDA Agriculture Handbook 66 (1986); recalled, not read. Whoever takes a figure
//!   from it is asked to check it.
//!
//! Where the table has a range, its lower end is the default: the shortest life, and of the temperatures the lowest whole
//! degree that is still within the range. An estimate to plan by, never a promise.

use std::sync::LazyLock;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::CareSource;

/// One flower or green.
#[derive(Debug, Clone)]
pub struct CareRow {
    /// Its name in the table.
    pub item: String,
    /// Which table.
    pub source: CareSource,
    /// The default temperature of storage, in whole degrees Celsius.
    pub storage_celsius: i64,
    /// The default days of storage.
    pub holding_days: i64,
    /// What the table says, in words: `0-4 °C, 4-14 days`.
    pub words: String,
}

impl CareRow {
    /// What a form names it by.
    #[must_use]
    pub fn code(&self) -> String {
        use crate::ground::choice::Choice;
        format!("{}: {}", self.source.code(), self.item)
    }
}

/// All rows, the published ones first.
#[must_use]
pub fn rows() -> &'static [CareRow] {
    static ROWS: LazyLock<Vec<CareRow>> = LazyLock::new(|| {
        let published = table(include_str!("care_table/published.csv"), CareSource::Published);
        let recalled = table(include_str!("care_table/from_memory.csv"), CareSource::Memory);
        published.chain(recalled).collect()
    });
    &ROWS
}

/// The row a form names.
#[must_use]
pub fn row(code: &str) -> Option<&'static CareRow> {
    rows().iter().find(|row| row.code() == code)
}

/// The row that a material's name speaks of, a published one before a recalled one, the longer name before the shorter.
///
/// ```
/// use trug::price_list::care_table::row_for;
/// assert_eq!(row_for("Rose, garden, ivory").map(|row| row.item.as_str()), Some("rose"));
/// assert_eq!(row_for("Sweet pea, mixed").map(|row| row.item.as_str()), Some("Sweet pea"));
/// assert!(row_for("Primrose").is_none());
/// ```
#[must_use]
pub fn row_for(name: &str) -> Option<&'static CareRow> {
    let name = words_of(name);
    let fits = |row: &&CareRow| {
        let item = row.item.split([',', '(']).next().unwrap_or_default();
        let item = words_of(item);
        !item.is_empty() && name.windows(item.len()).any(|words| words == item)
    };
    rows().iter().filter(fits).min_by_key(|row| {
        let recalled = row.source == CareSource::Memory;
        (recalled, std::cmp::Reverse(row.item.split_whitespace().count()))
    })
}

fn words_of(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(|word| word.to_lowercase().trim_end_matches('s').to_owned()).collect()
}

fn table(text: &'static str, source: CareSource) -> impl Iterator<Item = CareRow> {
    let records = csv::Reader::from_reader(text.as_bytes()).into_records();
    records.filter_map(Result::ok).filter_map(move |record| {
        let (celsius, life) = (&record[1], &record[2]);
        let (storage_celsius, holding_days) = (lowest_degree(celsius)?, shortest_life(life)?);
        let life = if life.contains(' ') { life.to_owned() } else { format!("{life} d") };
        let words = format!("{celsius} °C, {life}");
        Some(CareRow { item: record[0].to_owned(), source, storage_celsius, holding_days, words })
    })
}

/// The lowest whole degree of a range such as `0-4`, `-0.5-0` or `13`.
fn lowest_degree(range: &str) -> Option<i64> {
    let (low, high) = ends(range)?;
    let degree = low.ceil();
    if degree > high { None } else { degree.to_i64() }
}

/// The shortest life in days, of a range such as `4-14`, `2-3 wk` (weeks of 7 days) or `1-2 mo` (months of 30).
fn shortest_life(life: &str) -> Option<i64> {
    let (range, unit) = life.split_once(' ').unwrap_or((life, "d"));
    let days = match unit {
        "d" => 1,
        "wk" => 7,
        "mo" => 30,
        _ => return None,
    };
    Some(ends(range)?.0.floor().to_i64()? * days)
}

fn ends(range: &str) -> Option<(Decimal, Decimal)> {
    let dash = range.get(1..)?.find('-').map(|at| at + 1);
    let (low, high) = dash.map_or((range, range), |at| (&range[..at], &range[at + 1..]));
    Some((low.parse().ok()?, high.parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_row_is_lost_and_all_fit_the_book() {
        let count = |source| rows().iter().filter(|row| row.source == source).count();
        assert_eq!((count(CareSource::Published), count(CareSource::Memory)), (18, 88));
        for row in rows() {
            assert!((-1..=16).contains(&row.storage_celsius), "{row:?}");
            assert!((1..=60).contains(&row.holding_days), "{row:?}");
            assert_eq!(super::row(&row.code()).map(|row| &row.words), Some(&row.words));
        }
    }

    #[test]
    fn the_lower_end_is_the_default_within_the_range() {
        assert_eq!(lowest_degree("-0.5-0"), Some(0));
        assert_eq!(lowest_degree("0.5-2"), Some(1));
        assert_eq!(lowest_degree("12-16"), Some(12));
        assert_eq!(lowest_degree("13"), Some(13));
        assert_eq!(shortest_life("2-3 wk"), Some(14));
        assert_eq!(shortest_life("1-2 mo"), Some(30));
        assert_eq!(shortest_life("3-42"), Some(3));
        assert_eq!(shortest_life("2 years"), None);
    }

    #[test]
    fn a_published_row_comes_before_a_recalled_one() {
        assert_eq!(row_for("Tulips").map(|row| row.source), Some(CareSource::Published));
        assert_eq!(row_for("Delphinium").map(|row| row.source), Some(CareSource::Memory));
        assert!(row_for("Glass bowl").is_none());
        assert!(row_for("").is_none());
    }
}
