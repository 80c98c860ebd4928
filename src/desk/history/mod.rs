//! The history as people read it: of one record or of the whole book, who did what when, in the words of the pages; taking an
//! act back; and what to say where a record was removed under one's hands. What is kept and how an act is taken back is
//! `db::history`'s. May import every stage.

pub mod gone;
pub mod pages;
pub mod store;
pub mod telling;
mod undoing;
mod values;
pub mod words;

use std::collections::BTreeMap;

use serde_json::{Map, Value};

use crate::db::history::undo::Change;
use crate::ground::dates::{Day, Moment};

/// A row's values by column.
pub type Columns = Map<String, Value>;

/// The names of rows, by table and number.
pub type Names = BTreeMap<(String, i64), String>;

/// An act, without what it changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Act {
    /// Its number.
    pub id: i64,
    /// When it was done.
    pub done_at: Moment,
    /// Who did it; empty where nobody said.
    pub who: String,
    /// The act that it takes back, if it does.
    pub undoes_id: Option<i64>,
}

/// What is asked of the history.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Asked {
    /// Of which record; empty for all.
    pub of: String,
    /// Of which kind of record; empty for all.
    pub kind: String,
    /// By whom; empty for all.
    pub who: String,
    /// Until which day.
    pub until: Option<Day>,
}

/// A change with its row as it was left by it; of a deleted row, as it was.
#[derive(Debug, Clone, PartialEq)]
pub struct Changed {
    /// The change.
    pub change: Change,
    /// The row, as far as it can be told.
    pub row: Columns,
}
