//! The book: one SQLite file. Opening it, reading, writing in one immediate transaction, copying it.
//! Knows `ground` only; every table belongs to the stage that names it.

pub mod backups;
pub mod files;
pub mod history;
pub mod remembered;
pub mod schema;

use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicI64;
use std::time::Duration;

use sqlx::migrate::{MigrateError, Migrator};
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
    /// The file was made by an earlier Trug, and this may not change it.
    #[error(
        "{0} is whole, but an earlier version of Trug wrote it last. Start `trug serve` once, so that it is brought up to date, then check again."
    )]
    Older(PathBuf),
    /// No book where one is needed.
    #[error("There is no book at {0}. `trug serve` makes one.")]
    Missing(PathBuf),
    /// The file is a book, but parts of it cannot be read.
    #[error("{path} is damaged: {what}. Nothing was changed. Restore a backup with `trug restore`.")]
    Damaged {
        /// Which file.
        path: PathBuf,
        /// What SQLite's check found first.
        what: String,
    },
    /// Somebody else has the book open.
    #[error("{0} is in use. End the Trug that serves it, then try again. Nothing was changed.")]
    InUse(PathBuf),
    /// A file would be overwritten.
    #[error("{0} is there already. Choose another name; nothing is overwritten.")]
    Occupied(PathBuf),
    /// A second place for backups that is not there.
    #[error(
        "There is no folder {0} now. If it is on another disk, connect it; backups beside the book go on."
    )]
    NoFolder(PathBuf),
    /// The folder is closed to this user.
    #[error("{0} cannot be written: the folder does not allow it. Choose a folder of your own with --data.")]
    NotAllowed(PathBuf),
    /// The file or its folder cannot be used.
    #[error("{path} cannot be opened: {source}.")]
    Unusable {
        /// Which file or folder.
        path: PathBuf,
        /// What the system or SQLite said.
        source: anyhow::Error,
    },
}

/// So many pages read at a time; the others wait for their turn.
const READERS: u32 = 8;
/// Who waits longer for a turn is told that too much is asked of the book.
const LONGEST_WAIT: Duration = Duration::from_secs(15);

/// An open book: a few readers and one writer.
#[derive(Debug, Clone)]
pub struct Book {
    readers: SqlitePool,
    writer: SqlitePool,
    path: PathBuf,
    /// The highest number of an act given so far.
    acts: Arc<AtomicI64>,
}

impl Book {
    /// Opens the book at the path, making and migrating it where needed. Before a migration it is copied to the backups.
    pub async fn open(path: &Path) -> Result<Book, BookError> {
        files::make_folder_of(path)?;
        // Looked at before anything is written to it: opening for writing would change a foreign file.
        if path.metadata().is_ok_and(|about| about.len() > 0) {
            files::keep_before_migrating(path).await?;
        }
        Book::open_without_backup(path).await
    }

    /// Opens a book of our own making, such as a copy that is kept elsewhere already.
    async fn open_without_backup(path: &Path) -> Result<Book, BookError> {
        let options = options(path).create_if_missing(true);
        let mut connection =
            SqliteConnection::connect_with(&options).await.map_err(|error| refused(path, error))?;
        MIGRATIONS.run(&mut connection).await.map_err(|error| not_migrated(path, error))?;
        let tables = schema::tables(&mut connection).await.map_err(|error| refused(path, error))?;
        connection.close().await.map_err(|error| refused(path, error))?;
        let triggers: Arc<str> = history::triggers::written(&tables).into();
        let readers = SqlitePoolOptions::new()
            .max_connections(READERS)
            .acquire_timeout(LONGEST_WAIT)
            .connect_lazy_with(options.clone().read_only(true));
        let writer = SqlitePoolOptions::new()
            .max_connections(1)
            .acquire_timeout(LONGEST_WAIT)
            .after_connect(move |connection, _| {
                let triggers = Arc::clone(&triggers);
                Box::pin(async move { history::make_ready(connection, &triggers).await })
            })
            .after_release(|connection, _| Box::pin(fit_for_more(connection)))
            .connect_lazy_with(options);
        Ok(Book { readers, writer, path: path.to_owned(), acts: Arc::default() })
    }

    /// A connection to a book as it is, which changes nothing: for looking through it. The book stands at today's schema.
    pub async fn to_look_at(path: &Path) -> Result<SqliteConnection, BookError> {
        files::at_todays_step(path).await
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
    /// Dropping it rolls back; only `commit` keeps. What it changes is one act of the book's history.
    pub async fn write(&self) -> Result<Transaction<'static, Sqlite>, sqlx::Error> {
        let mut tx = self.writer.begin_with("BEGIN IMMEDIATE").await?;
        history::begin(&mut tx, &self.acts).await?;
        Ok(tx)
    }

    /// The same without history: for filling a book that is being made.
    pub async fn fill(&self) -> Result<Transaction<'static, Sqlite>, sqlx::Error> {
        let mut tx = self.write().await?;
        history::leave_out(&mut tx).await?;
        Ok(tx)
    }

    /// Where the book lies.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes a consistent copy of the book to a file that must not exist yet.
    pub async fn copy_to(&self, file: &Path) -> Result<(), sqlx::Error> {
        let mut connection = self.writer.acquire().await?;
        files::copied(&mut connection, file).await
    }

    /// Closes the book, so that its file is whole on its own.
    pub async fn close(&self) {
        self.readers.close().await;
        self.writer.close().await;
    }
}

/// SQLite itself rolls back where the disk is full or fails, and the rollback that follows then finds nothing to do: sqlx
/// believes the connection to be in that transaction for ever. Such a connection is closed and another one opened.
async fn fit_for_more(connection: &mut SqliteConnection) -> Result<bool, sqlx::Error> {
    // Answered only after the rollback that was asked for.
    connection.ping().await?;
    Ok(!connection.is_in_transaction())
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

/// The newest step of the schema that this Trug knows.
#[must_use]
pub fn newest_step() -> i64 {
    MIGRATIONS.iter().map(|step| step.version).max().unwrap_or(0)
}

/// The step of the schema at which a book stands.
pub async fn step_of(connection: &mut SqliteConnection) -> Result<i64, sqlx::Error> {
    sqlx::query_scalar("SELECT coalesce(max(version), 0) FROM _sqlx_migrations").fetch_one(connection).await
}

fn not_migrated(path: &Path, error: MigrateError) -> BookError {
    match error {
        MigrateError::VersionMissing(_) => BookError::Newer(path.to_owned()),
        MigrateError::Execute(error) => refused(path, error),
        other => BookError::Unusable { path: path.to_owned(), source: other.into() },
    }
}

fn refused(path: &Path, error: sqlx::Error) -> BookError {
    // The low byte is the kind of failure, the rest says more.
    let code = error
        .as_database_error()
        .and_then(sqlx::error::DatabaseError::code)
        .and_then(|code| code.parse::<u32>().ok());
    let path_of = || path.to_owned();
    match code.map(|code| code & 0xff) {
        // SQLITE_CORRUPT and SQLITE_NOTADB.
        Some(11 | 26) => BookError::NotABook(path_of()),
        // SQLITE_BUSY and SQLITE_LOCKED.
        Some(5 | 6) => BookError::InUse(path_of()),
        // SQLITE_PERM, SQLITE_READONLY, SQLITE_CANTOPEN.
        Some(3 | 8 | 14) => BookError::NotAllowed(path_of()),
        _ => BookError::Unusable { path: path_of(), source: error.into() },
    }
}

fn unusable(path: &Path, error: io::Error) -> BookError {
    match error.kind() {
        io::ErrorKind::PermissionDenied => BookError::NotAllowed(path.to_owned()),
        _ => BookError::Unusable { path: path.to_owned(), source: error.into() },
    }
}
