//! The triggers that write the history, as SQL made from the schema. They are temporary: each connection that writes makes
//! its own, so that the file holds none that an older or newer schema could not use, and migrations, imports and restored
//! backups are not recorded row by row.

use std::fmt::Write;

use super::records::{LEFT_OUT, SECRET, key_sql, record_sql};
use crate::db::schema::{Column, Holds, Table, quoted};

/// The triggers of all tables whose changes are kept.
#[must_use]
pub fn written(tables: &[Table]) -> String {
    let mut sql = String::new();
    for table in tables.iter().filter(|table| is_kept(&table.name)) {
        // Writing to a text does not fail.
        let _ =
            write!(sql, "{}\n{}\n{}\n", added(table, tables), changed(table, tables), deleted(table, tables));
    }
    sql
}

/// Whether changes of a table are kept.
#[must_use]
pub fn is_kept(table: &str) -> bool {
    !LEFT_OUT.iter().any(|(name, _)| *name == table)
}

/// The columns of a table whose values the history holds.
pub fn kept_columns(table: &Table) -> impl Iterator<Item = &Column> {
    let secret = |column: &Column| SECRET.contains(&(table.name.as_str(), column.name.as_str()));
    table.columns.iter().filter(move |column| column.holds != Holds::Blob && !secret(column))
}

fn added(table: &Table, tables: &[Table]) -> String {
    trigger(table, "added", "AFTER INSERT", "", "new", tables, "NULL, NULL")
}

fn changed(table: &Table, tables: &[Table]) -> String {
    let differs: Vec<String> = table.columns.iter().map(differs).collect();
    let when = format!(" AND ({})", differs.join(" OR "));
    let values = format!("{}, {}", changed_columns(table, "old"), changed_columns(table, "new"));
    trigger(table, "changed", "AFTER UPDATE", &when, "new", tables, &values)
}

fn deleted(table: &Table, tables: &[Table]) -> String {
    // Before, so that the row stands before those that go with it, and its record can still be found.
    let values = format!("{}, NULL", whole_row(table));
    trigger(table, "deleted", "BEFORE DELETE", "", "old", tables, &values)
}

fn trigger(
    table: &Table,
    what: &str,
    event: &str,
    when: &str,
    row: &str,
    tables: &[Table],
    values: &str,
) -> String {
    let name = quoted(&format!("history_{what}_{}", table.name));
    let (key, record) = (key_sql(table, row), record_sql(table, row, tables));
    format!(
        "CREATE TEMP TRIGGER {name} {event} ON main.{} WHEN (SELECT recording FROM present_act){when}
BEGIN
INSERT INTO act (id, done_at, who, way, undoes_id) SELECT act, done_at, who, way, undoes_id FROM present_act
    WHERE NOT EXISTS (SELECT 1 FROM act WHERE id = present_act.act);
INSERT INTO act_change (act_id, table_name, row_key, record, before, after)
    SELECT act, '{}', {key}, {record}, {values} FROM present_act;
END;",
        quoted(&table.name),
        table.name
    )
}

fn differs(column: &Column) -> String {
    let name = quoted(&column.name);
    format!("old.{name} IS NOT new.{name}")
}

/// The columns that changed, as a JSON object.
fn changed_columns(table: &Table, row: &str) -> String {
    object(
        kept_columns(table)
            .map(|column| format!("CASE WHEN {} THEN {} ELSE '' END", differs(column), member(column, row))),
    )
}

/// The columns of a row that hold something, as a JSON object.
fn whole_row(table: &Table) -> String {
    object(kept_columns(table).map(|column| {
        let member = member(column, "old");
        if column.may_be_empty {
            format!("CASE WHEN old.{} IS NULL THEN '' ELSE {member} END", quoted(&column.name))
        } else {
            member
        }
    }))
}

/// A column's name and value, with a comma before.
fn member(column: &Column, row: &str) -> String {
    format!("',\"{}\":' || json_quote({row}.{})", column.name, quoted(&column.name))
}

fn object(members: impl Iterator<Item = String>) -> String {
    let members: Vec<String> = members.collect();
    format!("'{{' || substr({}, 2) || '}}'", members.join(" || "))
}
