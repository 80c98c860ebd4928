//! Account numbers: the check digits of an IBAN.
//!
//! May import: nothing.

/// An IBAN as it stands on paper: in groups of four (ISO 13616).
///
/// ```
/// assert_eq!(trug::accounts::iban::printed("GB82WEST12345698765432"), "GB82 WEST 1234 5698 7654 32");
/// ```
#[must_use]
pub fn printed(iban: &str) -> String {
    let letters: Vec<char> = iban.chars().collect();
    letters.chunks(4).map(|group| group.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}

/// Whether a text is an IBAN with right check digits: 15 to 34 letters and digits that, with the first four moved to the
/// end and letters read as 10 to 35, leave 1 when divided by 97 (ISO 13616, ISO 7064 MOD 97-10).
///
/// ```
/// use trug::accounts::iban::is_iban;
/// assert!(is_iban("GB82WEST12345698765432")); // the standard's own example
/// assert!(!is_iban("GB82WEST12345698765423"));
/// ```
#[must_use]
pub fn is_iban(text: &str) -> bool {
    let plain =
        (15..=34).contains(&text.len()) && text.bytes().all(|c| c.is_ascii_digit() || c.is_ascii_uppercase());
    if !plain {
        return false;
    }
    let (head, rest) = text.split_at(4);
    let digits = rest.chars().chain(head.chars()).filter_map(|c| c.to_digit(36));
    let remainder =
        digits.fold(
            0,
            |sum: u32, digit| if digit > 9 { (sum * 100 + digit) % 97 } else { (sum * 10 + digit) % 97 },
        );
    remainder == 1
}
