//! Pages that look across the stages: the week ahead, one event with what is next, search. May import every stage.

pub mod pages;
pub mod standing;
