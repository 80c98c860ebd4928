//! What every page stands on: the state handed to handlers, errors, forms, notices, headers, static files.
//! Knows `ground` and `db`; knows no stage.

pub mod answer;
pub mod chance;
pub mod errand;
pub mod flash;
pub mod forms;
pub mod guard;
pub mod path;
pub mod state;
pub mod static_files;
