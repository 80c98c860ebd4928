//! A set of deliveries, as bits. Imports nothing.

use std::ops::{BitAnd, BitOr, BitOrAssign};

const WORDS: usize = 8;

/// So many deliveries a set can hold.
pub(super) const MOST_DELIVERIES: usize = WORDS * 64;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(super) struct Set([u64; WORDS]);

impl Set {
    pub(super) const fn none() -> Self {
        Self([0; WORDS])
    }

    pub(super) fn first(count: usize) -> Self {
        (0..count).fold(Self::none(), Self::with)
    }

    pub(super) fn has(&self, delivery: usize) -> bool {
        self.0[delivery / 64] & (1 << (delivery % 64)) != 0
    }

    pub(super) fn with(mut self, delivery: usize) -> Self {
        self.0[delivery / 64] |= 1 << (delivery % 64);
        self
    }

    pub(super) fn without(mut self, delivery: usize) -> Self {
        self.0[delivery / 64] &= !(1 << (delivery % 64));
        self
    }

    /// What is in this set and not in the other.
    pub(super) fn less(self, other: Self) -> Self {
        self.both(other, |one, other| one & !other)
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.iter().all(|&word| word == 0)
    }

    pub(super) fn within(&self, other: &Self) -> bool {
        self.0.iter().zip(&other.0).all(|(one, other)| one & !other == 0)
    }

    pub(super) fn members(self) -> impl Iterator<Item = usize> {
        self.0.into_iter().enumerate().flat_map(|(at, mut word)| {
            std::iter::from_fn(move || {
                let bit = usize::try_from(word.trailing_zeros()).ok().filter(|&bit| bit < 64)?;
                word &= word - 1;
                Some(at * 64 + bit)
            })
        })
    }

    fn both(mut self, other: Self, join: fn(u64, u64) -> u64) -> Self {
        for (one, other) in self.0.iter_mut().zip(other.0) {
            *one = join(*one, other);
        }
        self
    }
}

impl BitAnd for Set {
    type Output = Self;
    fn bitand(self, other: Self) -> Self {
        self.both(other, |one, other| one & other)
    }
}

impl BitOr for Set {
    type Output = Self;
    fn bitor(self, other: Self) -> Self {
        self.both(other, |one, other| one | other)
    }
}

impl BitOrAssign for Set {
    fn bitor_assign(&mut self, other: Self) {
        *self = *self | other;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn members_come_back_in_order() {
        let set = [500, 3, 64, 63].into_iter().fold(Set::none(), Set::with);
        assert_eq!(set.members().collect::<Vec<_>>(), [3, 63, 64, 500]);
        assert!(set.without(64).within(&set) && !set.within(&set.without(64)));
        assert_eq!(set.less(set.without(3)), Set::none().with(3));
    }
}
