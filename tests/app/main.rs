//! The app through its router: real HTTP requests, a real SQLite file of its own for each test.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod accounts;
mod backups;
mod bench_plan;
mod bench_supper;
mod book_files;
mod budget;
mod calendar;
mod change;
mod change_note;
mod choices;
mod clients;
mod closed_days;
mod command_line;
mod demo;
mod desk;
mod event_work;
mod events;
mod freshness;
mod house;
mod killed;
mod loading;
mod loans;
mod losses;
mod machine;
mod mishaps;
mod money_run;
mod papers;
mod placing;
mod prep;
mod prep_placed;
mod price_list;
mod pull_list;
mod quotes;
mod reasons;
mod receiving;
mod recipes;
mod reminders;
mod run_sheet;
mod settings;
mod stem_order;
mod stock;
mod support;
mod ticks;
