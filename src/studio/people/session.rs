//! How long a session lasts, and its token. Plain values; the moment is told.

use jiff::ToSpan;
use sha2::{Digest, Sha256};

use crate::ground::dates::Moment;

/// So many hours unused end a session: over night.
pub const IDLE_HOURS: i64 = 12;
/// After so many days one logs in again in any case.
pub const MOST_DAYS: i64 = 30;
/// Use is noted so often, in minutes: a page must not cost a write each time.
const NOTED_MINUTES: i64 = 10;

/// When a session that begins now ends at the latest.
#[must_use]
pub fn latest_end(begun: Moment) -> Moment {
    after(begun, MOST_DAYS * 24 * 60)
}

/// Whether a session still holds.
#[must_use]
pub fn holds(now: Moment, seen: Moment, ends: Moment) -> bool {
    now < ends && now < after(seen, IDLE_HOURS * 60)
}

/// Whether its use is to be noted again.
#[must_use]
pub fn is_to_be_noted(now: Moment, seen: Moment) -> bool {
    now >= after(seen, NOTED_MINUTES)
}

/// The moment before which an unused session is over.
#[must_use]
pub fn idle_since(now: Moment) -> Moment {
    after(now, -IDLE_HOURS * 60)
}

fn after(moment: Moment, minutes: i64) -> Moment {
    Moment(moment.0.checked_add(minutes.minutes()).unwrap_or(moment.0))
}

/// 64 letters and digits that nobody can guess: 256 bits from the system's own source of chance.
///
/// # Errors
/// Where the system has no source of chance.
pub fn new_token() -> Result<String, getrandom::Error> {
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes)?;
    Ok(hex(&bytes))
}

/// What the book keeps of a token. A token has 256 bits of chance, so that a plain fast hash is enough.
#[must_use]
pub fn hash_of(token: &str) -> String {
    hex(&Sha256::digest(token.as_bytes()))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
        text.push(digit(byte >> 4));
        text.push(digit(byte & 15));
        text
    })
}

fn digit(value: u8) -> char {
    char::from_digit(u32::from(value), 16).unwrap_or('0')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Moment {
        text.parse().unwrap()
    }

    #[test]
    fn a_session_ends_over_night_and_after_a_month() {
        let begun = at("2026-05-04T08:00:00Z");
        let ends = latest_end(begun);
        assert_eq!(ends, at("2026-06-03T08:00:00Z"));
        assert!(holds(at("2026-05-04T19:59:59Z"), begun, ends));
        assert!(!holds(at("2026-05-04T20:00:00Z"), begun, ends), "unused for twelve hours");
        assert!(
            !holds(at("2026-06-03T08:00:00Z"), at("2026-06-03T07:59:00Z"), ends),
            "used, but a month old"
        );
        assert!(!is_to_be_noted(at("2026-05-04T08:09:59Z"), begun));
        assert!(is_to_be_noted(at("2026-05-04T08:10:00Z"), begun));
    }

    #[test]
    fn a_token_is_long_and_never_the_same() {
        let (one, other) = (new_token().unwrap(), new_token().unwrap());
        assert_eq!(one.len(), 64);
        assert_ne!(one, other);
    }

    /// FIPS 180-4's own example: the SHA-256 of "abc".
    #[test]
    fn the_book_keeps_the_tokens_sha_256() {
        assert_eq!(hash_of("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
