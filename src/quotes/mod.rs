//! What the client is asked for: priced pieces, charges, discount, tax, totals that tie (C4); frozen versions and acceptance. May import the stages before it.

pub mod pages;
pub mod tax;
pub mod totals;
