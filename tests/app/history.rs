//! The book's history: what is written down of each act, by whom, that no table is forgotten; how it is shown; taking acts
//! back; and records that were removed under one's hands.

mod gone;
mod kept;
mod shown;
mod undone;
mod undone_at_random;
