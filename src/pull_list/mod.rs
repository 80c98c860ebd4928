//! What leaves the door for each event: vessels, sundries, tools, spares. May import the stages before it.

pub mod pages;
pub mod vessel_water;
