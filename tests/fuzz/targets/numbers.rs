//! Money, lengths, shares, factors, quantities, weights.
#![no_main]

#[path = "../bodies.rs"]
#[allow(dead_code, reason = "the other targets' bodies")]
mod bodies;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bodies::numbers(bytes));
