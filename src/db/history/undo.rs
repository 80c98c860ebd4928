//! Taking an act back: each row it touched is put as it was, in one transaction, in reverse order.
//!
//! The one exception from "only its own stage writes a table": nothing new is written here, what was there is put back as it
//! was. It is offered only while nothing later stands on it, and never for what was sent or is corrected by rows of its
//! own. Versions go up instead of back, so that an open form sees that its values are no longer the book's.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value};
use sqlx::{AssertSqlSafe, SqliteConnection};

use super::records::{Part, key_sql, part_of};
use super::triggers::kept_columns;
use crate::db::schema::{Holds, Table, quoted, tables};

/// What an act did to one row.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Change {
    /// Its number.
    pub id: i64,
    /// Whose it is.
    pub act_id: i64,
    /// Which table.
    pub table_name: String,
    /// Which row: a number, or a JSON array.
    pub row_key: String,
    /// Which record the row is part of.
    pub record: String,
    /// The changed columns before, or the row that was deleted.
    pub before: Option<String>,
    /// The changed columns after.
    pub after: Option<String>,
}

/// Why an act cannot be taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Hindrance {
    /// There is none of that number, or it changed nothing.
    NoSuchAct,
    /// It was taken back already, by which act.
    Undone(i64),
    /// It only added: a record is removed on its own page.
    OnlyAdds,
    /// It touched a table that is never put back.
    Final(String),
    /// It added a record of its own beside what it changed.
    Adds(String),
    /// A later act touched the same row of a table.
    Later(i64, String),
    /// A row that it added is built on since, by a row of a table.
    BuiltOn(String),
    /// A row is not as the act left it.
    Otherwise(String),
    /// The book's own rules stand against it: what it was called is another's name now, what it named is gone.
    Refused,
}

/// Tables that are never put back: what was sent, what is corrected by rows of its own, what the history does not hold whole.
const FINAL: &[&str] = &[
    "quote_version",
    "quote_acceptance",
    "quote_decline",
    "placed_order",
    "placed_order_event",
    "placed_delivery",
    "placed_line",
    "placed_share",
    "placed_line_answer",
    "receipt_line",
    "invoice",
    "charged_loan",
    "payment",
    "hand_over",
    "van_return",
    "van_return_line",
    "reminder_mark",
    "offer_price",
    "stock_lot",
    "stock_change",
    "stock_reservation",
    "left_over",
    "close_out",
    "close_out_save",
    "close_out_hours",
    "close_out_cost",
    "calendar_feed",
    "backup_place",
    // Who may come in is changed on its own page, which keeps an owner and ends sessions.
    "person",
];

/// The changes of an act, in order.
pub async fn changes(connection: &mut SqliteConnection, act: i64) -> Result<Vec<Change>, sqlx::Error> {
    sqlx::query_as(
        "SELECT id, act_id, table_name, row_key, record, before, after FROM act_change WHERE act_id = ? ORDER BY id",
    )
    .bind(act)
    .fetch_all(connection)
    .await
}

/// What stands against taking an act back, as far as can be told beforehand.
pub async fn hindrance(
    connection: &mut SqliteConnection,
    act: i64,
) -> Result<Option<Hindrance>, sqlx::Error> {
    let changes = changes(connection, act).await?;
    if let Some(hindrance) = by_itself(&changes) {
        return Ok(Some(hindrance));
    }
    let undoing = undoing_after(connection, act).await?;
    let undone = undone(&undoing);
    if let Some((by, _)) = undoing.iter().rev().find(|(by, of)| **of == act && !undone.contains(by)) {
        return Ok(Some(Hindrance::Undone(*by)));
    }
    let later: Vec<(i64, String)> = sqlx::query_as(
        "SELECT DISTINCT later.act_id, later.table_name FROM act_change AS mine
        JOIN act_change AS later ON later.table_name = mine.table_name AND later.row_key = mine.row_key
            AND later.id > mine.id AND later.act_id <> mine.act_id
        WHERE mine.act_id = ? ORDER BY later.act_id DESC",
    )
    .bind(act)
    .fetch_all(connection)
    .await?;
    let counts = |by: i64| match undoing.get(&by) {
        _ if undone.contains(&by) => false,
        // It took back something that came after this act too: both cancel out.
        Some(of) => *of <= act,
        None => true,
    };
    Ok(later.into_iter().find(|(by, _)| counts(*by)).map(|(by, table)| Hindrance::Later(by, table)))
}

/// What stands against it in the act itself.
fn by_itself(changes: &[Change]) -> Option<Hindrance> {
    if changes.is_empty() {
        return Some(Hindrance::NoSuchAct);
    }
    if let Some(fixed) = changes.iter().find(|change| FINAL.contains(&change.table_name.as_str())) {
        return Some(Hindrance::Final(fixed.table_name.clone()));
    }
    if changes.iter().all(|change| change.before.is_none()) {
        return Some(Hindrance::OnlyAdds);
    }
    // A record is never deleted, so that its number is never another's: it is removed on its own page. Pictures stay.
    changes
        .iter()
        .find(|change| {
            change.before.is_none()
                && part_of(&change.table_name) == Part::Itself
                && !matches!(change.table_name.as_str(), "picture" | "logo")
        })
        .map(|change| Hindrance::Adds(change.table_name.clone()))
}

/// Later acts that take one back: which, and what.
async fn undoing_after(
    connection: &mut SqliteConnection,
    act: i64,
) -> Result<BTreeMap<i64, i64>, sqlx::Error> {
    let rows: Vec<(i64, i64)> =
        sqlx::query_as("SELECT id, undoes_id FROM act WHERE undoes_id IS NOT NULL AND id > ?")
            .bind(act)
            .fetch_all(connection)
            .await?;
    Ok(rows.into_iter().collect())
}

/// The acts that are taken back: by one that is not taken back itself.
fn undone(undoing: &BTreeMap<i64, i64>) -> BTreeSet<i64> {
    let mut undone = BTreeSet::new();
    for (by, of) in undoing.iter().rev() {
        if !undone.contains(by) {
            undone.insert(*of);
        }
    }
    undone
}

/// Takes an act back, in a transaction that is the undoing's own. Where something stands against it, the transaction is to be
/// dropped. References are looked at when it is committed: where that fails, what it put back names what is gone.
pub async fn undo(connection: &mut SqliteConnection, act: i64) -> Result<Result<(), Hindrance>, sqlx::Error> {
    if let Some(hindrance) = hindrance(connection, act).await? {
        return Ok(Err(hindrance));
    }
    sqlx::query("UPDATE present_act SET undoes_id = ?").bind(act).execute(&mut *connection).await?;
    sqlx::query("PRAGMA defer_foreign_keys = ON").execute(&mut *connection).await?;
    let tables = tables(connection).await?;
    for change in changes(connection, act).await?.iter().rev() {
        let Some(table) = tables.iter().find(|table| table.name == change.table_name) else {
            return Ok(Err(Hindrance::Otherwise(change.table_name.clone())));
        };
        match put_back(connection, table, &tables, change).await {
            Ok(None) => {}
            Ok(Some(hindrance)) => return Ok(Err(hindrance)),
            Err(sqlx::Error::Database(error)) if !matches!(error.kind(), sqlx::error::ErrorKind::Other) => {
                return Ok(Err(Hindrance::Refused));
            }
            Err(error) => return Err(error),
        }
    }
    Ok(Ok(()))
}

async fn put_back(
    connection: &mut SqliteConnection,
    table: &Table,
    tables: &[Table],
    change: &Change,
) -> Result<Option<Hindrance>, sqlx::Error> {
    match (object(change.before.as_deref()), object(change.after.as_deref())) {
        (Some(before), Some(after)) => put_columns_back(connection, table, change, &before, &after).await,
        (Some(before), None) => put_row_back(connection, table, change, &before).await,
        (None, _) => take_out(connection, table, tables, change).await,
    }
}

fn object(json: Option<&str>) -> Option<Map<String, Value>> {
    serde_json::from_str(json?).ok()
}

/// The columns that a change holds and the table still has, without the count of saves.
fn columns_of<'a>(table: &'a Table, held: &Map<String, Value>) -> Vec<&'a str> {
    let held = |name: &str| name != "version" && held.contains_key(name);
    kept_columns(table).map(|column| column.name.as_str()).filter(|name| held(name)).collect()
}

fn has_version(table: &Table) -> bool {
    table.columns.iter().any(|column| column.name == "version")
}

fn path_of(column: &str) -> String {
    format!("'$.\"{column}\"'")
}

async fn put_columns_back(
    connection: &mut SqliteConnection,
    table: &Table,
    change: &Change,
    before: &Map<String, Value>,
    after: &Map<String, Value>,
) -> Result<Option<Hindrance>, sqlx::Error> {
    let set = |name: &&str| format!("{} = json_extract(?1, {})", quoted(name), path_of(name));
    let mut sets: Vec<String> = columns_of(table, before).iter().map(set).collect();
    if has_version(table) {
        sets.push("version = version + 1".into());
    }
    if sets.is_empty() {
        return Ok(None);
    }
    let as_left = |name: &&str| format!(" AND {} IS json_extract(?2, {})", quoted(name), path_of(name));
    let as_left: String = columns_of(table, after).iter().map(as_left).collect();
    let name = quoted(&table.name);
    let key = key_sql(table, &name);
    let sql = format!("UPDATE {name} SET {} WHERE {key} = ?3{as_left}", sets.join(", "));
    let done = sqlx::query(AssertSqlSafe(sql))
        .bind(change.before.as_deref())
        .bind(change.after.as_deref())
        .bind(&change.row_key)
        .execute(connection)
        .await?;
    Ok((done.rows_affected() != 1).then(|| Hindrance::Otherwise(table.name.clone())))
}

async fn put_row_back(
    connection: &mut SqliteConnection,
    table: &Table,
    change: &Change,
    before: &Map<String, Value>,
) -> Result<Option<Hindrance>, sqlx::Error> {
    let columns = columns_of(table, before);
    let mut names: Vec<String> = columns.iter().map(|name| quoted(name)).collect();
    let mut values: Vec<String> =
        columns.iter().map(|name| format!("json_extract(?1, {})", path_of(name))).collect();
    if has_version(table) {
        names.push("version".into());
        values.push("1 + coalesce(json_extract(?1, '$.version'), 0)".into());
    }
    let into = quoted(&table.name);
    let sql = format!("INSERT INTO {into} ({}) SELECT {}", names.join(", "), values.join(", "));
    sqlx::query(AssertSqlSafe(sql)).bind(change.before.as_deref()).execute(connection).await?;
    Ok(None)
}

async fn take_out(
    connection: &mut SqliteConnection,
    table: &Table,
    tables: &[Table],
    change: &Change,
) -> Result<Option<Hindrance>, sqlx::Error> {
    // Bytes are not in the history, so the row could not come back: it stays, and nothing shows it.
    if table.columns.iter().any(|column| column.holds == Holds::Blob) {
        return Ok(None);
    }
    // What would go with it, or stand in the way, was built on it since: what the act itself added is gone by now.
    for (child, column) in children_of(table, tables) {
        let sql = format!(
            "SELECT EXISTS (SELECT 1 FROM {} WHERE CAST({} AS TEXT) = ?)",
            quoted(&child.name),
            quoted(column)
        );
        if sqlx::query_scalar(AssertSqlSafe(sql)).bind(&change.row_key).fetch_one(&mut *connection).await? {
            return Ok(Some(Hindrance::BuiltOn(child.name.clone())));
        }
    }
    let name = quoted(&table.name);
    let sql = format!("DELETE FROM {name} WHERE {} = ?", key_sql(table, &name));
    let done = sqlx::query(AssertSqlSafe(sql)).bind(&change.row_key).execute(connection).await?;
    Ok((done.rows_affected() != 1).then(|| Hindrance::Otherwise(table.name.clone())))
}

/// The columns of other tables that refer to a table's rows.
fn children_of<'a>(table: &'a Table, tables: &'a [Table]) -> impl Iterator<Item = (&'a Table, &'a str)> {
    tables.iter().flat_map(move |child| {
        child.columns.iter().filter_map(move |column| {
            let refers = column.refers_to.as_ref().is_some_and(|(parent, _)| *parent == table.name);
            refers.then_some((child, column.name.as_str()))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_undoing_that_is_undone_counts_for_nothing() {
        // 2 takes 1 back, 3 takes 2 back: 1 stands again, and so until 4 takes it back once more.
        let acts = |list: &[(i64, i64)]| undone(&list.iter().copied().collect());
        assert_eq!(acts(&[(2, 1)]), [1].into());
        assert_eq!(acts(&[(2, 1), (3, 2)]), [2].into());
        assert_eq!(acts(&[(2, 1), (3, 2), (4, 1)]), [1, 2].into());
    }
}
