//! The book's file: looked at, checked, made anew, copied to safety, put in another's place.

use std::ffi::OsString;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection};

use super::backups::before_step;
use super::{Book, BookError, MIGRATIONS, newest_step, not_migrated, refused, step_of, unusable};

/// Looks at a file without changing it: is it a book, and one that this Trug knows? Where it stands at an earlier step of
/// the schema it is copied to the backups first.
pub(super) async fn keep_before_migrating(path: &Path) -> Result<(), BookError> {
    let mut connection = read_only(path).await?;
    let done = match known(path, &mut connection).await {
        Ok(step) if (1..newest_step()).contains(&step) => {
            keep_before(&mut connection, &before_step(path, step)).await
        }
        Ok(_) => Ok(()),
        Err(error) => Err(error),
    };
    connection.close().await.map_err(|error| refused(path, error))?;
    done
}

/// Reads a book from end to end without changing it: every page whole, every reference kept.
pub async fn check(path: &Path) -> Result<(), BookError> {
    if !path.exists() {
        return Err(BookError::Missing(path.to_owned()));
    }
    let mut connection = read_only(path).await?;
    let done = match known(path, &mut connection).await {
        // Nothing was ever written to it: that is no book to go back to.
        Ok(0) => Err(BookError::NotABook(path.to_owned())),
        Ok(_) => whole(path, &mut connection).await,
        Err(error) => Err(error),
    };
    connection.close().await.map_err(|error| refused(path, error))?;
    done
}

/// A connection that reads a book at today's step of the schema.
pub(super) async fn at_todays_step(path: &Path) -> Result<SqliteConnection, BookError> {
    let mut connection = read_only(path).await?;
    let step = known(path, &mut connection).await?;
    if step == newest_step() { Ok(connection) } else { Err(BookError::Older(path.to_owned())) }
}

async fn read_only(path: &Path) -> Result<SqliteConnection, BookError> {
    if !path.is_file() {
        return Err(BookError::NotABook(path.to_owned()));
    }
    let options =
        SqliteConnectOptions::new().filename(path).read_only(true).busy_timeout(Duration::from_secs(5));
    options.connect().await.map_err(|error| refused(path, error))
}

/// The step of the schema at which a book stands; refuses what is no book of ours, or a later Trug's.
async fn known(path: &Path, connection: &mut SqliteConnection) -> Result<i64, BookError> {
    let tables: Vec<String> = sqlx::query_scalar("SELECT name FROM sqlite_schema WHERE type = 'table'")
        .fetch_all(&mut *connection)
        .await
        .map_err(|error| refused(path, error))?;
    // A database without any table is a book that was never filled.
    if tables.is_empty() {
        return Ok(0);
    }
    if !tables.iter().any(|name| name == "_sqlx_migrations") {
        return Err(BookError::NotABook(path.to_owned()));
    }
    let step = step_of(connection).await.map_err(|error| refused(path, error))?;
    if step > newest_step() { Err(BookError::Newer(path.to_owned())) } else { Ok(step) }
}

async fn whole(path: &Path, connection: &mut SqliteConnection) -> Result<(), BookError> {
    let damaged = |what: String| BookError::Damaged { path: path.to_owned(), what };
    let found: Vec<String> = sqlx::query_scalar("PRAGMA integrity_check(1)")
        .fetch_all(&mut *connection)
        .await
        .map_err(|error| damaged(error.to_string()))?;
    if let Some(what) = found.into_iter().find(|line| line != "ok") {
        return Err(damaged(what.replace('\n', " ")));
    }
    let dangling: Option<(String, String, i64)> = sqlx::query_as(
        r#"SELECT "table", parent, count(*) FROM pragma_foreign_key_check GROUP BY 1, 2 ORDER BY 1, 2 LIMIT 1"#,
    )
    .fetch_optional(connection)
    .await
    .map_err(|error| damaged(error.to_string()))?;
    match dangling {
        Some((table, parent, 1)) => {
            Err(damaged(format!("a row of {table} refers to a row of {parent} that is not there")))
        }
        Some((table, parent, count)) => {
            Err(damaged(format!("{count} rows of {table} refer to rows of {parent} that are not there")))
        }
        None => Ok(()),
    }
}

/// Makes the folder in which a file is to lie, where it is not there yet.
pub fn make_folder_of(file: &Path) -> Result<(), BookError> {
    match file.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        Some(folder) => fs::create_dir_all(folder).map_err(|error| unusable(file, error)),
        None => Ok(()),
    }
}

/// Makes an empty book at a step of the schema, for filling in one go: not synced until [`finish`].
pub async fn new_at_step(path: &Path, step: i64) -> Result<SqliteConnection, BookError> {
    remove(path);
    let options = SqliteConnectOptions::new()
        .filename(path)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Memory)
        .synchronous(SqliteSynchronous::Off)
        .foreign_keys(true);
    let mut connection = options.connect().await.map_err(|error| refused(path, error))?;
    MIGRATIONS.run_to(step, &mut connection).await.map_err(|error| not_migrated(path, error))?;
    Ok(connection)
}

/// Brings a new book to today's schema and sees it onto the disk.
pub async fn finish(path: &Path, mut connection: SqliteConnection) -> Result<(), BookError> {
    MIGRATIONS.run(&mut connection).await.map_err(|error| not_migrated(path, error))?;
    connection.close().await.map_err(|error| refused(path, error))?;
    check(path).await?;
    sync(path)
}

fn sync(path: &Path) -> Result<(), BookError> {
    File::open(path).and_then(|file| file.sync_all()).map_err(|error| unusable(path, error))
}

/// Writes a copy of an open book to a file that is not there yet, and reads the copy from end to end.
pub async fn back_up(book: &Book, file: &Path) -> Result<(), BookError> {
    if file.symlink_metadata().is_ok() {
        return Err(BookError::Occupied(file.to_owned()));
    }
    let unfinished = unfinished(file)?;
    let copied = book.copy_to(&unfinished).await.map_err(|error| refused(file, error));
    named_when_whole(&unfinished, file, copied).await
}

/// Keeps a book as it is before it is brought to a later step of the schema.
async fn keep_before(connection: &mut SqliteConnection, file: &Path) -> Result<(), BookError> {
    let unfinished = unfinished(file)?;
    let copied = copied(connection, &unfinished).await.map_err(|error| refused(file, error));
    named_when_whole(&unfinished, file, copied).await
}

/// Copies a book over an open connection to a file that is not there yet.
pub(super) async fn copied(connection: &mut SqliteConnection, to: &Path) -> Result<(), sqlx::Error> {
    let to = to.to_string_lossy().into_owned();
    sqlx::query("VACUUM INTO ?").bind(to).execute(connection).await.map(drop)
}

/// Where a copy is written until it is whole: beside its place, with nothing there yet.
pub(super) fn unfinished(file: &Path) -> Result<PathBuf, BookError> {
    make_folder_of(file)?;
    let unfinished = beside(file, ".unfinished");
    remove(&unfinished);
    Ok(unfinished)
}

/// Reads a fresh copy from end to end, sees it onto the disk, and only then gives it its name.
pub(super) async fn named_when_whole(
    unfinished: &Path,
    file: &Path,
    copied: Result<(), BookError>,
) -> Result<(), BookError> {
    let whole = match copied {
        Ok(()) => check(unfinished).await.and_then(|()| sync(unfinished)),
        Err(error) => Err(error),
    };
    if whole.is_err() {
        remove(unfinished);
        return whole;
    }
    rename(unfinished, file)
}

/// Gives a file its name, so that the name is on the disk too.
fn rename(from: &Path, to: &Path) -> Result<(), BookError> {
    fs::rename(from, to).map_err(|error| unusable(to, error))?;
    match to.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        // Where folders cannot be synced (not every system opens one), the name is there all the same.
        Some(folder) if cfg!(unix) => sync(folder),
        _ => Ok(()),
    }
}

/// Copies a backup to a new file, checks it and brings it to today's schema. The backup stays as it is.
pub async fn copy_of_backup(backup: &Path, to: &Path) -> Result<(), BookError> {
    check(backup).await?;
    remove(to);
    let mut connection = read_only(backup).await?;
    let copied = copied(&mut connection, to).await;
    connection.close().await.map_err(|error| refused(backup, error))?;
    copied.map_err(|error| refused(to, error))?;
    Book::open_without_backup(to).await?.close().await;
    check(to).await
}

/// Puts a new book's file in the place of the old one, which is kept under another name.
pub async fn put_in_place(new: &Path, book: &Path, kept: &Path) -> Result<(), BookError> {
    if !book.exists() {
        return rename(new, book);
    }
    alone(book).await?;
    if kept.symlink_metadata().is_ok() {
        return Err(BookError::Occupied(kept.to_owned()));
    }
    make_folder_of(kept)?;
    // A damaged book may still have its log beside it: it belongs to the old file and goes along.
    for ending in LOGS {
        let log = beside(book, ending);
        if log.exists() {
            fs::rename(&log, beside(kept, ending)).map_err(|error| unusable(&log, error))?;
        }
    }
    fs::rename(book, kept).map_err(|error| unusable(book, error))?;
    rename(new, book)
}

/// Makes sure that nobody has the book open, and that its file is whole without a log. A file that is no book any
/// more is nobody's.
async fn alone(book: &Path) -> Result<(), BookError> {
    let options = SqliteConnectOptions::new()
        .filename(book)
        .busy_timeout(Duration::from_millis(500))
        // SQLite leaves write-ahead logging only when it is alone.
        .journal_mode(SqliteJournalMode::Delete);
    match options.connect().await {
        Ok(connection) => connection.close().await.map_err(|error| refused(book, error)),
        Err(error) => match refused(book, error) {
            BookError::NotABook(_) => Ok(()),
            other => Err(other),
        },
    }
}

const LOGS: [&str; 3] = ["-wal", "-shm", "-journal"];

/// Removes a file of ours and its logs, if they are there.
pub fn remove(path: &Path) {
    for file in [path.to_owned()].into_iter().chain(LOGS.map(|ending| beside(path, ending))) {
        // It need not be there; where it cannot be removed, the next use of the name says so.
        let _ = fs::remove_file(file);
    }
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name: OsString = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}
