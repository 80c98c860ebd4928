//! All SQL of the room's tables.

pub mod invoices;
pub mod payments;
pub mod plan;
pub mod reminders;
pub mod terms;
