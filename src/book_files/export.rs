//! Writing the whole book to a folder, from one moment of the book.

use std::fs;
use std::path::{Path, PathBuf};

use csv::{Terminator, Writer, WriterBuilder};
use futures_util::TryStreamExt;
use sqlx::sqlite::SqliteRow;
use sqlx::{AssertSqlSafe, Connection, Row, SqliteConnection};

use super::cell::{Value, written};
use super::{BookFilesError, FORMAT, MARK_FILE, PICTURES, readme, tables};
use crate::db::schema::{Column, Holds, Table, quoted};
use crate::db::{self, Book};

/// What was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Written {
    /// How many tables.
    pub tables: usize,
    /// How many rows in all.
    pub rows: u64,
    /// How many picture files.
    pub pictures: u64,
}

/// Writes the whole book to a folder that is not there yet, or empty. All or nothing: it is written beside first.
pub async fn export(book: &Book, folder: &Path) -> Result<Written, BookFilesError> {
    if occupied(folder)? {
        return Err(BookFilesError::Occupied(folder.to_owned()));
    }
    let beside = unfinished(folder);
    if beside.exists() {
        fs::remove_dir_all(&beside).map_err(BookFilesError::file(&beside))?;
    }
    let done = write_all(book, &beside).await;
    if done.is_err() {
        // The error to report is the one above; what is left behind is removed if it can be.
        let _ = fs::remove_dir_all(&beside);
        return done;
    }
    if folder.exists() {
        fs::remove_dir(folder).map_err(BookFilesError::file(folder))?;
    }
    fs::rename(&beside, folder).map_err(BookFilesError::file(folder))?;
    done
}

fn occupied(folder: &Path) -> Result<bool, BookFilesError> {
    match fs::read_dir(folder) {
        Ok(mut entries) => Ok(entries.next().is_some()),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(BookFilesError::file(folder)(error)),
    }
}

fn unfinished(folder: &Path) -> PathBuf {
    let mut name = folder.file_name().unwrap_or_default().to_os_string();
    name.push(".unfinished");
    folder.with_file_name(name)
}

async fn write_all(book: &Book, folder: &Path) -> Result<Written, BookFilesError> {
    let pictures = folder.join(PICTURES);
    fs::create_dir_all(&pictures).map_err(BookFilesError::file(&pictures))?;
    let mut connection = book.read().await?;
    // One read transaction, so that every file shows the same moment.
    let mut moment = connection.begin().await?;
    let tables = tables(&mut moment).await?;
    write_file(&folder.join("README.txt"), readme::readme(&tables).as_bytes())?;
    let mark = format!("format,step\r\n{FORMAT},{}\r\n", db::step_of(&mut moment).await?);
    write_file(&folder.join(MARK_FILE), mark.as_bytes())?;
    let mut written = Written { tables: tables.len(), ..Written::default() };
    for table in &tables {
        write_table(&mut moment, table, folder, &mut written).await?;
    }
    moment.rollback().await?;
    Ok(written)
}

fn write_file(path: &Path, bytes: &[u8]) -> Result<(), BookFilesError> {
    fs::write(path, bytes).map_err(BookFilesError::file(path))
}

async fn write_table(
    connection: &mut SqliteConnection,
    table: &Table,
    folder: &Path,
    written: &mut Written,
) -> Result<(), BookFilesError> {
    let path = folder.join(table.file());
    let failed = |error: csv::Error| BookFilesError::file(&path)(error.into());
    let mut file = WriterBuilder::new().terminator(Terminator::CRLF).from_path(&path).map_err(failed)?;
    file.write_record(table.columns.iter().map(|column| &column.name)).map_err(failed)?;
    let sql = format!(
        "SELECT {} FROM {} ORDER BY {}",
        table.column_list(),
        quoted(&table.name),
        table.key.iter().map(|column| quoted(column)).collect::<Vec<_>>().join(", ")
    );
    let mut rows = sqlx::query(AssertSqlSafe(sql)).fetch(connection);
    let mut place = 0;
    while let Some(row) = rows.try_next().await? {
        place += 1;
        let cells = write_row(table, &row, place, folder, written)?;
        file.write_record(cells).map_err(failed)?;
    }
    written.rows += place;
    finish(file).map_err(BookFilesError::file(&path))
}

fn finish(file: Writer<fs::File>) -> std::io::Result<()> {
    file.into_inner().map_err(csv::IntoInnerError::into_error)?.sync_all()
}

fn write_row(
    table: &Table,
    row: &SqliteRow,
    place: u64,
    folder: &Path,
    done: &mut Written,
) -> Result<Vec<String>, BookFilesError> {
    let mut cells = Vec::with_capacity(table.columns.len());
    for (index, column) in table.columns.iter().enumerate() {
        let value = value(row, index, column)?;
        if let Value::Blob(bytes) = &value {
            let name = picture_name(table, row, place, column, bytes);
            write_file(&folder.join(PICTURES).join(&name), bytes)?;
            done.pictures += 1;
            cells.push(name);
        } else {
            cells.push(written(&value, column.may_be_empty));
        }
    }
    Ok(cells)
}

fn value(row: &SqliteRow, index: usize, column: &Column) -> Result<Value, sqlx::Error> {
    let value = match column.holds {
        Holds::Integer => row.try_get::<Option<i64>, _>(index)?.map(Value::Integer),
        Holds::Real => row.try_get::<Option<f64>, _>(index)?.map(Value::Real),
        Holds::Text => row.try_get::<Option<String>, _>(index)?.map(Value::Text),
        Holds::Blob => row.try_get::<Option<Vec<u8>>, _>(index)?.map(Value::Blob),
    };
    Ok(value.unwrap_or(Value::Null))
}

/// Names a picture's file by its row's number: `picture-12-full.jpg`.
fn picture_name(table: &Table, row: &SqliteRow, place: u64, column: &Column, bytes: &[u8]) -> String {
    let number = match table.key.as_slice() {
        [key] => row.try_get::<i64, _>(key.as_str()).ok(),
        _ => None,
    };
    let number = number.map_or_else(|| format!("row{place}"), |number| number.to_string());
    let ending = match image::guess_format(bytes) {
        Ok(image::ImageFormat::Jpeg) => "jpg",
        Ok(image::ImageFormat::Png) => "png",
        Ok(image::ImageFormat::WebP) => "webp",
        _ => "bin",
    };
    format!("{}-{number}-{}.{ending}", table.name, column.name)
}
