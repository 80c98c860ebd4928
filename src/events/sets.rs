//! Named sets of pieces, and with what an event begins: a set, or the pieces of another event. Counts a table and a guest
//! follow the new event's tables and guests; counts in all come as they are.
//!
//! May import: plain values of the ground, this stage's types.

use super::{NewPiece, Piece};
use crate::ground::ids::{EventId, PieceSetId};

/// A named set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PieceSet {
    /// Its identity.
    pub id: PieceSetId,
    /// Its name, alone of its kind.
    pub name: String,
    /// What is in it, a line each: `Low bowl, 1 a table, Long room`.
    pub lines: Vec<String>,
}

/// With what an event begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beginning {
    /// A named set.
    Set(PieceSetId),
    /// Another event's pieces.
    Event(EventId),
}

/// The pieces an event has, followed by those it begins with.
#[must_use]
pub fn joined(own: &[Piece], more: Vec<NewPiece>) -> Vec<NewPiece> {
    let kept = own.iter().map(|piece| NewPiece { id: Some(piece.id), ..piece.again() });
    kept.chain(more).enumerate().map(|(row, piece)| NewPiece { row, ..piece }).collect()
}

impl Piece {
    /// The piece once more, as a new one.
    #[must_use]
    pub fn again(&self) -> NewPiece {
        NewPiece {
            row: 0,
            id: None,
            place: self.place.clone(),
            recipe_id: self.recipe_id,
            rule: self.rule,
            count: self.count,
            note: self.note.clone(),
        }
    }
}
