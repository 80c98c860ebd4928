//! The book's tables as SQLite itself describes them, in an order in which each stands after those it refers to.

use sqlx::{AssertSqlSafe, Row, SqliteConnection};

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
    let named = sqlx::query(
        r"SELECT name, sql FROM sqlite_schema
        WHERE type = 'table' AND name NOT LIKE 'sqlite\_%' ESCAPE '\' AND name NOT LIKE '\_sqlx%' ESCAPE '\'
        ORDER BY name",
    )
    .fetch_all(&mut *connection)
    .await?;
    let mut tables = Vec::new();
    for row in named {
        tables.push(table(connection, row.try_get("name")?, row.try_get("sql")?).await?);
    }
    Ok(parents_first(tables))
}

async fn table(
    connection: &mut SqliteConnection,
    name: String,
    definition: String,
) -> Result<Table, sqlx::Error> {
    // Generated columns (hidden other than 0) are computed again by the book that reads them.
    let sql = "SELECT name, type, \"notnull\", pk FROM pragma_table_xinfo(?) WHERE hidden = 0 ORDER BY cid";
    let rows = sqlx::query(sql).bind(&name).fetch_all(&mut *connection).await?;
    let mut columns = Vec::new();
    let mut key = Vec::new();
    for row in rows {
        let (column, place) = (row.try_get::<String, _>("name")?, row.try_get::<i64, _>("pk")?);
        if place > 0 {
            key.push((place, column.clone()));
        }
        columns.push(Column {
            name: column,
            holds: holds(row.try_get("type")?),
            may_be_empty: place == 0 && row.try_get::<i64, _>("notnull")? == 0,
            refers_to: None,
        });
    }
    refer(connection, &name, &mut columns).await?;
    key.sort();
    Ok(Table { name, columns, key: key.into_iter().map(|(_, column)| column).collect(), definition })
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
async fn refer(
    connection: &mut SqliteConnection,
    table: &str,
    columns: &mut [Column],
) -> Result<(), sqlx::Error> {
    let sql =
        "SELECT \"table\", \"from\", coalesce(\"to\", 'id') AS \"to\" FROM pragma_foreign_key_list(?) AS f
        WHERE (SELECT count(*) FROM pragma_foreign_key_list(?) AS g WHERE g.id = f.id) = 1";
    let rows = sqlx::query(AssertSqlSafe(sql)).bind(table).bind(table).fetch_all(connection).await?;
    for row in rows {
        let from: String = row.try_get("from")?;
        if let Some(column) = columns.iter_mut().find(|column| column.name == from) {
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
