//! The calculations against values from outside the project: published, or computed by a general reference library.
//! Each fixture names its sources.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod allowance;
mod bench_plan;
mod brute;
mod buying_plan;
mod buying_plan_laws;
mod calendar;
mod care_rules;
mod change_note;
mod countries;
mod crates;
mod cutting;
mod e_invoice;
mod e_invoice_rules;
mod feast_days;
mod fit_to_budget;
mod freshness;
mod invoices;
mod physics;
mod pieces;
mod price_list;
mod pricing;
mod rules_of_thumb;
#[path = "../../src/accounts/samples.rs"]
#[expect(dead_code, reason = "not every sample is needed here")]
mod samples;
mod variance;

// The samples stand in the crate and name its rooms so.
use trug::{accounts, ground, quotes, studio};
