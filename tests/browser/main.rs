//! The main paths in a real browser, and every page against WCAG 2.2 AA (axe-core) and the HTML standard (html-validate).

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod buying;
mod doors;
mod every_page;
mod keyboard;
mod keyboard_buying;
mod keyboard_quote;
mod papers;
mod refused;
mod stories;
mod support;
mod weekend;
