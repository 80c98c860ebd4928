//! Crates and vans (C9): which pieces stand in which crate, how heavy it is, whether all of it fits the van, and in which
//! order it goes in. May import the stages before this one and this stage's own rooms.

pub mod crates;
pub mod forms;
pub mod goods;
pub mod packing;
pub mod pages;
pub mod sheet;
pub mod sizes;
pub mod store;
pub mod usual;
pub mod vans;

use crate::ground::ids::{CrateKindId, VanId};
use crate::ground::quantity::Length;
use crate::ground::weight::Weight;

/// A kind of crate that the studio has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CrateKind {
    /// Its identity; none where it is not in the book yet.
    pub id: Option<CrateKindId>,
    /// Its name, alone of its kind.
    pub name: String,
    /// Inside, along.
    pub length: Length,
    /// Inside, across.
    pub width: Length,
    /// How high a piece may stand in it.
    pub clear_height: Length,
    /// What it weighs empty.
    pub own_weight: Weight,
    /// What it may weigh full.
    pub most_weight: Weight,
    /// Whether another may stand on it.
    pub stackable: bool,
}

/// A van that the studio drives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Van {
    /// Its identity; none where it is not in the book yet.
    pub id: Option<VanId>,
    /// Its name, alone of its kind.
    pub name: String,
    /// Its floor, from bulkhead to doors.
    pub length: Length,
    /// Its floor, across.
    pub width: Length,
    /// Its height inside.
    pub height: Length,
    /// What it may carry.
    pub payload: Weight,
}
