//! The book's tables as SQLite itself describes them, in an order in which each stands after those it refers to.

use sqlx::sqlite::SqliteRow;
use sqlx::{Row, SqliteConnection};

/// A table of the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Its name, also that of its file.
    pub name: String,
    /// Its columns, in the order of the schema.
    pub columns: Vec<Column>,
    /// The columns that tell its rows apart.
    pub key: Vec<String>,
    /// The statement that made it, with the comments written into it.
    pub definition: String,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name, also that in the file's first row.
    pub name: String,
    /// What SQLite keeps in it.
    pub holds: Holds,
    /// Whether it may hold nothing at all.
    pub may_be_empty: bool,
    /// The table and column it refers to.
    pub refers_to: Option<(String, String)>,
}

/// What a column of a STRICT table keeps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// Whole numbers.
    Integer,
    /// Numbers with a fraction.
    Real,
    /// Text.
    Text,
    /// Bytes, such as a picture.
    Blob,
}

impl Table {
    /// Its file in an export.
    #[must_use]
    pub fn file(&self) -> String {
        format!("{}.csv", self.name)
    }

    /// Whether its rows carry pictures.
    #[must_use]
    pub fn has_pictures(&self) -> bool {
        self.columns.iter().any(|column| column.holds == Holds::Blob)
    }

    /// Its columns, quoted for SQL, with commas.
    #[must_use]
    pub fn column_list(&self) -> String {
        self.columns.iter().map(|column| quoted(&column.name)).collect::<Vec<_>>().join(", ")
    }
}

/// A name quoted for SQL.
#[must_use]
pub fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// Every table of the book, parents before children.
pub async fn tables(connection: &mut SqliteConnection) -> Result<Vec<Table>, sqlx::Error> {
    // Generated columns (hidden other than 0) are computed again by the book that reads them.
    let rows = sqlx::query(
        r#"SELECT s.name AS of, s.sql, c.name, c.type, c."notnull", c.pk
        FROM sqlite_schema AS s JOIN pragma_table_xinfo(s.name) AS c
        WHERE s.type = 'table' AND s.name NOT LIKE 'sqlite\_%' ESCAPE '\' AND s.name NOT LIKE '\_sqlx%' ESCAPE '\'
            AND c.hidden = 0
        ORDER BY s.name, c.cid"#,
    )
    .fetch_all(&mut *connection)
    .await?;
    let mut tables: Vec<Table> = Vec::new();
    for row in rows {
        let name: String = row.try_get("of")?;
        if tables.last().is_none_or(|table| table.name != name) {
            let definition = row.try_get("sql")?;
            tables.push(Table { name, columns: Vec::new(), key: Vec::new(), definition });
        }
        if let Some(table) = tables.last_mut() {
            table.columns.push(column(&row)?);
        }
    }
    keys(connection, &mut tables).await?;
    refer(connection, &mut tables).await?;
    Ok(parents_first(tables))
}

fn column(row: &SqliteRow) -> Result<Column, sqlx::Error> {
    let in_key = row.try_get::<i64, _>("pk")? > 0;
    Ok(Column {
        name: row.try_get("name")?,
        holds: holds(row.try_get("type")?),
        may_be_empty: !in_key && row.try_get::<i64, _>("notnull")? == 0,
        refers_to: None,
    })
}

/// Notes the columns that tell a table's rows apart, in the order of its primary key.
async fn keys(connection: &mut SqliteConnection, tables: &mut [Table]) -> Result<(), sqlx::Error> {
    let sql = "SELECT s.name AS of, c.name FROM sqlite_schema AS s JOIN pragma_table_info(s.name) AS c
        WHERE s.type = 'table' AND c.pk > 0 ORDER BY s.name, c.pk";
    for row in sqlx::query(sql).fetch_all(connection).await? {
        let of: String = row.try_get("of")?;
        if let Some(table) = tables.iter_mut().find(|table| table.name == of) {
            table.key.push(row.try_get("name")?);
        }
    }
    Ok(())
}

fn holds(declared: &str) -> Holds {
    match declared.to_ascii_uppercase().as_str() {
        "INTEGER" | "INT" => Holds::Integer,
        "REAL" => Holds::Real,
        "BLOB" => Holds::Blob,
        _ => Holds::Text,
    }
}

/// Notes which columns refer to which; references over several columns are left to SQLite's own check.
async fn refer(connection: &mut SqliteConnection, tables: &mut [Table]) -> Result<(), sqlx::Error> {
    let sql = r#"SELECT s.name AS of, f."table", f."from", coalesce(f."to", 'id') AS "to"
        FROM sqlite_schema AS s JOIN pragma_foreign_key_list(s.name) AS f
        WHERE s.type = 'table' AND (SELECT count(*) FROM pragma_foreign_key_list(s.name) AS g WHERE g.id = f.id) = 1"#;
    for row in sqlx::query(sql).fetch_all(connection).await? {
        let (of, from): (String, String) = (row.try_get("of")?, row.try_get("from")?);
        let column = tables
            .iter_mut()
            .find(|table| table.name == of)
            .and_then(|table| table.columns.iter_mut().find(|column| column.name == from));
        if let Some(column) = column {
            column.refers_to = Some((row.try_get("table")?, row.try_get("to")?));
        }
    }
    Ok(())
}

/// Sorts so that each table stands after those it refers to; a ring of references keeps its order by name.
fn parents_first(mut waiting: Vec<Table>) -> Vec<Table> {
    let mut done: Vec<Table> = Vec::new();
    while !waiting.is_empty() {
        let free =
            |table: &Table, others: &[Table]| {
                table.columns.iter().filter_map(|column| column.refers_to.as_ref()).all(|(parent, _)| {
                    *parent == table.name || others.iter().all(|other| other.name != *parent)
                })
            };
        let next = waiting.iter().position(|table| free(table, &waiting)).unwrap_or(0);
        done.push(waiting.remove(next));
    }
    done
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(name: &str, parents: &[&str]) -> Table {
        let column = |parent: &&str| Column {
            name: format!("{parent}_id"),
            holds: Holds::Integer,
            may_be_empty: false,
            refers_to: Some(((*parent).to_owned(), "id".to_owned())),
        };
        Table {
            name: name.into(),
            columns: parents.iter().map(column).collect(),
            key: vec!["id".into()],
            definition: String::new(),
        }
    }

    fn order(tables: Vec<Table>) -> Vec<String> {
        parents_first(tables).into_iter().map(|table| table.name).collect()
    }

    #[test]
    fn parents_stand_before_children() {
        let tables = vec![
            table("line", &["recipe", "material"]),
            table("material", &[]),
            table("recipe", &["recipe"]),
        ];
        assert_eq!(order(tables), ["material", "recipe", "line"]);
    }

    #[test]
    fn a_ring_ends_too() {
        assert_eq!(order(vec![table("a", &["b"]), table("b", &["a"])]), ["a", "b"]);
    }
}
