//! The forms of this room: counting a delivery in, and booking a loss at the bench.

pub mod bench;
pub mod count;
