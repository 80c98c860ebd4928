//! How much of an ingredient a line calls for, as one writes it: `6.5`, `12 × 5.5 in`, `2 turns round 5 in + 12 in ends`,
//! `1 per 20`, `1 per event`. What is read is written back in the same form. May import: `ground`, `recipes`.

use super::Measure;
use crate::ground::choice::Choice;
use crate::ground::formats::{Formats, clipped};
use crate::ground::quantity::{Length, LengthUnit, Quantity};

/// Most pieces that one of something may serve.
const MOST_PER: i64 = 100_000;

/// Reads an amount. Lengths without a unit are in the studio's.
///
/// | written | means |
/// |---|---|
/// | `6.5` | so many stems, pieces or parts |
/// | `12 × 5.5 in` | so many cut pieces of a length; `x` and `*` serve as well |
/// | `2 turns round 5 in + 12 in ends` | one length wound so often round a diameter; the ends may be left out |
/// | `3 × 2 turns round 5 in` | three such lengths |
/// | `1 per 20` | one for each started 20 pieces |
/// | `1 per event` | one an event |
///
/// # Errors
/// A sentence that says what was not understood and how it is written.
pub fn read(text: &str, formats: &Formats) -> Result<Measure, String> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    if text.is_empty() {
        return Err(format!("Write how much, such as {}.", examples(*formats)));
    }
    if let Some((before, round)) = text.split_once("turn") {
        return wound(before, round, *formats);
    }
    if let Some((quantity, per)) = text.split_once(" per ").or_else(|| text.split_once(" an ")) {
        return one_per(quantity, per, *formats);
    }
    if let Some((pieces, length)) = text.split_once(['×', 'x', '*']) {
        let quantity = formats.read_quantity(pieces)?;
        return Ok(Measure::Cut { quantity, length: formats.read_length(length)? });
    }
    match formats.read_quantity(&text) {
        Ok(quantity) => Ok(Measure::Count { quantity }),
        Err(_) if text.chars().any(char::is_alphabetic) => {
            let (typed, examples) = (clipped(&text), examples(*formats));
            Err(format!("\u{201c}{typed}\u{201d} is not understood; write it like {examples}."))
        }
        Err(message) => Err(message),
    }
}

/// Writes an amount as [`read`] reads it.
#[must_use]
pub fn written(measure: Measure, formats: &Formats) -> String {
    let length = |length| length_written(length, *formats);
    match measure {
        Measure::Count { quantity } => formats.quantity(quantity),
        Measure::Cut { quantity, length: piece } => {
            format!("{} × {}", formats.quantity(quantity), length(piece))
        }
        Measure::Wound { quantity, turns, diameter, ends } => {
            let times = match quantity {
                one if one == Quantity::whole(1) => String::new(),
                many => format!("{} × ", formats.quantity(many)),
            };
            let turn = if turns == Quantity::whole(1) { "turn" } else { "turns" };
            let ends = if ends.um() == 0 { String::new() } else { format!(" + {} ends", length(ends)) };
            format!("{times}{} {turn} round {}{ends}", formats.quantity(turns), length(diameter))
        }
        Measure::OnePer { quantity, per: Some(per) } => format!("{} per {per}", formats.quantity(quantity)),
        Measure::OnePer { quantity, per: None } => format!("{} per event", formats.quantity(quantity)),
    }
}

/// A length as typed: in the studio's unit where that loses nothing, else in one that does not.
fn length_written(length: Length, formats: Formats) -> String {
    let units = [formats.length_unit, LengthUnit::Inch, LengthUnit::Centimetre];
    let exact = units.into_iter().find_map(|unit| {
        let number = length.in_unit(unit).round_dp(3).normalize();
        let text = format!("{number} {}", unit.code());
        (formats.read_length(&text) == Ok(length)).then_some(text)
    });
    exact.unwrap_or_else(|| {
        format!("{} mm", (length.decimal() / rust_decimal::Decimal::ONE_THOUSAND).normalize())
    })
}

fn wound(before: &str, round: &str, formats: Formats) -> Result<Measure, String> {
    let (quantity, turns) = match before.split_once(['×', 'x', '*']) {
        Some((quantity, turns)) => (formats.read_quantity(quantity)?, turns),
        None => (Quantity::whole(1), before),
    };
    let round = round.strip_prefix('s').unwrap_or(round).trim_start();
    let Some(round) = round.strip_prefix("round ").or_else(|| round.strip_prefix("around ")) else {
        let example = written(example_of_winding(&formats), &formats);
        return Err(format!("Write round what it is wound, such as {example}."));
    };
    let (diameter, ends) = match round.split_once('+') {
        Some((diameter, ends)) => {
            let ends = ends.trim_end_matches('s').trim_end_matches("end");
            (diameter, formats.read_length(ends)?)
        }
        None => (round, Length::default()),
    };
    let turns = formats.read_quantity(turns)?;
    Ok(Measure::Wound { quantity, turns, diameter: formats.read_length(diameter)?, ends })
}

fn one_per(quantity: &str, per: &str, formats: Formats) -> Result<Measure, String> {
    let quantity = formats.read_quantity(quantity)?;
    let per = per.trim_end_matches("pieces").trim();
    if matches!(per, "event" | "an event") {
        return Ok(Measure::OnePer { quantity, per: None });
    }
    match per.replace([',', ' '], "").parse::<i64>() {
        Ok(per) if (1..=MOST_PER).contains(&per) => Ok(Measure::OnePer { quantity, per: Some(per) }),
        _ => Err(format!(
            "\u{201c}{}\u{201d} is no number of pieces; write it like 1 per 20, or 1 per event.",
            clipped(per)
        )),
    }
}

fn examples(formats: Formats) -> String {
    let cut = Measure::Cut { quantity: Quantity::whole(8), length: example_length(&formats) };
    format!("6.5, or {}, or 1 per 20", written(cut, &formats))
}

/// A piece as long as examples are: 6 in, or 15 cm.
#[must_use]
pub fn example_length(formats: &Formats) -> Length {
    match formats.length_unit {
        LengthUnit::Inch => Length::from_um(152_400),
        LengthUnit::Centimetre => Length::from_um(150_000),
    }
}

/// A winding as examples have it.
#[must_use]
pub fn example_of_winding(formats: &Formats) -> Measure {
    let length = example_length(formats);
    Measure::Wound { quantity: Quantity::whole(1), turns: Quantity::whole(2), diameter: length, ends: length }
}

#[cfg(test)]
mod tests {
    use iso_currency::Currency;
    use proptest::prelude::*;

    use super::*;
    use crate::ground::formats::DateStyle;

    const INCH: i64 = 25_400;

    fn inches() -> Formats {
        Formats { currency: Currency::EUR, length_unit: LengthUnit::Inch, date_style: DateStyle::Iso }
    }

    fn thousandths(raw: i64) -> Quantity {
        Quantity::from_raw(raw)
    }

    #[test]
    fn every_form_is_read_and_written_back() {
        let length = |inches: i64| Length::from_um(inches * INCH);
        let two_turns = Measure::Wound {
            quantity: Quantity::whole(1),
            turns: Quantity::whole(2),
            diameter: length(5),
            ends: length(12),
        };
        let thrice = Measure::Wound {
            quantity: Quantity::whole(3),
            turns: thousandths(1_500),
            diameter: Length::from_um(120_000),
            ends: Length::default(),
        };
        let cases = [
            ("6.5", "6.5", Measure::Count { quantity: thousandths(6_500) }),
            ("12x7", "12 × 7 in", Measure::Cut { quantity: Quantity::whole(12), length: length(7) }),
            (
                "12 * 14cm",
                "12 × 14 cm",
                Measure::Cut { quantity: Quantity::whole(12), length: Length::from_um(140_000) },
            ),
            ("2 Turns  around 5 + 12 in ends", "2 turns round 5 in + 12 in ends", two_turns),
            ("3 × 1,5 turns round 12 cm", "3 × 1.5 turns round 12 cm", thrice),
            ("1 per 20 pieces", "1 per 20", Measure::OnePer { quantity: Quantity::whole(1), per: Some(20) }),
            ("2 per event", "2 per event", Measure::OnePer { quantity: Quantity::whole(2), per: None }),
            ("1 an event", "1 per event", Measure::OnePer { quantity: Quantity::whole(1), per: None }),
        ];
        for (typed, back, measure) in cases {
            assert_eq!(read(typed, &inches()), Ok(measure), "{typed}");
            assert_eq!(written(measure, &inches()), back);
        }
    }

    #[test]
    fn what_is_not_understood_says_how_it_is_written() {
        let giant = "9".repeat(400);
        let cases = [
            ("", "Write how much"),
            ("a few", "\u{201c}a few\u{201d} is not understood; write it like 6.5"),
            ("0", "above 0"),
            ("-3", "above 0"),
            ("6.1234", "At most 3 decimals"),
            ("12 × ", "Write a number"),
            ("12 × 0 in", "more than nothing"),
            ("12 × 5 parsecs", "not a number"),
            ("2 turns", "round what"),
            ("2 turns round", "round what"),
            ("turns round 5 in", "Write a number"),
            ("1 per", "is not understood"),
            ("1 per table", "no number of pieces"),
            ("1 per 0", "no number of pieces"),
            ("1 per 1.5", "no number of pieces"),
            (giant.as_str(), "not a number"),
        ];
        for (typed, words) in cases {
            let message = read(typed, &inches()).unwrap_err();
            assert!(message.contains(words), "{typed}: {message}");
        }
    }

    fn measures() -> impl Strategy<Value = Measure> {
        let quantity = || (1_i64..=100_000_000).prop_map(Quantity::from_raw);
        let length = || (1_i64..=10_000_000_000).prop_map(Length::from_um);
        prop_oneof![
            quantity().prop_map(|quantity| Measure::Count { quantity }),
            (quantity(), length()).prop_map(|(quantity, length)| Measure::Cut { quantity, length }),
            (quantity(), quantity(), length(), length()).prop_map(|(quantity, turns, diameter, ends)| {
                Measure::Wound { quantity, turns, diameter, ends }
            }),
            (quantity(), proptest::option::of(1_i64..=MOST_PER))
                .prop_map(|(quantity, per)| Measure::OnePer { quantity, per }),
        ]
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_as_it_was(measure in measures(), inch: bool) {
            let unit = if inch { LengthUnit::Inch } else { LengthUnit::Centimetre };
            let formats = Formats { length_unit: unit, ..inches() };
            prop_assert_eq!(read(&written(measure, &formats), &formats), Ok(measure));
        }

        #[test]
        fn nothing_that_is_typed_breaks_it(text in "\\PC{0,40}") {
            let _ = read(&text, &inches());
        }
    }
}
