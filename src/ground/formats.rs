//! How the studio writes money, lengths and days, and reads what is typed. Plain functions of the settings;
//! messages are whole sentences for the field they belong to.

use std::str::FromStr;

use iso_currency::Currency;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::choice::choices;
use super::dates::{Day, MONTHS_SHORT, Moment, TimeOfDay};
use super::money::Money;
use super::quantity::{Factor, Length, LengthUnit, Quantity, Share};

choices! {
    /// In which order the parts of a date stand.
    DateStyle {
        /// 14 May 2026
        DayMonthYear "dmy" "14 May 2026"
        /// May 14, 2026
        MonthDayYear "mdy" "May 14, 2026"
        /// 2026-05-14
        Iso "iso" "2026-05-14"
    }
}

/// The studio's way of writing. Cheap to copy.
#[derive(Debug, Clone, Copy)]
pub struct Formats {
    /// ISO 4217 currency of the whole book.
    pub currency: Currency,
    /// Inches or centimetres.
    pub length_unit: LengthUnit,
    /// Order of a date's parts.
    pub date_style: DateStyle,
}

impl Formats {
    /// The same for a document that was made in a currency, by its ISO 4217 code.
    #[must_use]
    pub fn in_currency(self, code: &str) -> Formats {
        Formats { currency: Currency::from_code(code).unwrap_or(self.currency), ..self }
    }

    /// Decimals of the currency's minor unit: 2 for most, 0 for JPY, 3 for KWD.
    #[must_use]
    pub fn minor_digits(&self) -> u32 {
        self.currency.exponent().map_or(0, u32::from)
    }

    /// An amount with its currency: `€1,234.50`.
    #[must_use]
    pub fn money(&self, amount: Money) -> String {
        signed(&self.amount(amount), &self.currency_sign())
    }

    /// An amount without its currency, grouped: `1,234.50`.
    #[must_use]
    pub fn amount(&self, amount: Money) -> String {
        grouped(&self.money_input(amount))
    }

    /// An amount as a form field holds it: `1234.50`.
    #[must_use]
    pub fn money_input(&self, amount: Money) -> String {
        Decimal::new(amount.minor(), self.minor_digits()).to_string()
    }

    /// A cost that is not rounded to the minor unit, with up to two decimals more: `€0.8804`, `€1.25`.
    #[must_use]
    pub fn unit_cost(&self, minor: Decimal) -> String {
        let digits = self.minor_digits();
        let mut major = (minor / Decimal::from(10_i64.pow(digits))).round_dp(digits + 2).normalize();
        if major.scale() < digits {
            major.rescale(digits);
        }
        format!("{}{}", self.currency_sign(), grouped(&major.to_string()))
    }

    /// What stands before an amount: the sign where it is widely read, else the code.
    #[must_use]
    pub fn currency_sign(&self) -> String {
        match self.currency {
            Currency::EUR | Currency::GBP | Currency::USD | Currency::CAD | Currency::AUD | Currency::NZD => {
                self.currency.symbol().symbol
            }
            other => format!("{}\u{a0}", other.code()),
        }
    }

    /// A length with its unit: `5.5 in`.
    #[must_use]
    pub fn length(&self, length: Length) -> String {
        format!("{}\u{a0}{}", self.length_input(length), self.length_unit.symbol())
    }

    /// A length as a form field holds it: `5.5`.
    #[must_use]
    pub fn length_input(&self, length: Length) -> String {
        length.in_unit(self.length_unit).round_dp(3).normalize().to_string()
    }

    /// A day by the studio's style: `14 May 2026`.
    #[must_use]
    pub fn day(&self, day: Day) -> String {
        let month = MONTHS_SHORT[usize::from(day.month_index())];
        match self.date_style {
            DateStyle::DayMonthYear => format!("{} {month} {}", day.0.day(), day.0.year()),
            DateStyle::MonthDayYear => format!("{month} {}, {}", day.0.day(), day.0.year()),
            DateStyle::Iso => day.to_string(),
        }
    }

    /// A day with its weekday: `Thu 14 May 2026`.
    #[must_use]
    pub fn weekday(&self, day: Day) -> String {
        format!("{} {}", day.weekday_short(), self.day(day))
    }

    /// The day of a moment in a time zone, by the studio's style, with the time.
    #[must_use]
    pub fn moment(&self, moment: Moment, zone: &jiff::tz::TimeZone) -> String {
        let there = moment.0.to_zoned_datetime(zone.clone());
        format!("{} {}", self.day(Day(there.date())), TimeOfDay(there.time()))
    }

    /// A count without needless zeros: `6.5`, `91`.
    #[must_use]
    pub fn quantity(&self, quantity: Quantity) -> String {
        quantity.decimal().normalize().to_string()
    }

    /// A decimal number rounded to so many places, without needless zeros.
    #[must_use]
    pub fn number(&self, number: Decimal, places: u32) -> String {
        signed(&grouped(&number.round_dp(places).normalize().to_string()), "")
    }

    /// A share in per cent: `8.875 %`.
    #[must_use]
    pub fn share(&self, share: Share) -> String {
        format!("{}\u{a0}%", self.share_input(share))
    }

    /// A share as a form field holds it: `8.875`.
    #[must_use]
    pub fn share_input(&self, share: Share) -> String {
        Decimal::new(share.raw(), 4).normalize().to_string()
    }

    /// A mark-up: `3.5 ×`.
    #[must_use]
    pub fn factor(&self, factor: Factor) -> String {
        format!("{}\u{a0}×", self.factor_input(factor))
    }

    /// A mark-up as a form field holds it: `3.5`.
    #[must_use]
    pub fn factor_input(&self, factor: Factor) -> String {
        factor.decimal().normalize().to_string()
    }

    /// Reads an amount of money.
    pub fn read_money(&self, text: &str) -> Result<Money, String> {
        let code = self.currency.code();
        let sign = self.currency_sign();
        let text =
            text.trim().trim_start_matches(sign.trim()).trim_start_matches(code).trim_end_matches(code);
        let digits = self.minor_digits();
        let amount = read_decimal(text)?;
        if amount.scale() > digits {
            return Err(match digits {
                0 => format!("{code} has no decimals; write a whole amount such as 1234."),
                _ => format!(
                    "{code} has {digits} decimals; write an amount such as 1234.{}.",
                    "50".get(..2).unwrap_or("5")
                ),
            });
        }
        let minor = amount.checked_mul(Decimal::from(10_i64.pow(digits))).and_then(|minor| minor.to_i64());
        let minor = minor.ok_or("That amount is too large.")?;
        if minor.abs() > Money::LARGEST.minor() {
            return Err(format!("The largest amount is {}.", self.money(Money::LARGEST)));
        }
        Ok(Money::from_minor(minor))
    }

    /// Reads a length in the studio's unit, or in the one written behind it (`5.5`, `5 in`, `14cm`, `140 mm`).
    pub fn read_length(&self, text: &str) -> Result<Length, String> {
        let text = text.trim().to_lowercase();
        let units = [
            ("mm", 1_000),
            ("cm", 10_000),
            ("in", 25_400),
            ("\"", 25_400),
            ("ft", 304_800),
            ("yd", 914_400),
            ("m", 1_000_000),
        ];
        let (number, um) = units
            .iter()
            .find_map(|(symbol, um)| text.strip_suffix(symbol).map(|number| (number, *um)))
            .unwrap_or((&text, self.length_unit.um()));
        let um = read_decimal(number)?.checked_mul(Decimal::from(um)).and_then(|um| um.round().to_i64());
        match um {
            Some(um) if (1..=10_000_000_000).contains(&um) => Ok(Length::from_um(um)),
            _ => Err("A length must be more than nothing and less than 10 km.".into()),
        }
    }

    /// Reads a share written in per cent, from 0 to 100.
    pub fn read_share(&self, text: &str) -> Result<Share, String> {
        let value = scaled(text.trim().trim_end_matches('%'), 4, "per cent")?;
        if (0..=1_000_000).contains(&value) {
            Ok(Share::from_raw(value))
        } else {
            Err("Write a percentage from 0 to 100.".into())
        }
    }

    /// Reads a mark-up from 0 to 100.
    pub fn read_factor(&self, text: &str) -> Result<Factor, String> {
        let value = scaled(text.trim().trim_end_matches(['×', 'x']), 3, "a factor")?;
        if (0..=100_000).contains(&value) {
            Ok(Factor::from_raw(value))
        } else {
            Err("Write a factor from 0 to 100.".into())
        }
    }

    /// Reads a quantity of more than nothing and at most 100 000.
    pub fn read_quantity(&self, text: &str) -> Result<Quantity, String> {
        let value = scaled(text, 3, "a quantity")?;
        if (1..=100_000_000).contains(&value) {
            Ok(Quantity::from_raw(value))
        } else {
            Err("Write a number above 0 and up to 100,000.".into())
        }
    }
}

/// Reads a decimal number with a point or a comma. Where both stand, the last is the decimal sign;
/// one alone is always the decimal sign; spaces and apostrophes group.
pub fn read_decimal(text: &str) -> Result<Decimal, String> {
    let compact: String = text.chars().filter(|c| !c.is_whitespace() && *c != '\'' && *c != '’').collect();
    if compact.is_empty() {
        return Err("Write a number here.".into());
    }
    let last = compact.rfind(['.', ',']);
    let plain: String = compact
        .char_indices()
        .filter_map(|(at, c)| match c {
            '.' | ',' if Some(at) == last && compact.matches(c).count() == 1 => Some('.'),
            '.' | ',' => None,
            '−' => Some('-'),
            other => Some(other),
        })
        .collect();
    let number = Decimal::from_str(&plain)
        .map_err(|_| format!("\u{201c}{}\u{201d} is not a number.", clipped(text)))?;
    Ok(number.normalize())
}

/// Reads a whole number; commas and spaces may group its digits by threes (`1,000`), and nothing else.
#[must_use]
pub fn read_whole(text: &str) -> Option<i64> {
    let text = text.trim();
    let (sign, digits) = text.strip_prefix(['-', '−']).map_or((1, text), |digits| (-1, digits));
    let mut groups = digits.split([',', ' ', '\u{a0}', '\u{202f}']);
    let first = groups.next()?;
    let rest: Vec<&str> = groups.collect();
    let grouped =
        rest.is_empty() || (1..=3).contains(&first.len()) && rest.iter().all(|group| group.len() == 3);
    let digits = first.to_owned() + &rest.concat();
    let plain = grouped && !digits.is_empty() && digits.bytes().all(|digit| digit.is_ascii_digit());
    digits.parse::<i64>().ok().filter(|_| plain).map(|number| sign * number)
}

/// Digits to be read: what is below nothing has a minus, not a hyphen, before its currency.
fn signed(digits: &str, currency: &str) -> String {
    let (sign, digits) = digits.strip_prefix('-').map_or(("", digits), |rest| ("−", rest));
    format!("{sign}{currency}{digits}")
}

fn scaled(text: &str, places: u32, what: &str) -> Result<i64, String> {
    let number = read_decimal(text)?;
    if number.scale() > places {
        return Err(format!("At most {places} decimals can be kept for {what}."));
    }
    let whole = number.checked_mul(Decimal::from(10_i64.pow(places))).and_then(|whole| whole.to_i64());
    whole.ok_or_else(|| "That number is too large.".into())
}

/// What was typed, short enough to stand in a message.
#[must_use]
pub fn clipped(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= 40 { text.to_owned() } else { text.chars().take(40).chain(['…']).collect() }
}

fn grouped(number: &str) -> String {
    let (sign, number) = number.strip_prefix('-').map_or(("", number), |rest| ("-", rest));
    let (whole, rest) = number.split_at(number.find('.').unwrap_or(number.len()));
    let mut out = String::with_capacity(number.len() + 6);
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    format!("{sign}{out}{rest}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn formats(currency: Currency) -> Formats {
        Formats { currency, length_unit: LengthUnit::Inch, date_style: DateStyle::DayMonthYear }
    }

    #[test]
    fn money_is_written_with_the_minor_units_of_iso_4217() {
        // ISO 4217 minor units: EUR 2, JPY 0, KWD 3.
        assert_eq!(formats(Currency::EUR).money(Money::from_minor(123_450)), "€1,234.50");
        assert_eq!(formats(Currency::JPY).money(Money::from_minor(1_234)), "JPY\u{a0}1,234");
        assert_eq!(formats(Currency::KWD).money(Money::from_minor(1_234_500)), "KWD\u{a0}1,234.500");
        assert_eq!(formats(Currency::EUR).money(Money::from_minor(-5)), "−€0.05");
    }

    #[test]
    fn money_is_read_with_point_or_comma() {
        let eur = formats(Currency::EUR);
        for text in ["1234.5", "1234,50", "1,234.50", "1.234,50", "€1,234.50", " 1 234.50 EUR"] {
            assert_eq!(eur.read_money(text), Ok(Money::from_minor(123_450)), "{text}");
        }
    }

    #[test]
    fn too_many_decimals_are_refused_in_words() {
        assert!(formats(Currency::EUR).read_money("1.234").unwrap_err().contains("2 decimals"));
        assert!(formats(Currency::JPY).read_money("1.5").unwrap_err().contains("no decimals"));
        assert_eq!(formats(Currency::KWD).read_money("1.234"), Ok(Money::from_minor(1_234)));
    }

    #[test]
    fn nonsense_and_giants_are_refused() {
        let eur = formats(Currency::EUR);
        for text in ["", "abc", "1e9", "--1", "1.2.3.4x", "99999999999999999999999999999999999999"] {
            assert!(eur.read_money(text).is_err(), "{text}");
        }
        assert!(eur.read_money("1000000000").is_err());
        // The largest decimal there is, and one that is too large only in the smaller unit.
        for text in ["79228162514264337593543950335", "-9999999999999999999999999999"] {
            assert!(eur.read_money(text).is_err());
            assert!(eur.read_length(text).is_err() && eur.read_length(&format!("{text} m")).is_err());
            assert!(eur.read_share(text).is_err() && eur.read_factor(text).is_err());
            assert!(eur.read_quantity(text).is_err());
        }
    }

    #[test]
    fn whole_numbers_take_groups_of_three_and_no_decimals() {
        for (text, number) in
            [("25", 25), (" 1,000 ", 1_000), ("1 000 000", 1_000_000), ("-3", -3), ("007", 7)]
        {
            assert_eq!(read_whole(text), Some(number), "{text}");
        }
        for text in
            ["", "-", "2,5", "25,0", "2.5", "1,00,000", ",100", "1e3", "+-1", "99999999999999999999", "x"]
        {
            assert_eq!(read_whole(text), None, "{text}");
        }
    }

    #[test]
    fn lengths_convert_exactly() {
        let inches = formats(Currency::EUR);
        assert_eq!(inches.read_length("5.5"), Ok(Length::from_um(139_700)));
        assert_eq!(inches.read_length("14 cm"), Ok(Length::from_um(140_000)));
        assert_eq!(inches.read_length("1 yd"), Ok(Length::from_um(914_400)));
        assert_eq!(inches.length(Length::from_um(139_700)), "5.5\u{a0}in");
    }

    #[test]
    fn shares_keep_four_decimals_of_a_per_cent() {
        let eur = formats(Currency::EUR);
        assert_eq!(eur.read_share("8.875"), Ok(Share::from_raw(88_750)));
        assert_eq!(eur.share(Share::from_raw(88_750)), "8.875\u{a0}%");
        assert!(eur.read_share("101").is_err());
    }

    #[test]
    fn unit_costs_show_up_to_two_decimals_more() {
        let eur = formats(Currency::EUR);
        assert_eq!(eur.unit_cost(Decimal::new(12_404, 1)), "€12.404");
        assert_eq!(eur.unit_cost(Decimal::from(8_900)), "€89.00");
        assert_eq!(eur.unit_cost(Decimal::new(880_421, 4)), "€0.8804");
    }
}
