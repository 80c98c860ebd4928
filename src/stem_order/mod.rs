//! One wholesale order for several events: need, cutting list (C1), allowance (C2), buying plan (C3), split by event (C5). May import the stages before it.

pub mod allowance;
pub mod buying_plan;
pub mod calendar;
pub mod change;
pub mod choices;
pub mod closed_days;
pub mod cuts;
pub mod cutting;
pub mod forms;
pub mod losses;
pub mod order;
pub mod order_csv;
pub mod pages;
pub mod placing;
pub mod posed;
pub mod receiving;
#[cfg(test)]
pub(crate) mod samples;
pub mod spares;
pub mod stock;
pub mod store;
pub mod weekend;
pub mod windows;
