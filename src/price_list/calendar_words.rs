//! Months and weekdays in words, as pages show them and as files hold them, and read back. Pure.

use crate::ground::dates::{MONTHS_SHORT, Season, WEEKDAYS_SHORT, Weekdays};
use crate::ground::formats::clipped;

/// The months of a season: `all year`, `Mar to Sep`, `Jan, Mar`, `Nov to Feb`.
///
/// ```
/// use trug::ground::dates::Season;
/// use trug::price_list::calendar_words::{months, read_months};
/// assert_eq!(months(Season(0b1100_0000_0011)), "Nov to Feb");
/// assert_eq!(read_months("nov-feb"), Ok(Season(0b1100_0000_0011)));
/// ```
#[must_use]
pub fn months(season: Season) -> String {
    if season == Season::ALL_YEAR {
        return "all year".into();
    }
    spans(season.0, 12)
        .into_iter()
        .map(|(first, last)| match (MONTHS_SHORT[first], MONTHS_SHORT[last]) {
            (one, other) if first == last || one == other => one.to_owned(),
            (one, other) if (first + 1) % 12 == last => format!("{one}, {other}"),
            (one, other) => format!("{one} to {other}"),
        })
        .collect::<Vec<_>>()
        .join(", ")
}

/// The weekdays of a set: `Mon, Wed`, `every day`, `none`.
#[must_use]
pub fn weekdays(set: Weekdays) -> String {
    let days: Vec<&str> =
        (0..7_u8).filter(|i| set.has_index(*i)).map(|i| WEEKDAYS_SHORT[usize::from(i)]).collect();
    match days.len() {
        0 => "none".into(),
        7 => "every day".into(),
        _ => days.join(", "),
    }
}

/// Runs of neighbouring members, round the end of the year; the first run is the first to begin.
fn spans(set: i64, count: usize) -> Vec<(usize, usize)> {
    let has = |index: usize| (set >> (index % count)) & 1 == 1;
    let begins = (0..count).filter(|index| has(*index) && !has(index + count - 1));
    begins
        .map(|first| {
            let length = (1..count).find(|step| !has(first + step)).unwrap_or(count);
            (first, (first + length - 1) % count)
        })
        .collect()
}

/// Reads months: names of three letters and more or numbers, alone or as `Mar to Sep`, `3-9`, in any order; `all year`.
pub fn read_months(text: &str) -> Result<Season, String> {
    if matches!(text.trim().to_lowercase().as_str(), "all year" | "all" | "year") {
        return Ok(Season::ALL_YEAR);
    }
    match read_set(text, &MONTHS_SHORT, 1) {
        Some(set) if set != 0 => Ok(Season(set)),
        _ => Err(format!(
            "\u{201c}{}\u{201d} names no months; write such as \u{201c}Mar to Sep\u{201d}, \u{201c}Jan, Feb\u{201d} or \u{201c}all year\u{201d}.",
            clipped(text)
        )),
    }
}

/// Reads weekdays: names of three letters and more, alone or as `Mon to Fri`; `every day`; `none`.
pub fn read_weekdays(text: &str) -> Result<Weekdays, String> {
    match text.trim().to_lowercase().as_str() {
        "every day" | "daily" => return Ok(Weekdays(0x7f)),
        "none" => return Ok(Weekdays(0)),
        _ => {}
    }
    read_set(text, &WEEKDAYS_SHORT, 1).map(Weekdays).ok_or_else(|| {
        format!(
            "\u{201c}{}\u{201d} names no weekdays; write such as \u{201c}Mon, Wed, Fri\u{201d}, \u{201c}every day\u{201d} or \u{201c}none\u{201d}.",
            clipped(text)
        )
    })
}

/// The set that a list of names, numbers (from `first_number`) and spans describes.
fn read_set(text: &str, names: &[&str], first_number: usize) -> Option<i64> {
    let text = text.to_lowercase().replace(['–', '-'], " to ").replace([',', ';', '/', '+', '.'], " ");
    let mut set = 0_i64;
    let mut previous: Option<usize> = None;
    let mut spanning = false;
    for word in text.split_whitespace() {
        if word == "to" {
            previous?;
            spanning = true;
            continue;
        }
        let index = index_of(word, names, first_number)?;
        if let Some(from) = previous.filter(|_| spanning) {
            let length = (index + names.len() - from) % names.len();
            (0..=length).for_each(|step| set |= 1 << ((from + step) % names.len()));
        }
        set |= 1 << index;
        (previous, spanning) = (Some(index), false);
    }
    Some(set).filter(|_| !spanning)
}

fn index_of(word: &str, names: &[&str], first_number: usize) -> Option<usize> {
    if let Ok(number) = word.parse::<usize>() {
        return number.checked_sub(first_number).filter(|index| *index < names.len());
    }
    let short = word.get(..3)?;
    names.iter().position(|name| name.eq_ignore_ascii_case(short))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn months_are_read_in_many_ways() {
        let spring = Season(0b0001_1100);
        for text in ["Mar to May", "mar-may", "3-5", "March, April, May", "5;4;3", "Mar Apr-May"] {
            assert_eq!(read_months(text), Ok(spring), "{text}");
        }
        assert_eq!(months(spring), "Mar to May");
        assert_eq!(months(Season(0b11)), "Jan, Feb");
    }

    #[test]
    fn what_names_no_month_is_refused() {
        for text in ["", "spring", "0", "13", "Mar to", "to May", "Ma", "ä"] {
            assert!(read_months(text).is_err(), "{text}");
        }
    }

    #[test]
    fn weekdays_may_be_none() {
        assert_eq!(read_weekdays("none"), Ok(Weekdays(0)));
        assert_eq!(read_weekdays("Mon-Fri"), Ok(Weekdays(0b1_1111)));
        assert_eq!(read_weekdays("Sat to Mon"), Ok(Weekdays(0b110_0001)));
        assert!(read_weekdays("someday").is_err());
    }

    proptest! {
        #[test]
        fn every_season_comes_back(set in 1_i64..=4095) {
            prop_assert_eq!(read_months(&months(Season(set))), Ok(Season(set)));
        }

        #[test]
        fn every_set_of_weekdays_comes_back(set in 0_i64..=127) {
            prop_assert_eq!(read_weekdays(&weekdays(Weekdays(set))), Ok(Weekdays(set)));
        }
    }
}
