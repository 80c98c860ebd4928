//! What the history's pages read: acts, their changes, rows as they were, names. Only reads. The tables are named by the
//! changes themselves, so these are the desk's only statements that are made at run time.

use std::collections::{BTreeMap, BTreeSet};

use sqlx::{AssertSqlSafe, SqliteConnection};

use super::words::name_sql;
use super::{Act, Asked, Changed, Columns, Names};
use crate::db::history::records::key_sql;
use crate::db::history::triggers::kept_columns;
use crate::db::history::undo::Change;
use crate::db::schema::{Table, quoted};
use crate::ground::dates::Moment;
use crate::ground::ids::json_list;

/// How many acts a page shows.
pub const PAGE: i64 = 30;
/// So many changes of an act are read; the rest are counted.
pub const MOST_CHANGES: i64 = 120;

/// A page's acts, the latest first; one more than a page, to tell whether more follow. `before` is the moment that they are
/// all earlier than.
pub async fn acts(
    connection: &mut SqliteConnection,
    asked: &Asked,
    before: Option<Moment>,
    page: i64,
) -> Result<Vec<Act>, sqlx::Error> {
    let (limit, offset) = (PAGE + 1, page.saturating_mul(PAGE));
    // A kind is what begins a record's name: "event" is event-1, event-2; "kit" is the kit itself.
    let (first, last) = (format!("{}-", asked.kind), format!("{}.", asked.kind));
    sqlx::query_as!(
        Act,
        r#"SELECT id, done_at AS "done_at: Moment", who, undoes_id FROM act
        WHERE (?1 = '' OR id IN (SELECT act_id FROM act_change WHERE record = ?1))
            AND (?2 = '' OR EXISTS (SELECT 1 FROM act_change WHERE act_id = act.id
                AND (record = ?2 OR (record > ?3 AND record < ?4))))
            AND (?5 = '' OR who = ?5) AND (?6 IS NULL OR done_at < ?6)
        ORDER BY id DESC LIMIT ?7 OFFSET ?8"#,
        asked.of,
        asked.kind,
        first,
        last,
        asked.who,
        before,
        limit,
        offset
    )
    .fetch_all(connection)
    .await
}

/// Everyone who did something, by name.
pub async fn everyone(connection: &mut SqliteConnection) -> Result<Vec<String>, sqlx::Error> {
    sqlx::query_scalar!("SELECT DISTINCT who FROM act WHERE who <> '' ORDER BY who LIMIT 100")
        .fetch_all(connection)
        .await
}

/// One act.
pub async fn act(connection: &mut SqliteConnection, id: i64) -> Result<Option<Act>, sqlx::Error> {
    sqlx::query_as!(
        Act,
        r#"SELECT id, done_at AS "done_at: Moment", who, undoes_id FROM act WHERE id = ?"#,
        id
    )
    .fetch_optional(connection)
    .await
}

/// The changes of acts, in order, at most so many of each; of one record where one is asked for.
pub async fn changes(
    connection: &mut SqliteConnection,
    acts: &[i64],
    of: &str,
) -> Result<Vec<Change>, sqlx::Error> {
    let acts = json_list(acts);
    sqlx::query_as!(
        Change,
        r#"SELECT id AS "id!", act_id AS "act_id!", table_name AS "table_name!", row_key AS "row_key!",
            record AS "record!", before, after
        FROM (SELECT *, row_number() OVER (PARTITION BY act_id ORDER BY id) AS place FROM act_change
            WHERE act_id IN (SELECT value FROM json_each(?1)) AND (?2 = '' OR record = ?2))
        WHERE place <= ?3 ORDER BY id"#,
        acts,
        of,
        MOST_CHANGES
    )
    .fetch_all(connection)
    .await
}

/// How many rows each act changed, of one record where one is asked for.
pub async fn counts(
    connection: &mut SqliteConnection,
    acts: &[i64],
    of: &str,
) -> Result<BTreeMap<i64, i64>, sqlx::Error> {
    let acts = json_list(acts);
    let rows = sqlx::query!(
        "SELECT act_id, count(*) AS count FROM act_change
        WHERE act_id IN (SELECT value FROM json_each(?1)) AND (?2 = '' OR record = ?2) GROUP BY act_id",
        acts,
        of
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.act_id, row.count)).collect())
}

/// The changes with their rows as they left them. A row is told from what it is now and what became of it since.
pub async fn with_rows(
    connection: &mut SqliteConnection,
    tables: &[Table],
    changes: Vec<Change>,
) -> Result<Vec<Changed>, sqlx::Error> {
    let mut keys: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for change in &changes {
        keys.entry(&change.table_name).or_default().insert(&change.row_key);
    }
    let mut now: BTreeMap<(String, String), Columns> = BTreeMap::new();
    let mut since: BTreeMap<(String, String), Vec<Change>> = BTreeMap::new();
    for (name, keys) in keys {
        let keys = serde_json::to_string(&keys).unwrap_or_default();
        if let Some(table) = tables.iter().find(|table| table.name == name) {
            for (key, row) in rows_now(connection, table, &keys).await? {
                now.insert((name.to_owned(), key), columns(Some(&row)));
            }
        }
        for later in changes_of_rows(connection, name, &keys).await? {
            since.entry((name.to_owned(), later.row_key.clone())).or_default().push(later);
        }
    }
    let told = |change: Change| {
        let key = (change.table_name.clone(), change.row_key.clone());
        let since = since.get(&key).map_or(&[][..], Vec::as_slice);
        let row = row_after(&change, now.get(&key).cloned(), since);
        Changed { change, row }
    };
    Ok(changes.into_iter().map(told).collect())
}

/// The row as a change left it: today's, with every later change taken back, the latest first.
fn row_after(change: &Change, now: Option<Columns>, since: &[Change]) -> Columns {
    if let (Some(_), None) = (&change.before, &change.after) {
        return columns(change.before.as_deref());
    }
    let mut row = now;
    for later in since.iter().take_while(|later| later.id > change.id) {
        row = match (&later.before, &later.after, row) {
            (Some(before), None, _) => Some(columns(Some(before))),
            (Some(before), Some(_), Some(mut row)) => {
                row.extend(columns(Some(before)));
                Some(row)
            }
            _ => None,
        };
    }
    row.unwrap_or_default()
}

/// A JSON object's members; none where it is not one.
#[must_use]
pub fn columns(json: Option<&str>) -> Columns {
    json.and_then(|json| serde_json::from_str(json).ok()).unwrap_or_default()
}

async fn rows_now(
    connection: &mut SqliteConnection,
    table: &Table,
    keys: &str,
) -> Result<Vec<(String, String)>, sqlx::Error> {
    let name = quoted(&table.name);
    let members: Vec<String> =
        kept_columns(table).map(|column| format!("'{}', {}", column.name, quoted(&column.name))).collect();
    let key = key_sql(table, &name);
    let sql = format!(
        "SELECT {key}, json_object({}) FROM {name} WHERE {} IN (SELECT value FROM json_each(?))",
        members.join(", "),
        // By the key itself where it is one number, so that its index is used.
        if table.key.len() == 1 { format!("{name}.{}", quoted(&table.key[0])) } else { key.clone() }
    );
    let keys = if table.key.len() == 1 { keys.replace('"', "") } else { keys.to_owned() };
    sqlx::query_as(AssertSqlSafe(sql)).bind(keys).fetch_all(connection).await
}

async fn changes_of_rows(
    connection: &mut SqliteConnection,
    table: &str,
    keys: &str,
) -> Result<Vec<Change>, sqlx::Error> {
    sqlx::query_as!(
        Change,
        "SELECT id, act_id, table_name, row_key, record, before, after FROM act_change
        WHERE table_name = ? AND row_key IN (SELECT value FROM json_each(?)) ORDER BY id DESC",
        table,
        keys
    )
    .fetch_all(connection)
    .await
}

/// What rows are called, as far as they are still there: one statement a table.
pub async fn names(
    connection: &mut SqliteConnection,
    tables: &[Table],
    wanted: &BTreeSet<(String, i64)>,
) -> Result<Names, sqlx::Error> {
    let mut by_table: BTreeMap<&str, Vec<i64>> = BTreeMap::new();
    for (table, id) in wanted {
        by_table.entry(table).or_default().push(*id);
    }
    let mut names = Names::new();
    for (name, ids) in by_table {
        let Some(table) = tables.iter().find(|table| table.name == name) else { continue };
        let (Some(called), [key]) = (name_sql(table), table.key.as_slice()) else { continue };
        let (key, of) = (quoted(key), quoted(name));
        let sql = format!(
            "SELECT t.{key}, {called} FROM {of} AS t WHERE t.{key} IN (SELECT value FROM json_each(?))"
        );
        let rows: Vec<(i64, Option<String>)> =
            sqlx::query_as(AssertSqlSafe(sql)).bind(json_list(&ids)).fetch_all(&mut *connection).await?;
        names.extend(rows.into_iter().filter_map(|(id, called)| Some(((name.to_owned(), id), called?))));
    }
    Ok(names)
}

/// Whether a record was removed or deleted, and by which act, as far as the history knows. None while it is there, or where
/// there never was one.
pub async fn gone(
    connection: &mut SqliteConnection,
    table: &str,
    id: i64,
) -> Result<Option<Gone>, sqlx::Error> {
    let key = id.to_string();
    let act = sqlx::query_as!(
        Act,
        r#"SELECT act.id, done_at AS "done_at: Moment", who, undoes_id FROM act JOIN act_change ON act_id = act.id
        WHERE table_name = ? AND row_key = ? AND before IS NOT NULL
            AND (after IS NULL OR json_extract(after, '$.removed_at') IS NOT NULL)
        ORDER BY act_change.id DESC LIMIT 1"#,
        table,
        key
    )
    .fetch_optional(&mut *connection)
    .await?;
    let sql = format!("SELECT removed_at FROM {} WHERE id = ?", quoted(table));
    let row: Option<(Option<Moment>,)> =
        sqlx::query_as(AssertSqlSafe(sql)).bind(id).fetch_optional(connection).await?;
    Ok(match (row, act) {
        (Some((Some(removed_at),)), act) => {
            Some(Gone { at: removed_at, who: act.map_or_else(String::new, |act| act.who), is_there: true })
        }
        (None, Some(act)) => Some(Gone { at: act.done_at, who: act.who, is_there: false }),
        _ => None,
    })
}

/// That a record was removed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gone {
    /// When.
    pub at: Moment,
    /// By whom; empty where nobody said.
    pub who: String,
    /// Whether it can be put back by itself.
    pub is_there: bool,
}

/// Puts a removed record back as it was: the same exception as an undo.
pub async fn put_back(connection: &mut SqliteConnection, table: &str, id: i64) -> Result<bool, sqlx::Error> {
    let sql =
        format!("UPDATE {} SET removed_at = NULL WHERE id = ? AND removed_at IS NOT NULL", quoted(table));
    let done = sqlx::query(AssertSqlSafe(sql)).bind(id).execute(connection).await?;
    Ok(done.rows_affected() == 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(id: i64, before: Option<&str>, after: Option<&str>) -> Change {
        let owned = |text: Option<&str>| text.map(str::to_owned);
        Change {
            id,
            act_id: id,
            table_name: "client".into(),
            row_key: "1".into(),
            record: "client-1".into(),
            before: owned(before),
            after: owned(after),
        }
    }

    #[test]
    fn a_row_is_told_as_each_change_left_it() {
        let all = [
            change(4, Some(r#"{"name":"C"}"#), None),
            change(3, Some(r#"{"name":"B"}"#), Some(r#"{"name":"C"}"#)),
            change(2, Some(r#"{"name":"A"}"#), Some(r#"{"name":"B"}"#)),
            change(1, None, None),
        ];
        let name = |at: usize| row_after(&all[at], None, &all).get("name").cloned();
        let letters: Vec<_> = (0..4).map(name).map(|name| name.unwrap()).collect();
        assert_eq!(letters, ["C", "C", "B", "A"]);
        // Still there: the row as it is now stands for the latest.
        let now = columns(Some(r#"{"name":"Z"}"#));
        assert_eq!(row_after(&change(9, None, None), Some(now), &all).get("name"), Some(&"Z".into()));
    }
}
