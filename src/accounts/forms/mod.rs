//! What is typed into the room's forms.

pub mod crediting;
pub mod extras;
pub mod parts;
pub mod party;
pub mod payments;
pub mod plan;
pub mod terms;
