//! What every page stands on: the state handed to handlers, errors, forms, notices, headers,
//! the door and the lines through it, static files.
//! Knows `ground` and `db`; knows no stage.

pub mod answer;
pub mod chance;
pub mod cookies;
pub mod door;
pub mod errand;
pub mod flash;
pub mod forms;
pub mod guard;
pub mod path;
pub mod serving;
pub mod state;
pub mod static_files;
pub mod throttle;
