//! What a cell's number format makes of its number: a share, a day, a time (ECMA-376 part 1, 18.8.30 and 18.8.31). Pure.

use jiff::ToSpan;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::ground::dates::Day;

/// What a number is shown as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Shown {
    /// A number.
    #[default]
    Number,
    /// A hundredfold with a per-cent sign.
    Percent,
    /// A day, or a day with a time of it.
    Day,
    /// A time of day.
    Time,
    /// Hours that may be more than a day's.
    Hours,
}

/// One of the formats that every spreadsheet knows by number.
pub(super) fn known(number: u32) -> Shown {
    match number {
        9 | 10 => Shown::Percent,
        14..=17 | 22 | 27..=31 | 34..=36 | 50..=58 => Shown::Day,
        18..=21 | 32 | 33 | 45 | 47 => Shown::Time,
        46 => Shown::Hours,
        _ => Shown::Number,
    }
}

/// A format by its code, such as `0.0%`, `dd/mm/yyyy`, `[h]:mm`: the first of its sections counts.
pub(super) fn coded(code: &str) -> Shown {
    let (mut day, mut time, mut month_or_minute) = (false, false, false);
    let mut letters = code.chars();
    while let Some(letter) = letters.next() {
        match letter {
            // What stands behind these is a letter to be shown, a width or a filling.
            '\\' | '_' | '*' => {
                letters.next();
            }
            '"' => {
                letters.find(|letter| *letter == '"');
            }
            '[' => {
                let within: String = letters.by_ref().take_while(|letter| *letter != ']').take(200).collect();
                if !within.is_empty()
                    && within.chars().all(|c| matches!(c.to_ascii_lowercase(), 'h' | 'm' | 's'))
                {
                    return Shown::Hours;
                }
            }
            ';' => break,
            '%' => return Shown::Percent,
            'd' | 'D' | 'y' | 'Y' => day = true,
            'h' | 'H' | 's' | 'S' => time = true,
            'm' | 'M' => month_or_minute = true,
            _ => {}
        }
    }
    match (day, time, month_or_minute) {
        (true, ..) | (false, false, true) => Shown::Day,
        (false, true, _) => Shown::Time,
        (false, false, false) => Shown::Number,
    }
}

/// A cell's number as text; none where it cannot be what its format says.
pub(super) fn text(number: Decimal, shown: Shown, since_1904: bool) -> Option<String> {
    let minutes =
        || (number.checked_mul(Decimal::from(1_440))?).round().to_i64().filter(|minutes| *minutes >= 0);
    match shown {
        Shown::Number => Some(plain(number)),
        Shown::Percent => number.checked_mul(Decimal::ONE_HUNDRED).map(plain),
        Shown::Day => day(minutes()? / 1_440, since_1904).map(|day| day.to_string()),
        Shown::Time => minutes().map(|minutes| clock(minutes % 1_440)),
        Shown::Hours => minutes().map(clock),
    }
}

fn plain(number: Decimal) -> String {
    if number.is_zero() { "0".into() } else { number.normalize().to_string() }
}

fn clock(minutes: i64) -> String {
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// The day with a number: counted from 1 January 1900, with a 29 February 1900 that never was, or from 0 on 1 January 1904.
fn day(number: i64, since_1904: bool) -> Option<Day> {
    let first = if since_1904 { "1904-01-01" } else { "1899-12-31" };
    let days = match number {
        _ if since_1904 => number,
        60 | ..1 => return None,
        1..60 => number,
        _ => number - 1,
    };
    if days > 2_958_464 {
        return None;
    }
    first.parse::<Day>().ok()?.0.checked_add(days.days()).ok().map(Day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_says_what_a_number_is() {
        for (code, shown) in [
            ("General", Shown::Number),
            ("#,##0.00\\ \"days\"", Shown::Number),
            ("#,##0.00 [$€-407];[Red]-#,##0.00 [$€-407]", Shown::Number),
            ("0*d_d", Shown::Number),
            ("0.0%", Shown::Percent),
            ("dd/mm/yyyy", Shown::Day),
            ("[$-409]mmm\\-yy;@", Shown::Day),
            ("yyyy-mm-dd hh:mm", Shown::Day),
            ("h:mm AM/PM", Shown::Time),
            ("[h]:mm:ss", Shown::Hours),
            ("[", Shown::Number),
            ("\"", Shown::Number),
        ] {
            assert_eq!(coded(code), shown, "{code}");
        }
        assert_eq!(
            [known(0), known(10), known(14), known(20)],
            [Shown::Number, Shown::Percent, Shown::Day, Shown::Time]
        );
    }

    #[test]
    fn a_number_is_written_as_what_it_is() {
        let number = |text: &str| text.parse::<Decimal>().unwrap();
        let said = |text: &str, shown| super::text(number(text), shown, false);
        assert_eq!(said("12.0", Shown::Number).as_deref(), Some("12"));
        assert_eq!(said("-0.0", Shown::Number).as_deref(), Some("0"));
        assert_eq!(said("0.05", Shown::Percent).as_deref(), Some("5"));
        assert_eq!(said("0.479166666666667", Shown::Time).as_deref(), Some("11:30"));
        assert_eq!(said("1.0625", Shown::Hours).as_deref(), Some("25:30"));
        assert_eq!(said("0.99999", Shown::Time).as_deref(), Some("00:00"));
        assert_eq!(said("-1", Shown::Time), None);
    }

    #[test]
    fn days_are_counted_as_spreadsheets_count_them() {
        let day = |number, since_1904| super::day(number, since_1904).map(|day| day.to_string());
        // ECMA-376 part 1, 18.17.4.1: 1 is 1 January 1900 (in the 1904 system 0 is 1 January 1904), 2,958,465 the last.
        assert_eq!(day(1, false).as_deref(), Some("1900-01-01"));
        assert_eq!(day(59, false).as_deref(), Some("1900-02-28"));
        assert_eq!(day(60, false), None);
        assert_eq!(day(61, false).as_deref(), Some("1900-03-01"));
        assert_eq!(day(2_958_465, false).as_deref(), Some("9999-12-31"));
        assert_eq!(day(2_958_466, false), None);
        assert_eq!(day(0, true).as_deref(), Some("1904-01-01"));
        assert_eq!(day(i64::MAX, true), None);
    }
}
