//! The whole book as files anyone can read: one CSV file a table, pictures as files beside them, a README that says
//! what every column means. Nobody is locked in: what was exported can be imported into an empty book without loss.
//!
//! Driven by the schema itself, so that a later migration's tables are included by themselves. Like the desk it may
//! know every room, but needs only `ground` and `db`.

pub mod cell;
pub mod dictionary;
pub mod export;
pub mod import;
mod readme;
mod rows;
pub mod source;

use std::fmt;
use std::path::{Path, PathBuf};

use sqlx::{AssertSqlSafe, SqliteConnection};
use thiserror::Error;

use crate::db::schema::Table;
use crate::db::{Book, BookError, schema};

/// The file that says what the folder is and at which step of the schema it was made.
pub const MARK_FILE: &str = "trug.csv";
/// The word in that file.
pub const FORMAT: &str = "trug book files";
/// The folder with the pictures, inside the export's.
pub const PICTURES: &str = "pictures";

/// One thing in the files that cannot be read, with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Which file.
    pub file: String,
    /// Which row, as a spreadsheet counts: the header is row 1.
    pub row: Option<u64>,
    /// Which column.
    pub column: Option<String>,
    /// What is wrong, as a sentence.
    pub reason: String,
}

impl Problem {
    /// A problem with a whole file.
    #[must_use]
    pub fn of_file(file: &str, reason: impl Into<String>) -> Problem {
        Problem { file: file.into(), row: None, column: None, reason: reason.into() }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(row) = self.row {
            write!(f, ", row {row}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", column {column}")?;
        }
        write!(f, ": {}", self.reason)
    }
}

/// Why a book was not written to files, or files not read into a book.
#[derive(Debug, Error)]
pub enum BookFilesError {
    /// The folder to read is not an export.
    #[error("{0} is not a folder made by `trug export`: {1} Nothing was changed.")]
    NotAnExport(PathBuf, String),
    /// The files come from a later Trug.
    #[error(
        "These files were exported by a newer version of Trug (step {0}; this one knows {1}). Nothing was changed. Use the newer version."
    )]
    Newer(i64, i64),
    /// The files hold what the book cannot take.
    #[error("The files were not read; nothing was changed.{}", listed(.0))]
    Refused(Vec<Problem>),
    /// The folder to write holds something.
    #[error("{0} is there already and not empty. Choose a folder that is not there yet.")]
    Occupied(PathBuf),
    /// A file or folder cannot be used.
    #[error("{path} cannot be used: {source}.")]
    File {
        /// Which.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The book itself.
    #[error(transparent)]
    Book(#[from] BookError),
    /// What SQLite said.
    #[error("The book could not be read or written: {0}.")]
    Sql(#[from] sqlx::Error),
}

impl BookFilesError {
    fn file(path: &Path) -> impl FnOnce(std::io::Error) -> BookFilesError {
        let path = path.to_owned();
        move |source| BookFilesError::File { path, source }
    }
}

fn listed(problems: &[Problem]) -> String {
    problems.iter().fold(String::new(), |list, problem| format!("{list}\n  {problem}"))
}

/// What no file holds: what lets somebody in.
const LEFT_OUT: [&str; 2] = ["passphrase", "session"];

/// The tables that go out and come in, parents before children.
async fn tables(connection: &mut SqliteConnection) -> Result<Vec<Table>, sqlx::Error> {
    let mut tables = schema::tables(connection).await?;
    tables.retain(|table| !LEFT_OUT.contains(&table.name.as_str()));
    Ok(tables)
}

/// Whether a book holds no row in any table.
pub async fn is_empty(book: &Book) -> Result<bool, BookFilesError> {
    let mut connection = book.read().await?;
    for table in schema::tables(&mut connection).await? {
        let sql = format!("SELECT EXISTS (SELECT 1 FROM {})", schema::quoted(&table.name));
        if sqlx::query_scalar(AssertSqlSafe(sql)).fetch_one(&mut *connection).await? {
            return Ok(false);
        }
    }
    Ok(true)
}
