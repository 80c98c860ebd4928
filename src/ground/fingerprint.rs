//! Tells one state of some values from another: what was seen when a page was made, what a form asks for, which document
//! is kept once. The same values give the same fingerprint on every machine and after every update of Trug, since some
//! are kept in the book.
//!
//! The first 128 bits of SHA-256 (FIPS 180-4) over the bytes that a value's `Hash` feeds, whole numbers as little-endian
//! words of a fixed width, sizes and places as 64 bits. The standard library promises no such thing of its own hasher.
//! How it feeds text and lists it does not promise either: a test holds known values, so that a compiler that feeds
//! them otherwise is noticed before a release.
//!
//! May import: `sha2`.

use std::hash::{Hash, Hasher};

use sha2::{Digest, Sha256};

/// The fingerprint of some values: 32 digits and letters.
///
/// ```
/// use trug::ground::fingerprint::fingerprint;
/// assert_eq!(fingerprint(&("Ada", 20)), fingerprint(&("Ada", 20)));
/// assert_ne!(fingerprint(&("Ada", 20)), fingerprint(&("Ada", 21)));
/// ```
#[must_use]
pub fn fingerprint(value: &(impl Hash + ?Sized)) -> String {
    let mut bytes = Bytes(Sha256::new());
    value.hash(&mut bytes);
    let digest = bytes.0.finalize();
    digest.iter().take(16).fold(String::with_capacity(32), |mut words, byte| {
        for half in [byte >> 4, byte & 15] {
            words.extend(char::from_digit(u32::from(half), 16));
        }
        words
    })
}

/// Takes what a value's `Hash` feeds.
struct Bytes(Sha256);

macro_rules! fixed {
    ($($name:ident $kind:ty),*) => {
        $(fn $name(&mut self, number: $kind) {
            self.0.update(number.to_le_bytes());
        })*
    };
}

impl Hasher for Bytes {
    fn write(&mut self, bytes: &[u8]) {
        self.0.update(bytes);
    }

    fixed!(write_u16 u16, write_u32 u32, write_u64 u64, write_u128 u128);
    fixed!(write_i16 i16, write_i32 i32, write_i64 i64, write_i128 i128);

    fn write_usize(&mut self, number: usize) {
        self.write_u128(number as u128);
    }

    fn write_isize(&mut self, number: isize) {
        self.write_i128(number as i128);
    }

    /// Not asked for: the digest is read whole.
    fn finish(&self) -> u64 {
        self.0.clone().finalize().iter().take(8).fold(0, |word, byte| (word << 8) | u64::from(*byte))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    struct Raw(&'static [u8]);

    impl Hash for Raw {
        fn hash<H: Hasher>(&self, state: &mut H) {
            state.write(self.0);
        }
    }

    #[test]
    fn nothing_and_three_letters_are_those_of_the_standard() {
        // FIPS 180-4's example "abc" and the digest of nothing, as published by NIST; the first half of each.
        assert_eq!(fingerprint(&()), "e3b0c44298fc1c149afbf4c8996fb924");
        assert_eq!(fingerprint(&Raw(b"abc")), "ba7816bf8f01cfea414140de5dae2223");
    }

    #[derive(Hash)]
    enum Way {
        Here,
        There(i64),
    }

    /// What is kept in books must not change with the compiler: these are the values of the first release.
    #[test]
    fn the_same_values_give_the_same_fingerprint_for_ever() {
        assert_eq!(fingerprint("Ada"), KNOWN[0]);
        assert_eq!(fingerprint(&(7_i64, Some(String::from("x")), vec![1_u32, 2], true)), KNOWN[1]);
        assert_eq!(fingerprint(&[Way::Here, Way::There(-3)]), KNOWN[2]);
    }

    const KNOWN: [&str; 3] = [
        "f95bafbdd342b60e0303137a936cb8ad",
        "f18599309ea746e35d122abf92ccfc0c",
        "9af03834ddc674545d2aca65971d97ad",
    ];

    #[test]
    fn what_stands_in_which_field_tells_apart() {
        assert_ne!(fingerprint(&("ab", "c")), fingerprint(&("a", "bc")));
        assert_ne!(fingerprint(&(vec!["a"], vec!["b"])), fingerprint(&(vec!["a", "b"], Vec::<&str>::new())));
        assert_ne!(fingerprint(&Some(0_i64)), fingerprint(&None::<i64>));
    }

    proptest! {
        #[test]
        fn other_values_have_another(one: (i64, String, Vec<String>), other: (i64, String, Vec<String>)) {
            prop_assert_eq!(one == other, fingerprint(&one) == fingerprint(&other));
            prop_assert_eq!(fingerprint(&one).len(), 32);
        }
    }
}
