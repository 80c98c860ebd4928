//! All SQL of the room's tables.

pub mod charged_loans;
pub mod invoices;
pub mod payments;
pub mod plan;
pub mod reminders;
pub mod terms;
