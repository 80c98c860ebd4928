//! `trug check`: is the book whole, do its figures tie, does each row know where it belongs? Reads only. What SQLite itself can
//! tell (each page whole, each reference kept) is `db::files`'; this looks at what only the trade knows: frozen papers
//! that can be read and add up, invoices without gaps, lots that are what was counted, a history that ends where the rows
//! are. May know every room, as the desk does.

mod documents;
mod history;
mod pictures;
mod ties;

use std::fmt;
use std::path::Path;

use sqlx::SqliteConnection;
use thiserror::Error;

use crate::db::{Book, BookError};

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Something is wrong.
    Wrong,
    /// Nothing is wrong, but one may want to know.
    Note,
}

/// Something that does not tie.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it weighs.
    pub weight: Weight,
    /// What it is, as a sentence without its end.
    pub what: String,
    /// Which rows, as the studio calls them.
    pub which: Vec<String>,
}

/// So many rows are named; the rest are counted.
const MOST_NAMED: usize = 8;

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let named: Vec<&str> = self.which.iter().take(MOST_NAMED).map(String::as_str).collect();
        write!(f, "{}: {}", self.what, named.join("; "))?;
        match self.which.len().saturating_sub(MOST_NAMED) {
            0 => f.write_str("."),
            more => write!(f, "; and {more} more."),
        }
    }
}

impl Finding {
    /// Something wrong with some rows; nothing where there are none.
    fn wrong(what: &str, which: Vec<String>) -> Option<Finding> {
        Finding::of(Weight::Wrong, what, which)
    }

    /// Something to know of some rows; nothing where there are none.
    fn note(what: &str, which: Vec<String>) -> Option<Finding> {
        Finding::of(Weight::Note, what, which)
    }

    fn of(weight: Weight, what: &str, which: Vec<String>) -> Option<Finding> {
        (!which.is_empty()).then(|| Finding { weight, what: what.to_owned(), which })
    }
}

/// Why a book cannot be looked at.
#[derive(Debug, Error)]
pub enum CheckError {
    /// The file itself.
    #[error(transparent)]
    Book(#[from] BookError),
    /// What SQLite said.
    #[error("The book could not be read: {0}.")]
    Sql(#[from] sqlx::Error),
}

/// Looks through a book that is whole as a file. Nothing is written, and a book of an earlier Trug stays as it is.
pub async fn check(path: &Path) -> Result<Vec<Finding>, CheckError> {
    let mut connection = Book::to_look_at(path).await?;
    // All of it from one moment, even while the book is in use.
    sqlx::query("BEGIN").execute(&mut connection).await?;
    Ok(findings(&mut connection).await?)
}

/// The same on an open connection.
pub async fn findings(connection: &mut SqliteConnection) -> Result<Vec<Finding>, sqlx::Error> {
    let mut found = ties::findings(connection).await?;
    found.extend(documents::findings(connection).await?);
    found.extend(pictures::findings(connection).await?);
    found.extend(history::findings(connection).await?);
    Ok(found)
}
