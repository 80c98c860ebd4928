//! Where the work can hurt someone: the usual cautions, as a set of bits on materials and recipes.
//! Each defers to the venue, local codes and licensed practice.

use serde::{Deserialize, Serialize};

/// One usual caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Caution {
    /// Candles and other open flame.
    Flame,
    /// Anything hung above people.
    Overhead,
    /// Structures that stand by themselves.
    Freestanding,
    /// Work from a ladder.
    Ladder,
    /// Heavy crates and vessels.
    Lifting,
    /// Knives, wire, thorns.
    Sharp,
    /// Plants that are toxic or irritating.
    Toxic,
    /// Flowers on or near food.
    Food,
    /// Dry floral foam.
    FoamDust,
    /// Residues on imported stems.
    Residue,
    /// Electricity near water.
    Electricity,
}

impl Caution {
    /// Every caution, in the order in which pages show them.
    pub const ALL: [Caution; 11] = [
        Caution::Flame,
        Caution::Overhead,
        Caution::Freestanding,
        Caution::Ladder,
        Caution::Lifting,
        Caution::Sharp,
        Caution::Toxic,
        Caution::Food,
        Caution::FoamDust,
        Caution::Residue,
        Caution::Electricity,
    ];

    const fn bit(self) -> i64 {
        1 << self as i64
    }

    /// A short name, also the form's value.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Caution::Flame => "Open flame",
            Caution::Overhead => "Overhead",
            Caution::Freestanding => "Freestanding",
            Caution::Ladder => "Ladder",
            Caution::Lifting => "Heavy",
            Caution::Sharp => "Sharp",
            Caution::Toxic => "Toxic or irritating",
            Caution::Food => "Near food",
            Caution::FoamDust => "Foam dust",
            Caution::Residue => "Residues",
            Caution::Electricity => "Electricity and water",
        }
    }

    /// The usual caution in a sentence or two.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Caution::Flame => {
                "Keep flames clear of foliage and fabric and never unattended; the venue and the fire code decide whether they are allowed."
            }
            Caution::Overhead => {
                "Hang only from points rated for the load, by a competent installer; the venue and local codes decide."
            }
            Caution::Freestanding => {
                "Weight or fix it so that it cannot tip, outdoors against wind; have a competent person check it."
            }
            Caution::Ladder => "Use a sound ladder on firm ground with someone at its foot.",
            Caution::Lifting => "Over 23 kg (51 lb) two people lift, or it is carried in parts.",
            Caution::Sharp => {
                "Cut away from yourself; gloves for wire and thorns; sharps go into their own box."
            }
            Caution::Toxic => {
                "Toxic or irritating to people or pets: wear gloves, wash hands, keep from children and animals (lilies from cats)."
            }
            Caution::Food => {
                "Only food-grade flowers, never toxic species, on or near food: ask the caterer."
            }
            Caution::FoamDust => "Do not breathe dry foam dust: soak before cutting, wash hands.",
            Caution::Residue => {
                "Imported stems may carry pesticide residues: gloves, and wash hands before eating."
            }
            Caution::Electricity => {
                "Keep leads and fittings away from water; use equipment made for wet places, fitted by someone qualified."
            }
        }
    }
}

/// A set of cautions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize, sqlx::Type)]
#[sqlx(transparent)]
#[serde(transparent)]
pub struct Cautions(pub i64);

impl Cautions {
    /// The set of these.
    #[must_use]
    pub fn of(list: &[Caution]) -> Cautions {
        Cautions(list.iter().fold(0, |bits, caution| bits | caution.bit()))
    }

    /// Whether it holds the caution.
    #[must_use]
    pub const fn has(self, caution: Caution) -> bool {
        self.0 & caution.bit() != 0
    }

    /// Both sets together.
    #[must_use]
    pub const fn and(self, other: Cautions) -> Cautions {
        Cautions(self.0 | other.0)
    }

    /// Its members, in page order.
    #[must_use]
    pub fn list(self) -> Vec<Caution> {
        Caution::ALL.into_iter().filter(|caution| self.has(*caution)).collect()
    }
}
