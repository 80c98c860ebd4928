//! The book: one SQLite file. Opening it, reading, writing in one immediate transaction, copying it.
//! Knows `ground` only; every table belongs to the stage that names it.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::migrate::Migrator;
use sqlx::pool::PoolConnection;
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqlitePool, SqlitePoolOptions,
    SqliteSynchronous,
};
use sqlx::{Connection, Sqlite, Transaction};
use thiserror::Error;

static MIGRATIONS: Migrator = sqlx::migrate!();

/// Why a book cannot be opened, in sentences for the person who started Trug.
#[derive(Debug, Error)]
pub enum BookError {
    /// The file is not a Trug book.
    #[error(
        "{0} is not a Trug book, or it is damaged. Nothing was changed. Restore a backup with `trug restore`, or choose another file with --data."
    )]
    NotABook(PathBuf),
    /// The file was made by a later Trug.
    #[error(
        "{0} was written by a newer version of Trug than this one. Nothing was changed. Start the newer version."
    )]
    Newer(PathBuf),
    /// No book where one is needed.
    #[error("There is no book at {0}. `trug serve` makes one.")]
    Missing(PathBuf),
    /// The file or its folder cannot be used.
    #[error("{path} cannot be opened: {source}.")]
    Unusable {
        /// Which file or folder.
        path: PathBuf,
        /// What the system or SQLite said.
        source: anyhow::Error,
    },
}

/// An open book: a few readers and one writer.
#[derive(Debug, Clone)]
pub struct Book {
    readers: SqlitePool,
    writer: SqlitePool,
    path: PathBuf,
}

impl Book {
    /// Opens the book at the path, making and migrating it where needed.
    pub async fn open(path: &Path) -> Result<Book, BookError> {
        let unusable = |source: anyhow::Error| BookError::Unusable { path: path.to_owned(), source };
        if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
            fs::create_dir_all(folder).map_err(|error| unusable(error.into()))?;
        }
        let options = options(path).create_if_missing(true);
        let mut connection =
            SqliteConnection::connect_with(&options).await.map_err(|error| refused(path, error))?;
        ours(path, &mut connection).await?;
        MIGRATIONS.run(&mut connection).await.map_err(|error| match error {
            sqlx::migrate::MigrateError::VersionMissing(_) => BookError::Newer(path.to_owned()),
            other => unusable(other.into()),
        })?;
        connection.close().await.map_err(|error| unusable(error.into()))?;
        let readers =
            SqlitePoolOptions::new().max_connections(4).connect_lazy_with(options.clone().read_only(true));
        let writer = SqlitePoolOptions::new().max_connections(1).connect_lazy_with(options);
        Ok(Book { readers, writer, path: path.to_owned() })
    }

    /// Opens a book that must already be there.
    pub async fn open_existing(path: &Path) -> Result<Book, BookError> {
        if path.exists() { Book::open(path).await } else { Err(BookError::Missing(path.to_owned())) }
    }

    /// A connection to read with.
    pub async fn read(&self) -> Result<PoolConnection<Sqlite>, sqlx::Error> {
        self.readers.acquire().await
    }

    /// A transaction to write in, begun immediately: it waits for its turn instead of failing half-way.
    /// Dropping it rolls back; only `commit` keeps.
    pub async fn write(&self) -> Result<Transaction<'static, Sqlite>, sqlx::Error> {
        self.writer.begin_with("BEGIN IMMEDIATE").await
    }

    /// Where the book lies.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes a consistent copy of the book to a file that must not exist yet.
    pub async fn copy_to(&self, file: &Path) -> Result<(), sqlx::Error> {
        let mut connection = self.writer.acquire().await?;
        let file = file.to_string_lossy().into_owned();
        sqlx::query("VACUUM INTO ?").bind(file).execute(&mut *connection).await.map(drop)
    }

    /// Closes the book, so that its file is whole on its own.
    pub async fn close(&self) {
        self.readers.close().await;
        self.writer.close().await;
    }
}

fn options(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(Duration::from_secs(5))
        .row_buffer_size(512)
        .optimize_on_close(true, None)
}

/// Refuses a file that holds something other than a book, before anything is written to it.
async fn ours(path: &Path, connection: &mut SqliteConnection) -> Result<(), BookError> {
    let tables: Vec<String> = sqlx::query_scalar("SELECT name FROM sqlite_schema WHERE type = 'table'")
        .fetch_all(&mut *connection)
        .await
        .map_err(|error| refused(path, error))?;
    let empty = tables.is_empty();
    let book = tables.iter().any(|name| name == "_sqlx_migrations");
    if empty || book { Ok(()) } else { Err(BookError::NotABook(path.to_owned())) }
}

fn refused(path: &Path, error: sqlx::Error) -> BookError {
    let damaged = error.as_database_error().is_some_and(|db| {
        // SQLITE_CORRUPT and SQLITE_NOTADB.
        db.code().is_some_and(|code| code == "11" || code == "26")
    });
    if damaged {
        BookError::NotABook(path.to_owned())
    } else {
        BookError::Unusable { path: path.to_owned(), source: error.into() }
    }
}
