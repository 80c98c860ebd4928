//! Writes amounts and days in the room's templates, which lend what they show.

#![expect(clippy::trivially_copy_pass_by_ref, reason = "a template lends every argument")]

use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::ground::quantity::Share;

/// The studio's way of writing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ink(pub Formats);

impl Ink {
    pub(crate) fn money(&self, amount: &Money) -> String {
        self.0.money(*amount)
    }

    /// An amount that is taken off.
    pub(crate) fn less(&self, amount: &Money) -> String {
        self.0.money(-*amount)
    }

    pub(crate) fn day(&self, day: &Day) -> String {
        self.0.day(*day)
    }

    pub(crate) fn weekday(&self, day: &Day) -> String {
        self.0.weekday(*day)
    }

    pub(crate) fn share(&self, share: &Share) -> String {
        self.0.share(*share)
    }
}
