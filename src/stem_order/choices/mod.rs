//! What the buyer chooses by hand, and what it costs: why a line is as it is and what the next best would be, choices
//! that are kept in the address ("only from this supplier", "not this pack"), and the cheapest order with one supplier
//! fewer.
//!
//! A choice only ever narrows the market; nothing of it is kept in the book.
//!
//! May import `ground`, types of earlier rooms, and the room's own need and plan.

pub mod changes;
pub mod one_fewer;
pub mod pages;
pub mod pinned;
pub mod pins;
pub mod space;
pub mod why;
