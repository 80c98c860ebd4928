//! The forms of the price list: what was typed in, and what comes of it.

pub mod file;
pub mod material;
pub mod offer;
pub mod supplier;
