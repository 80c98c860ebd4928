//! Reading a price list's file against the book: each line becomes forms, each form what is new, changed, the same or
//! refused. Knows no database: the list is handed in, what is to be written is handed out.

mod cells;
mod entities;
mod export;
mod offers;
mod plan;

pub use export::export;
pub use plan::{Change, LineReport, LineStanding, Plan, plan};

#[cfg(test)]
mod tests;
