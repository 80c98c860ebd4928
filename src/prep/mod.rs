//! The bench's days before the events: what arrives, what is conditioned, cut and made. May import the stages before it.

pub mod freshness;
pub mod pages;
