//! What the triggers keep.

use sqlx::{AssertSqlSafe, Row, SqliteConnection};
use trug::db::history::records::LEFT_OUT;
use trug::db::history::{Errand, as_whom, on_errand, triggers};
use trug::db::schema;

use crate::support::{NOW, TestStudio};

type Change = (i64, String, String, String, Option<String>, Option<String>);

/// Act, table, key, record, before, after of every change, in order.
async fn changes(studio: &TestStudio) -> Vec<Change> {
    sqlx::query_as("SELECT act_id, table_name, row_key, record, before, after FROM act_change ORDER BY id")
        .fetch_all(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap()
}

async fn acts(studio: &TestStudio) -> Vec<(i64, String, String, String)> {
    sqlx::query_as("SELECT id, done_at, who, way FROM act ORDER BY id")
        .fetch_all(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap()
}

fn change(act: i64, row: (&str, &str, &str), before: Option<&str>, after: Option<&str>) -> Change {
    let owned = |text: &str| text.to_owned();
    (act, row.0.into(), row.1.into(), row.2.into(), before.map(owned), after.map(owned))
}

async fn run(connection: &mut SqliteConnection, sql: &str) {
    sqlx::query(AssertSqlSafe(sql.to_owned())).execute(connection).await.unwrap();
}

#[tokio::test]
async fn a_save_is_an_act_with_what_changed() {
    let studio = TestStudio::new().await;
    studio.post("/clients", &[("name", "Ada"), ("phone", "555 0101")]).await.onward();
    studio
        .post("/clients/1", &[("version", "1"), ("name", "Ada \"North\" ü"), ("phone", "555 0101")])
        .await
        .onward();
    studio.post("/clients/1", &[("version", "1"), ("name", "Stale")]).await;
    studio.post("/clients/1", &[("version", "2"), ("name", " ")]).await;
    let client = ("client", "1", "client-1");
    let expected = [
        change(1, client, None, None),
        change(
            2,
            client,
            Some(r#"{"version":1,"name":"Ada"}"#),
            Some(r#"{"version":2,"name":"Ada \"North\" ü"}"#),
        ),
    ];
    assert_eq!(changes(&studio).await, expected);
    let here = |act, way: &str| (act, NOW.to_owned(), String::new(), way.to_owned());
    assert_eq!(acts(&studio).await, [here(1, "POST /clients"), here(2, "POST /clients/{id}")]);
}

#[tokio::test]
async fn an_act_bears_who_did_it() {
    let studio = TestStudio::new().await;
    let errand = Errand::new(NOW.parse().unwrap(), "by hand");
    let work = as_whom("Wilma Dunnock", async {
        let mut tx = studio.book.write().await.unwrap();
        run(&mut tx, "INSERT INTO client (name) VALUES ('Ada')").await;
        tx.commit().await.unwrap();
    });
    on_errand(errand, work).await;
    let mut unasked = studio.book.write().await.unwrap();
    run(&mut unasked, "UPDATE client SET phone = '1'").await;
    unasked.commit().await.unwrap();
    let acts = acts(&studio).await;
    assert_eq!(acts[0], (1, NOW.into(), "Wilma Dunnock".into(), "by hand".into()));
    assert_eq!((acts[1].2.as_str(), acts[1].3.as_str()), ("", ""));
    acts[1].1.parse::<trug::ground::dates::Moment>().unwrap();
}

#[tokio::test]
async fn what_is_rolled_back_leaves_no_act_and_gives_its_number_to_nobody() {
    let studio = TestStudio::new().await;
    for _ in 0..2 {
        let mut tx = studio.book.write().await.unwrap();
        run(&mut tx, "INSERT INTO client (name) VALUES ('Nobody')").await;
    }
    studio.book.write().await.unwrap().commit().await.unwrap();
    assert!(changes(&studio).await.is_empty() && acts(&studio).await.is_empty());
    studio.post("/clients", &[("name", "Ada")]).await.onward();
    assert_eq!(acts(&studio).await[0].0, 4, "three numbers were given before");
}

#[tokio::test]
async fn an_update_that_changes_nothing_is_no_change() {
    let studio = TestStudio::new().await;
    studio.post("/clients", &[("name", "Ada")]).await.onward();
    let mut tx = studio.book.write().await.unwrap();
    run(&mut tx, "UPDATE client SET name = name").await;
    tx.commit().await.unwrap();
    assert_eq!(changes(&studio).await.len(), 1);
}

#[tokio::test]
async fn rows_that_go_with_another_are_kept_too_and_know_their_record() {
    let studio = TestStudio::new().await;
    let mut tx = studio.book.fill().await.unwrap();
    for sql in [
        "INSERT INTO material (id, name, kind, unit) VALUES (1, 'Rose', 'flower', 'stem'), (2, 'Ranunculus', 'flower', 'stem')",
        "INSERT INTO recipe (id, name, category, minutes, holding_hours) VALUES (7, 'Posy', 'table', 0, 0)",
        "INSERT INTO recipe_line (id, recipe_id, position, material_id, measure, quantity) VALUES (3, 7, 0, 1, 'count', 5000)",
        "INSERT INTO recipe_substitute (line_id, material_id) VALUES (3, 2)",
    ] {
        run(&mut tx, sql).await;
    }
    tx.commit().await.unwrap();
    assert!(changes(&studio).await.is_empty(), "filling is left out");
    let mut tx = studio.book.write().await.unwrap();
    run(&mut tx, "DELETE FROM recipe_line WHERE id = 3").await;
    tx.commit().await.unwrap();
    let line =
        r#"{"id":3,"recipe_id":7,"position":0,"material_id":1,"measure":"count","quantity":5000,"note":""}"#;
    let substitute = r#"{"line_id":3,"material_id":2}"#;
    assert_eq!(
        changes(&studio).await,
        [
            change(2, ("recipe_line", "3", "recipe-7"), Some(line), None),
            change(2, ("recipe_substitute", "[3,2]", "recipe-7"), Some(substitute), None),
        ]
    );
}

/// A table that a later migration brings has its history without a word; only one that is left out by name has none.
#[tokio::test]
async fn every_table_has_a_history_or_a_reason() {
    let studio = TestStudio::new().await;
    let mut tx = studio.book.write().await.unwrap();
    let named: Vec<String> = sqlx::query("SELECT name FROM sqlite_temp_master WHERE type = 'trigger'")
        .fetch_all(&mut *tx)
        .await
        .unwrap()
        .iter()
        .map(|row| row.get("name"))
        .collect();
    for table in schema::tables(&mut tx).await.unwrap() {
        let left_out = LEFT_OUT.iter().any(|(name, reason)| *name == table.name && !reason.is_empty());
        for what in ["added", "changed", "deleted"] {
            let there = named.contains(&format!("history_{what}_{}", table.name));
            assert_eq!(there, !left_out, "{} of {}", what, table.name);
        }
    }
}

/// SQLite looks into a trigger only when it may fire.
#[tokio::test]
async fn every_trigger_is_sound_on_a_full_book() {
    let studio = TestStudio::demo().await;
    let mut tx = studio.book.write().await.unwrap();
    for table in schema::tables(&mut tx).await.unwrap() {
        if !triggers::is_kept(&table.name) {
            continue;
        }
        let (name, column) = (schema::quoted(&table.name), schema::quoted(&table.columns[0].name));
        for sql in [
            format!("EXPLAIN INSERT INTO {name} SELECT * FROM {name}"),
            format!("EXPLAIN UPDATE {name} SET {column} = {column}"),
            format!("EXPLAIN DELETE FROM {name}"),
        ] {
            let sound = sqlx::query(AssertSqlSafe(sql)).fetch_all(&mut *tx).await;
            assert!(sound.is_ok(), "{}: {sound:?}", table.name);
        }
        // JSON holds no fraction as SQLite does: the day a table has one, the history must learn it.
        assert!(table.columns.iter().all(|column| column.holds != schema::Holds::Real), "{}", table.name);
        // A deleted row leaves out what was empty; it must be empty again when it is put back.
        let defaults: Vec<(String, i64, Option<String>)> =
            sqlx::query_as("SELECT name, \"notnull\", dflt_value FROM pragma_table_info(?)")
                .bind(&table.name)
                .fetch_all(&mut *tx)
                .await
                .unwrap();
        assert!(defaults.iter().all(|(_, must, default)| *must == 1 || default.is_none()), "{}", table.name);
    }
}
