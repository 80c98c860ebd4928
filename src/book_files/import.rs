//! Reading files into a new book. The new book is made at the schema's step of the files, filled in one transaction,
//! checked, and only then brought to today's schema: an old export is read exactly as it was meant.

use std::collections::{HashMap, HashSet};
use std::path::{Path, PathBuf};

use csv::ReaderBuilder;
use sqlx::query_builder::QueryBuilder;
use sqlx::{Connection, Row, Sqlite, SqliteConnection};

use super::cell::{Value, read, shown};
use super::dictionary::{Meaning, meaning};
use super::rows::Rows;
use super::source::{Source, row_limit};
use super::{BookFilesError, FORMAT, MARK_FILE, Problem, tables};
use crate::db::schema::{Column, Holds, Table, quoted};
use crate::db::{self, files};
use crate::ground::dates::{Day, Moment};

/// So many problems are listed; the rest are like them.
const MOST_PROBLEMS: usize = 20;
/// SQLite takes 32,766 values in a statement.
const MOST_VALUES: usize = 30_000;
const MOST_ROWS: usize = 400;
const MOST_BYTES: usize = 8 * 1024 * 1024;

/// Makes a new book from files, at a path where none is yet. On failure nothing is left there.
///
/// All days and moments are moved by whole weeks (none for a plain import), for the demo.
pub async fn import(source: Source<'_>, path: &Path, weeks: i64) -> Result<u64, BookFilesError> {
    let step = step_of_files(source)?;
    if step > db::newest_step() {
        return Err(BookFilesError::Newer(step, db::newest_step()));
    }
    let done = fill(source, path, step, weeks).await;
    if done.is_err() {
        files::remove(path);
    }
    done
}

async fn fill(source: Source<'_>, path: &Path, step: i64, weeks: i64) -> Result<u64, BookFilesError> {
    let mut connection = files::new_at_step(path, step).await?;
    let mut all = connection.begin().await?;
    sqlx::query("PRAGMA defer_foreign_keys = ON").execute(&mut *all).await?;
    let tables = tables(&mut all).await?;
    let mut reading = Reading::new(source, weeks, &tables);
    for table in &tables {
        reading.table(&mut all, table).await?;
        reading.done.insert(table.name.clone());
    }
    if reading.problems.is_empty() {
        reading.problems = dangling(&mut all).await?;
    }
    if !reading.problems.is_empty() {
        return Err(BookFilesError::Refused(reading.problems));
    }
    all.commit().await?;
    files::finish(path, connection).await?;
    Ok(reading.rows)
}

/// Reads the files of some tables into a book that is open, within its transaction: what the demo has of tables that came
/// after the step of its files.
pub async fn add(
    source: Source<'_>,
    connection: &mut SqliteConnection,
    wanted: &[&str],
    weeks: i64,
) -> Result<u64, BookFilesError> {
    let tables = tables(connection).await?;
    let mut reading = Reading::new(source, weeks, &tables);
    for table in tables.iter().filter(|table| wanted.contains(&table.name.as_str())) {
        reading.table(connection, table).await?;
    }
    if reading.problems.is_empty() {
        reading.problems = dangling(connection).await?;
    }
    if reading.problems.is_empty() {
        Ok(reading.rows)
    } else {
        Err(BookFilesError::Refused(reading.problems))
    }
}

fn step_of_files(source: Source<'_>) -> Result<i64, BookFilesError> {
    let folder = match source {
        Source::Folder(folder) => folder.to_owned(),
        Source::Memory(_) => PathBuf::from("The program's own data"),
    };
    if let Source::Folder(path) = source
        && !path.is_dir()
    {
        return Err(BookFilesError::NotAnExport(folder, "it is no folder.".into()));
    }
    mark(source).map_err(|reason| BookFilesError::NotAnExport(folder, reason))
}

fn mark(source: Source<'_>) -> Result<i64, String> {
    let file = source.table_file(MARK_FILE).map_err(|reason| format!("{MARK_FILE}: {reason}"))?;
    let (file, _) = row_limit(file);
    let mut reader = ReaderBuilder::new().from_reader(file);
    let unread = || format!("{MARK_FILE} does not say that it is one.");
    let row: Option<(String, i64)> = reader.deserialize().next().transpose().map_err(|_| unread())?;
    row.filter(|(format, step)| format == FORMAT && *step >= 1).map(|(_, step)| step).ok_or_else(unread)
}

struct Reading<'a> {
    source: Source<'a>,
    weeks: i64,
    /// The keys read so far of columns that others refer to.
    keys: HashMap<(String, String), HashSet<String>>,
    done: HashSet<String>,
    problems: Vec<Problem>,
    rows: u64,
}

impl<'a> Reading<'a> {
    fn new(source: Source<'a>, weeks: i64, tables: &[Table]) -> Reading<'a> {
        let referred =
            tables.iter().flat_map(|table| &table.columns).filter_map(|column| column.refers_to.clone());
        let keys = referred.map(|column| (column, HashSet::new())).collect();
        Reading { source, weeks, keys, done: HashSet::new(), problems: Vec::new(), rows: 0 }
    }

    async fn table(
        &mut self,
        connection: &mut SqliteConnection,
        table: &Table,
    ) -> Result<(), BookFilesError> {
        let mut rows = match Rows::open(self.source, table) {
            Ok(rows) => rows,
            Err(problem) => return self.noted(problem),
        };
        let mut batch = Batch::new(table);
        while self.problems.len() < MOST_PROBLEMS {
            match rows.next() {
                Ok(true) => {}
                Ok(false) => break,
                Err(problem) => return self.noted(problem),
            }
            if let Some(values) = self.row(table, &rows) {
                batch.add(rows.number, values);
            }
            if batch.is_full() {
                self.insert(connection, &mut batch).await?;
            }
        }
        self.rows += rows.number - 1;
        self.insert(connection, &mut batch).await
    }

    /// Notes a problem and goes on with the next file.
    #[expect(clippy::unnecessary_wraps, reason = "it stands where a table's reading ends")]
    fn noted(&mut self, problem: Problem) -> Result<(), BookFilesError> {
        if self.problems.len() < MOST_PROBLEMS {
            self.problems.push(problem);
        }
        Ok(())
    }

    /// A row's values; none where something is wrong with it.
    fn row(&mut self, table: &Table, rows: &Rows<'_>) -> Option<Vec<Value>> {
        let mut values = Vec::with_capacity(rows.row.len());
        for (column, cell) in table.columns.iter().zip(&rows.row) {
            match self.value(table, column, cell) {
                Ok(value) => values.push(value),
                Err(reason) if self.problems.len() < MOST_PROBLEMS => {
                    self.problems.push(rows.problem(Some(column.name.clone()), reason));
                }
                Err(_) => {}
            }
        }
        (values.len() == table.columns.len()).then_some(values)
    }

    fn value(&mut self, table: &Table, column: &Column, cell: &str) -> Result<Value, String> {
        let meaning = meaning(&table.name, &column.name);
        if column.holds == Holds::Blob && !cell.is_empty() {
            return self.picture(meaning, cell);
        }
        let value = moved(read(cell, column, meaning)?, meaning, self.weeks);
        if let Some(parent) = &column.refers_to
            && value != Value::Null
            // A table that refers to itself, or to one in a ring with it, is left to SQLite's own check.
            && self.done.contains(&parent.0)
            && self.keys.get(parent).is_some_and(|known| !known.contains(cell))
        {
            return Err(format!(
                "there is no row with the {} {} in {}.csv.",
                parent.1,
                shown(cell),
                parent.0
            ));
        }
        if let Some(known) = self.keys.get_mut(&(table.name.clone(), column.name.clone())) {
            known.insert(cell.to_owned());
        }
        Ok(value)
    }

    fn picture(&self, meaning: Meaning, cell: &str) -> Result<Value, String> {
        let bytes = self.source.picture(cell)?;
        if meaning == Meaning::Picture && image::guess_format(&bytes).is_err() {
            return Err(format!("{} is not a picture (JPEG, PNG or WebP).", shown(cell)));
        }
        Ok(Value::Blob(bytes))
    }

    async fn insert(
        &mut self,
        connection: &mut SqliteConnection,
        batch: &mut Batch<'_>,
    ) -> Result<(), BookFilesError> {
        let rows = std::mem::take(&mut batch.rows);
        batch.bytes = 0;
        // Once something is wrong the rest is only read, to name what else is.
        if rows.is_empty() || !self.problems.is_empty() {
            return Ok(());
        }
        if batch.write(connection, &rows).await.is_ok() {
            return Ok(());
        }
        // Which row it was, and why.
        for row in &rows {
            if let Err(error) = batch.write(connection, std::slice::from_ref(row)).await {
                let Some(refusal) = error.as_database_error() else { return Err(error.into()) };
                let (column, reason) = refusal_words(batch.table, refusal.message());
                let file = batch.table.file();
                return self.noted(Problem { row: Some(row.0), column, ..Problem::of_file(&file, reason) });
            }
        }
        Ok(())
    }
}

/// Rows that are written with one statement.
struct Batch<'a> {
    table: &'a Table,
    rows: Vec<(u64, Vec<Value>)>,
    bytes: usize,
}

impl<'a> Batch<'a> {
    fn new(table: &'a Table) -> Batch<'a> {
        Batch { table, rows: Vec::new(), bytes: 0 }
    }

    fn add(&mut self, number: u64, values: Vec<Value>) {
        self.bytes += values.iter().map(size).sum::<usize>();
        self.rows.push((number, values));
    }

    fn is_full(&self) -> bool {
        let most = (MOST_VALUES / self.table.columns.len().max(1)).clamp(1, MOST_ROWS);
        self.rows.len() >= most || self.bytes >= MOST_BYTES
    }

    async fn write(
        &self,
        connection: &mut SqliteConnection,
        rows: &[(u64, Vec<Value>)],
    ) -> Result<(), sqlx::Error> {
        let into = format!("INSERT INTO {} ({}) ", quoted(&self.table.name), self.table.column_list());
        let mut insert = QueryBuilder::<Sqlite>::new(into);
        insert.push_values(rows, |mut row, (_, values)| {
            for value in values {
                match value {
                    Value::Null => row.push_bind(None::<i64>),
                    Value::Integer(number) => row.push_bind(*number),
                    Value::Real(number) => row.push_bind(*number),
                    Value::Text(text) => row.push_bind(text.as_str()),
                    Value::Blob(bytes) => row.push_bind(bytes.as_slice()),
                };
            }
        });
        insert.build().execute(connection).await.map(drop)
    }
}

fn size(value: &Value) -> usize {
    match value {
        Value::Text(text) => text.len(),
        Value::Blob(bytes) => bytes.len(),
        _ => 8,
    }
}

fn moved(value: Value, meaning: Meaning, weeks: i64) -> Value {
    let Value::Text(text) = &value else { return value };
    let days = weeks.saturating_mul(7);
    match meaning {
        Meaning::Day if weeks != 0 => text.parse::<Day>().map(|day| day.plus(days).to_string()),
        Meaning::Moment if weeks != 0 => text.parse::<Moment>().map(|moment| {
            let hours = jiff::SignedDuration::from_hours(days.saturating_mul(24));
            Moment(moment.0.checked_add(hours).unwrap_or(moment.0)).to_string()
        }),
        _ => return value,
    }
    .map_or(value, Value::Text)
}

/// SQLite's refusal in words: the column, if it names one, and the reason.
fn refusal_words(table: &Table, message: &str) -> (Option<String>, String) {
    let named = |text: &str| {
        let word = |c: char| !(c.is_ascii_alphanumeric() || c == '_');
        table
            .columns
            .iter()
            .find(|column| text.split(word).any(|part| part == column.name))
            .map(|c| c.name.clone())
    };
    if let Some(columns) = message.strip_prefix("UNIQUE constraint failed: ") {
        return (named(columns), "another row has the same value here, which must stand alone.".into());
    }
    if let Some(rule) = message.strip_prefix("CHECK constraint failed: ") {
        let rule = rule.split_whitespace().collect::<Vec<_>>().join(" ");
        return (named(&rule), format!("the book's rule is not kept: {rule}."));
    }
    (named(message), format!("the book does not take this row: {message}."))
}

/// What refers to nothing, found by SQLite itself: rings and references over several columns.
async fn dangling(connection: &mut SqliteConnection) -> Result<Vec<Problem>, sqlx::Error> {
    let rows = sqlx::query("PRAGMA foreign_key_check").fetch_all(connection).await?;
    rows.iter()
        .take(MOST_PROBLEMS)
        .map(|row| {
            let (table, parent): (String, String) = (row.try_get("table")?, row.try_get("parent")?);
            let which = row.try_get::<Option<i64>, _>("rowid")?;
            let which = which.map_or_else(|| "a row".into(), |id| format!("the row with the id {id}"));
            Ok(Problem::of_file(
                &format!("{table}.csv"),
                format!("{which} refers to a row that is not in {parent}.csv."),
            ))
        })
        .collect()
}
