//! The history ends where the rows are: what the last change of a row left is what the row holds.

use sqlx::{AssertSqlSafe, SqliteConnection};

use super::Finding;
use crate::db::history::records::key_sql;
use crate::db::history::triggers::{is_kept, kept_columns};
use crate::db::schema::{Table, quoted, tables};

pub(super) async fn findings(connection: &mut SqliteConnection) -> Result<Vec<Finding>, sqlx::Error> {
    let empty: Vec<i64> =
        sqlx::query_scalar("SELECT id FROM act WHERE id NOT IN (SELECT act_id FROM act_change)")
            .fetch_all(&mut *connection)
            .await?;
    let changed: Vec<String> =
        sqlx::query_scalar("SELECT DISTINCT table_name FROM act_change").fetch_all(&mut *connection).await?;
    let mut otherwise = Vec::new();
    for table in tables(connection).await? {
        if is_kept(&table.name) && changed.contains(&table.name) {
            otherwise.extend(otherwise_than_told(connection, &table).await?);
        }
    }
    let found = [
        Finding::wrong("An act of the history changed nothing", empty.iter().map(i64::to_string).collect()),
        // A restored table or another program's hand; the rows themselves may well be right.
        Finding::note("A row is otherwise than its history ends: it was changed past Trug", otherwise),
    ];
    Ok(found.into_iter().flatten().collect())
}

/// The rows of a table whose last change does not end where they are.
async fn otherwise_than_told(
    connection: &mut SqliteConnection,
    table: &Table,
) -> Result<Vec<String>, sqlx::Error> {
    let name = quoted(&table.name);
    let key = key_sql(table, &name);
    // By the key itself where it is one number, so that its index is used.
    let join = match table.key.as_slice() {
        [one] => format!("{name}.{} = CAST(last.row_key AS INTEGER)", quoted(one)),
        _ => format!("{key} = last.row_key"),
    };
    let differs: Vec<String> = kept_columns(table)
        .map(|column| {
            let path = format!("'$.\"{}\"'", column.name);
            let column = quoted(&column.name);
            format!("(json_type(last.after, {path}) IS NOT NULL AND json_extract(last.after, {path}) IS NOT {name}.{column})")
        })
        .collect();
    let first = quoted(table.key.first().map_or("rowid", String::as_str));
    let sql = format!(
        "SELECT '{}, row ' || last.row_key FROM act_change AS last LEFT JOIN {name} ON {join}
        WHERE last.table_name = '{}' AND last.id IN (SELECT max(id) FROM act_change WHERE table_name = '{}' GROUP BY row_key)
            AND CASE WHEN last.before IS NOT NULL AND last.after IS NULL THEN {name}.{first} IS NOT NULL
                WHEN {name}.{first} IS NULL THEN 1
                ELSE last.after IS NOT NULL AND ({}) END",
        table.name.replace('_', " "),
        table.name,
        table.name,
        if differs.is_empty() { "0".to_owned() } else { differs.join(" OR ") }
    );
    sqlx::query_scalar(AssertSqlSafe(sql)).fetch_all(connection).await
}
