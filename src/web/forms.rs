//! Reading forms: raw strings in, values or *all* messages out. Each stage has an `XForm` (what was typed) whose
//! `parse` uses a [`Checker`] and gives a `NewX` or [`FieldErrors`].

use std::ops::RangeInclusive;

pub use axum_extra::extract::{Form, Query};

use crate::ground::choice::Choice;
use crate::ground::dates::{Day, TimeOfDay};
use crate::ground::formats::{Formats, clipped, read_whole};
use crate::ground::money::Money;
use crate::ground::quantity::{Factor, Length, Quantity, Share};
use crate::ground::weight::Weight;

/// The longest name.
pub const NAME_LENGTH: usize = 120;
/// The longest note or list of steps.
pub const TEXT_LENGTH: usize = 4_000;

/// Messages, each at its field. A field of a grid's row is named `field-row` (`quantity-3`, rows from 0).
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FieldErrors {
    list: Vec<(String, String)>,
}

impl FieldErrors {
    /// Adds a message at a field.
    pub fn add(&mut self, field: impl Into<String>, message: impl Into<String>) {
        self.list.push((field.into(), message.into()));
    }

    /// One message at one field.
    #[must_use]
    pub fn one(field: impl Into<String>, message: impl Into<String>) -> FieldErrors {
        FieldErrors { list: vec![(field.into(), message.into())] }
    }

    /// The message at a field.
    #[must_use]
    pub fn of(&self, field: &str) -> Option<&str> {
        self.list.iter().find(|(name, _)| name == field).map(|(_, message)| message.as_str())
    }

    /// The message at a field of a grid's row.
    #[must_use]
    pub fn of_row(&self, field: &str, row: &usize) -> Option<&str> {
        self.of(&format!("{field}-{row}"))
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// All messages with their fields, for the summary at the top.
    #[must_use]
    pub fn list(&self) -> &[(String, String)] {
        &self.list
    }
}

/// Reads typed text field by field and collects every message. After a refusal a harmless value stands in,
/// so that parsing goes on; [`Checker::done`] lets no such value out.
#[derive(Debug)]
pub struct Checker<'a> {
    formats: &'a Formats,
    errors: FieldErrors,
}

impl<'a> Checker<'a> {
    /// Begins to read a form.
    #[must_use]
    pub fn new(formats: &'a Formats) -> Checker<'a> {
        Checker { formats, errors: FieldErrors::default() }
    }

    /// The parsed value, or every message.
    pub fn done<T>(self, value: T) -> Result<T, FieldErrors> {
        if self.errors.is_empty() { Ok(value) } else { Err(self.errors) }
    }

    /// Refuses a field.
    pub fn refuse(&mut self, field: impl Into<String>, message: impl Into<String>) {
        self.errors.add(field, message);
    }

    /// Whether nothing was said against a field so far.
    #[must_use]
    pub fn is_fine(&self, field: &str) -> bool {
        self.errors.of(field).is_none()
    }

    /// A name: one line that must not be empty.
    pub fn name(&mut self, field: &str, raw: &str, what: &str) -> String {
        let name = self.line(field, raw);
        if name.is_empty() && self.errors.of(field).is_none() {
            self.refuse(field, format!("Write {what}."));
        }
        name
    }

    /// One line that may be empty.
    pub fn line(&mut self, field: &str, raw: &str) -> String {
        let line = raw.split_whitespace().collect::<Vec<_>>().join(" ");
        self.no_longer_than(field, line, NAME_LENGTH)
    }

    /// Several lines that may be empty.
    pub fn text(&mut self, field: &str, raw: &str) -> String {
        let text = raw.trim().replace("\r\n", "\n");
        self.no_longer_than(field, text, TEXT_LENGTH)
    }

    fn no_longer_than(&mut self, field: &str, text: String, most: usize) -> String {
        let length = text.chars().count();
        if length > most {
            self.refuse(field, format!("This is {length} letters long; {most} is the most that is kept."));
            return String::new();
        }
        if text.chars().any(|c| c.is_control() && c != '\n' && c != '\t' || turns_the_line(c)) {
            self.refuse(field, "This holds characters that cannot be shown.");
            return String::new();
        }
        text
    }

    /// A whole number in a range.
    pub fn whole(&mut self, field: &str, raw: &str, range: RangeInclusive<i64>) -> i64 {
        match read_whole(raw) {
            Some(number) if range.contains(&number) => number,
            _ => {
                let (least, most) = (range.start(), range.end());
                self.refuse(field, format!("Write a whole number from {least} to {most}."));
                *least
            }
        }
    }

    /// A whole number in a range, or nothing.
    pub fn whole_or_none(&mut self, field: &str, raw: &str, range: RangeInclusive<i64>) -> Option<i64> {
        let value = filled(raw).map(|raw| self.whole(field, raw, range));
        value.filter(|_| self.is_fine(field))
    }

    /// An amount of at least nothing.
    pub fn money(&mut self, field: &str, raw: &str) -> Money {
        let read = self.formats.read_money(raw).and_then(|amount| {
            if amount < Money::ZERO {
                Err("An amount cannot be below nothing.".to_owned())
            } else {
                Ok(amount)
            }
        });
        self.taken(field, read, Money::ZERO)
    }

    /// An amount of at least nothing, or none.
    pub fn money_or_none(&mut self, field: &str, raw: &str) -> Option<Money> {
        filled(raw).map(|raw| self.money(field, raw))
    }

    /// An amount of at least nothing; an empty field is nothing.
    pub fn money_or_zero(&mut self, field: &str, raw: &str) -> Money {
        self.money_or_none(field, raw).unwrap_or_default()
    }

    /// A percentage from 0 to 100.
    pub fn share(&mut self, field: &str, raw: &str) -> Share {
        let read = self.formats.read_share(raw);
        self.taken(field, read, Share::default())
    }

    /// A percentage from 0 to 100, or none.
    pub fn share_or_none(&mut self, field: &str, raw: &str) -> Option<Share> {
        filled(raw).map(|raw| self.share(field, raw))
    }

    /// A mark-up from 0 to 100.
    pub fn factor(&mut self, field: &str, raw: &str) -> Factor {
        let read = self.formats.read_factor(raw);
        self.taken(field, read, Factor::default())
    }

    /// A quantity above nothing.
    pub fn quantity(&mut self, field: &str, raw: &str) -> Quantity {
        let read = self.formats.read_quantity(raw);
        self.taken(field, read, Quantity::whole(1))
    }

    /// A length above nothing.
    pub fn length(&mut self, field: &str, raw: &str) -> Length {
        let read = self.formats.read_length(raw);
        self.taken(field, read, Length::from_um(1))
    }

    /// A length above nothing, or none.
    pub fn length_or_none(&mut self, field: &str, raw: &str) -> Option<Length> {
        filled(raw).map(|raw| self.length(field, raw))
    }

    /// A weight above nothing.
    pub fn weight(&mut self, field: &str, raw: &str) -> Weight {
        let read = self.formats.read_weight(raw);
        self.taken(field, read, Weight::from_grams(1))
    }

    /// A weight above nothing, or none.
    pub fn weight_or_none(&mut self, field: &str, raw: &str) -> Option<Weight> {
        filled(raw).map(|raw| self.weight(field, raw))
    }

    /// A day.
    pub fn day(&mut self, field: &str, raw: &str) -> Day {
        let fallback = Day(jiff::civil::date(2000, 1, 1));
        let read = match raw.parse::<Day>() {
            Ok(day) if (1990..=2200).contains(&day.0.year()) => Ok(day),
            Ok(_) => Err("Choose a day between 1990 and 2200.".to_owned()),
            Err(_) => Err("Write a day as year-month-day, such as 2026-05-14.".to_owned()),
        };
        self.taken(field, read, fallback)
    }

    /// A day, or none.
    pub fn day_or_none(&mut self, field: &str, raw: &str) -> Option<Day> {
        filled(raw).map(|raw| self.day(field, raw))
    }

    /// A time of day, or none.
    pub fn time_or_none(&mut self, field: &str, raw: &str) -> Option<TimeOfDay> {
        let read = filled(raw)?.parse::<TimeOfDay>();
        if read.is_err() {
            self.refuse(field, "Write a time as hours and minutes, such as 09:30.");
        }
        read.ok()
    }

    /// A member of a closed list.
    pub fn pick<T: Choice>(&mut self, field: &str, raw: &str) -> T {
        T::from_code(raw.trim()).unwrap_or_else(|| {
            self.refuse(field, format!("\u{201c}{}\u{201d} is not one of the choices.", clipped(raw)));
            T::ALL[0]
        })
    }

    /// A member of a closed list, or none.
    pub fn pick_or_none<T: Choice>(&mut self, field: &str, raw: &str) -> Option<T> {
        filled(raw).map(|raw| self.pick(field, raw))
    }

    fn taken<T>(&mut self, field: &str, read: Result<T, String>, fallback: T) -> T {
        read.unwrap_or_else(|message| {
            self.refuse(field, message);
            fallback
        })
    }
}

fn filled(raw: &str) -> Option<&str> {
    Some(raw.trim()).filter(|raw| !raw.is_empty())
}

/// A value that someone else saved while a form stood open, beside the one typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The field's label.
    pub label: &'static str,
    /// What was typed here.
    pub yours: String,
    /// What the book holds now.
    pub theirs: String,
}

/// The fields in which two forms differ, given as label, yours, theirs.
#[must_use]
pub fn differences(fields: &[(&'static str, &str, &str)]) -> Vec<Difference> {
    fields
        .iter()
        .filter(|(_, yours, theirs)| lines(yours) != lines(theirs))
        .map(|(label, yours, theirs)| Difference { label, yours: (*yours).into(), theirs: (*theirs).into() })
        .collect()
}

/// Text as it is kept: browsers end lines otherwise.
fn lines(text: &str) -> String {
    text.trim().replace("\r\n", "\n")
}

/// Marks that turn the direction of whatever follows, figures too, and are not seen (Unicode Standard Annex 9, 2.1 to 2.6).
fn turns_the_line(letter: char) -> bool {
    matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use iso_currency::Currency;

    use super::*;
    use crate::ground::formats::DateStyle;
    use crate::ground::quantity::LengthUnit;

    #[test]
    fn the_same_lines_differ_in_nothing_however_a_browser_ends_them() {
        assert!(differences(&[("Address", "7 Mill Lane\r\nSallowby", "7 Mill Lane\nSallowby ")]).is_empty());
        assert_eq!(differences(&[("Address", "7 Mill Lane", "8 Mill Lane")]).len(), 1);
    }

    #[test]
    fn what_turns_a_line_round_is_refused_and_other_scripts_are_not() {
        let formats = Formats {
            currency: Currency::from_code("EUR").unwrap(),
            length_unit: LengthUnit::Inch,
            date_style: DateStyle::DayMonthYear,
        };
        for (name, fine) in [("שלום", true), ("Zoë 🌸", true), ("\u{202e}Evil", false), ("a\u{2066}b", false)]
        {
            let mut c = Checker::new(&formats);
            c.line("name", name);
            assert_eq!(c.done(()).is_ok(), fine, "{name:?}");
        }
    }
}
