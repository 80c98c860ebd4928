//! Fit to budget (C6): each piece may be made by one of several recipes of its set (lush, as designed, light), and the
//! best choice within what the client wants to spend is found exactly, with what a little more or less would buy.
//!
//! May import the stages before it and the room's own calculations.
//!
//! # Invariants
//! - A set is the studio's and holds for all events; how much a piece matters is the event's.
//! - Nothing is kept by looking. A choice that is taken goes through the quote's own grid, as if typed.

pub mod alternatives;
pub mod fit;
pub mod forms;
pub mod frontier;
pub mod pages;
pub mod store;

use crate::ground::ids::{PieceId, RecipeId};

/// A recipe of a set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alternative {
    /// Which recipe.
    pub recipe: RecipeId,
    /// That recipe's name.
    pub name: String,
    /// The set's name.
    pub set: String,
    /// Per cent of the piece as it was designed, 1 to 1000.
    pub worth: i64,
}

/// How much a piece matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wish {
    /// Which piece.
    pub piece: PieceId,
    /// 0 (not at all) to 10.
    pub importance: i64,
    /// Whether it may be left out.
    pub may_leave_out: bool,
}

impl Wish {
    /// The importance of a piece of which nothing was said.
    pub const USUAL_IMPORTANCE: i64 = 5;

    /// What holds of a piece where nothing was said.
    #[must_use]
    pub fn usual(piece: PieceId) -> Wish {
        Wish { piece, importance: Wish::USUAL_IMPORTANCE, may_leave_out: false }
    }
}
