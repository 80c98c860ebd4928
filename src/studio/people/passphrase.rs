//! What a passphrase must be: long, and not one that everybody tries first. No rules of composition, no expiry.
//!
//! Sources: OWASP ASVS 4.0.3, 2.1.1 to 2.1.9; NIST SP 800-63B, 5.1.1.2. The list (`common.txt`) is taken from the list of
//! 20,000 common passwords by Royce Williams that Django 5.2 ships (`django/contrib/auth/common-passwords.txt.gz`): all of
//! twelve characters or more, and the words of six letters or more among the first 4,000, since whoever must write twelve
//! characters writes such a word and some digits behind it.

use std::collections::HashSet;
use std::sync::LazyLock;

use thiserror::Error;

/// At least so many characters.
pub const LEAST: usize = 12;
/// At most so many.
pub const MOST: usize = 128;
/// A passphrase made of fewer different characters is one key held down.
const LEAST_DIFFERENT: usize = 5;

static COMMON: LazyLock<HashSet<&str>> = LazyLock::new(|| include_str!("common.txt").lines().collect());

/// Rows of keys and of letters that fingers run along.
const ROWS: [&str; 8] = [
    "abcdefghijklmnopqrstuvwxyz",
    "01234567890123456789",
    "qwertyuiopasdfghjklzxcvbnm",
    "qwertzuiopasdfghjklyxcvbnm",
    "azertyuiopqsdfghjklmwxcvbn",
    "1q2w3e4r5t6y7u8i9o0p",
    "1qaz2wsx3edc4rfv5tgb6yhn7ujm",
    "qazwsxedcrfvtgbyhnujmikolp",
];

/// Why a passphrase is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum Weak {
    /// Fewer than [`LEAST`] characters.
    #[error("Write at least 12 characters. Four words that do not belong together are easy to keep in mind.")]
    TooShort,
    /// More than [`MOST`] characters.
    #[error("Write at most 128 characters.")]
    TooLong,
    /// Many others have it, or it follows from a rule that is tried first.
    #[error("This is one of those that are tried first. Choose words that do not belong together.")]
    Common,
    /// It is the person's or the studio's name with little more.
    #[error("This is little more than a name that everybody here knows. Choose other words.")]
    Named,
}

/// A passphrase as it is hashed: spaces in a row are one space, nothing is cut off or changed otherwise.
#[must_use]
pub fn kept(typed: &str) -> String {
    let mut kept = String::with_capacity(typed.len());
    for c in typed.chars() {
        if !(c == ' ' && kept.ends_with(' ')) {
            kept.push(c);
        }
    }
    kept
}

/// Looks at a new passphrase; `names` are the person's, the studio's and the program's.
///
/// ```
/// use trug::studio::people::passphrase::{Weak, checked};
/// assert_eq!(checked("short", &[]), Err(Weak::TooShort));
/// assert_eq!(checked("Password12345!", &[]), Err(Weak::Common));
/// assert_eq!(checked("wet moss and twine", &[]).as_deref(), Ok("wet moss and twine"));
/// ```
pub fn checked(typed: &str, names: &[&str]) -> Result<String, Weak> {
    let kept = kept(typed);
    match kept.chars().count() {
        0..LEAST => return Err(Weak::TooShort),
        LEAST..=MOST => {}
        _ => return Err(Weak::TooLong),
    }
    let small = kept.to_lowercase();
    if is_common(&small) {
        return Err(Weak::Common);
    }
    let core = letters(&small);
    if names.iter().map(|name| letters(&name.to_lowercase())).any(|name| !name.is_empty() && core == name) {
        return Err(Weak::Named);
    }
    Ok(kept)
}

fn is_common(small: &str) -> bool {
    let core: &str = small.trim_matches(|c: char| !c.is_alphabetic());
    COMMON.contains(small)
        || COMMON.contains(core)
        || small.chars().collect::<HashSet<_>>().len() < LEAST_DIFFERENT
        || is_repeated(small)
        || runs_along(&small.chars().filter(|c| c.is_alphanumeric()).collect::<String>())
}

/// Letters alone: digits and signs around a name hide nothing.
fn letters(text: &str) -> String {
    text.chars().filter(|c| c.is_alphabetic()).collect()
}

/// `mossmossmoss`, `moss moss moss`: one part again and again.
fn is_repeated(text: &str) -> bool {
    let all: Vec<char> = text.chars().filter(|c| !c.is_whitespace()).collect();
    (1..=all.len() / 2).any(|part| all.iter().zip(all.iter().skip(part)).all(|(one, other)| one == other))
}

/// `abcdefghijkl`, `098765432109`, `qwertyuiopas`: along a row, or back.
fn runs_along(text: &str) -> bool {
    let back: String = text.chars().rev().collect();
    !text.is_empty() && ROWS.iter().any(|row| row.contains(text) || row.contains(back.as_str()))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn length_is_counted_in_characters_after_spaces_are_combined() {
        assert_eq!(checked("moss     twine", &[]), Err(Weak::TooShort), "ten characters and one space");
        assert!(checked("moss  twine ox", &[]).is_ok());
        assert!(checked("мох и шпагат", &[]).is_ok(), "twelve letters, not bytes");
        assert!(checked("🌿 and 🌾 and 🌱", &[]).is_ok());
        let long: String = ('!'..='~').chain('À'..='ÿ').take(128).collect();
        assert_eq!(checked(&long, &[]).as_deref(), Ok(long.as_str()), "128 characters are taken whole");
        assert_eq!(checked(&(long + "5"), &[]), Err(Weak::TooLong));
    }

    #[test]
    fn what_is_tried_first_is_refused() {
        for typed in [
            "passwordpassword",
            "Password12345!",
            "qwertyuiop[]",
            "123456789012",
            "987654321098",
            "abcdefghijklm",
            "aaaaaaaaaaaaaaa",
            "1q2w3e4r5t6y",
            "sunshine2026!!",
            "abc abc abc abc",
            "MOTHERFUCKER",
        ] {
            assert_eq!(checked(typed, &[]), Err(Weak::Common), "{typed}");
        }
        for typed in ["wet moss and twine", "nine grey herons", "x9$kq!vB2_zr", "correct stem bucket"] {
            assert!(checked(typed, &[]).is_ok(), "{typed}");
        }
    }

    #[test]
    fn a_name_with_some_digits_is_refused() {
        let names = ["Mia Thorne", "Fern & Foil", "Trug"];
        for typed in ["MiaThorne2026", "fern and foil", "12345-mia-thorne"] {
            let expected = if typed == "fern and foil" { Ok(typed.to_owned()) } else { Err(Weak::Named) };
            assert_eq!(checked(typed, &names), expected, "{typed}");
        }
    }

    proptest! {
        #[test]
        fn what_is_taken_is_kept_whole(typed in "\\PC{0,140}") {
            if let Ok(taken) = checked(&typed, &[]) {
                prop_assert!((LEAST..=MOST).contains(&taken.chars().count()));
                prop_assert_eq!(taken.replace(' ', ""), typed.replace(' ', ""));
                prop_assert!(!taken.contains("  "));
                prop_assert_eq!(kept(&taken), taken);
            }
        }
    }
}
