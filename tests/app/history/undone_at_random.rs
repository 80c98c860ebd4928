//! The law of undoing: acts taken back in reverse order give the book as it was, but for the counts of saves.

use proptest::prelude::*;
use sqlx::{AssertSqlSafe, SqliteConnection};
use trug::db::history::undo::undo;
use trug::db::{Book, schema};

use crate::support::own_folder;

/// An act as the rooms do them: a save with its lines, a removal, a change in place.
#[derive(Debug, Clone)]
enum Deed {
    Client { id: i64, name: String, note: String },
    Removal { id: i64, gone: bool },
    Recipe { id: i64, lines: Vec<(i64, i64, bool)> },
    Pieces { keep: Vec<i64>, new: Vec<(i64, i64)> },
    Terms { days: i64, steps: Vec<i64> },
}

fn deeds() -> impl Strategy<Value = Vec<Deed>> {
    let deed = prop_oneof![
        (1..4_i64, "[A-Za-z \"'ü\\\\]{1,12}", ".{0,20}").prop_map(|(id, name, note)| Deed::Client {
            id,
            name: format!("N{name}"),
            note: note.replace('\0', "")
        }),
        (1..4_i64, any::<bool>()).prop_map(|(id, gone)| Deed::Removal { id, gone }),
        (1..3_i64, prop::collection::vec((1..4_i64, 1..9_000_i64, any::<bool>()), 0..4))
            .prop_map(|(id, lines)| Deed::Recipe { id, lines }),
        (prop::collection::vec(1..9_i64, 0..4), prop::collection::vec((1..3_i64, 1..9_i64), 0..3))
            .prop_map(|(keep, new)| Deed::Pieces { keep, new }),
        (0..300_i64, prop::collection::vec(0..99_i64, 0..3))
            .prop_map(|(days, steps)| Deed::Terms { days, steps }),
    ];
    prop::collection::vec(deed, 1..9)
}

async fn run(connection: &mut SqliteConnection, sql: String) {
    let done = sqlx::query(AssertSqlSafe(sql.clone())).execute(connection).await;
    assert!(done.is_ok(), "{sql}: {done:?}");
}

async fn begin(book: &Book) {
    let mut tx = book.fill().await.unwrap();
    for sql in [
        "INSERT INTO client (id, name) VALUES (1, 'Ada'), (2, 'Bo'), (3, 'Cy')",
        "INSERT INTO material (id, name, kind, unit) VALUES (1, 'Rose', 'flower', 'stem'), (2, 'Ivy', 'foliage', 'stem'), (3, 'Urn', 'vessel', 'each')",
        "INSERT INTO recipe (id, name, category, minutes, holding_hours) VALUES (1, 'Posy', 'table', 0, 0), (2, 'Swag', 'table', 0, 0)",
        "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (1, 1, 'Supper', '2026-05-16', '2026-05-01')",
        "INSERT INTO place (id, event_id, name, position) VALUES (1, 1, 'Door', 0)",
        "INSERT INTO account_settings (id) VALUES (1)",
    ] {
        run(&mut tx, sql.into()).await;
    }
    tx.commit().await.unwrap();
}

async fn recipe(tx: &mut SqliteConnection, id: i64, lines: &[(i64, i64, bool)]) {
    run(tx, format!("UPDATE recipe SET version = version + 1, minutes = {} WHERE id = {id}", lines.len()))
        .await;
    run(tx, format!("DELETE FROM recipe_line WHERE recipe_id = {id}")).await;
    for (place, (material, quantity, substitute)) in lines.iter().enumerate() {
        run(tx, format!("INSERT INTO recipe_line (recipe_id, position, material_id, measure, quantity) VALUES ({id}, {place}, {material}, 'count', {quantity})")).await;
        if *substitute {
            run(
                tx,
                "INSERT INTO recipe_substitute (line_id, material_id) SELECT max(id), 1 FROM recipe_line"
                    .into(),
            )
            .await;
        }
    }
}

async fn pieces(tx: &mut SqliteConnection, keep: &[i64], new: &[(i64, i64)]) {
    let keep: Vec<String> = keep.iter().map(ToString::to_string).collect();
    run(tx, "UPDATE event SET version = version + 1".into()).await;
    run(tx, format!("DELETE FROM piece WHERE id NOT IN ({})", keep.join(", "))).await;
    run(tx, "UPDATE piece SET position = position + 1, count = count + 500".into()).await;
    for (recipe, count) in new {
        run(tx, format!("INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count) VALUES (1, 1, {recipe}, 0, 'number', {count})")).await;
        run(
            tx,
            "INSERT INTO piece_wish (piece_id, importance, may_leave_out) SELECT max(id), 3, 1 FROM piece"
                .into(),
        )
        .await;
    }
}

async fn terms(tx: &mut SqliteConnection, days: i64, steps: &[i64]) {
    run(tx, format!("UPDATE account_settings SET version = version + 1, payment_days = {days}")).await;
    run(tx, "DELETE FROM cancellation_step".into()).await;
    for step in steps {
        run(tx, format!("INSERT INTO cancellation_step (days_before, retained) VALUES ({step}, {days}) ON CONFLICT DO NOTHING")).await;
    }
}

async fn done(tx: &mut SqliteConnection, deed: &Deed) {
    match deed {
        Deed::Client { id, name, note } => {
            let sql = "UPDATE client SET version = version + 1, name = ?, note = ? WHERE id = ?";
            sqlx::query(sql).bind(name).bind(note).bind(id).execute(tx).await.unwrap();
        }
        Deed::Removal { id, gone } => {
            let at = if *gone { "'2026-05-04T09:00:00Z'" } else { "NULL" };
            run(tx, format!("UPDATE client SET removed_at = {at} WHERE id = {id}")).await;
        }
        Deed::Recipe { id, lines } => recipe(tx, *id, lines).await,
        Deed::Pieces { keep, new } => pieces(tx, keep, new).await,
        Deed::Terms { days, steps } => terms(tx, *days, steps).await,
    }
}

/// Every row of every table, without the history and without the counts of saves.
async fn content(book: &Book) -> Vec<String> {
    let mut connection = book.read().await.unwrap();
    let mut rows = Vec::new();
    for table in schema::tables(&mut connection).await.unwrap() {
        if table.name.starts_with("act") {
            continue;
        }
        let columns: Vec<String> = table
            .columns
            .iter()
            .filter(|column| column.name != "version")
            .map(|column| format!("quote({})", schema::quoted(&column.name)))
            .collect();
        let name = schema::quoted(&table.name);
        let sql =
            format!("SELECT '{}' || {} FROM {name} ORDER BY 1", table.name, columns.join(" || ', ' || "));
        let of_table: Vec<String> =
            sqlx::query_scalar(AssertSqlSafe(sql)).fetch_all(&mut *connection).await.unwrap();
        rows.extend(of_table);
    }
    rows
}

async fn done_and_undone(deeds: &[Deed]) {
    let folder = own_folder();
    let book = Book::open(&folder.join("studio.trug")).await.unwrap();
    begin(&book).await;
    let was = content(&book).await;
    for deed in deeds {
        let mut tx = book.write().await.unwrap();
        done(&mut tx, deed).await;
        tx.commit().await.unwrap();
    }
    // What changed nothing is no act.
    let acts: Vec<i64> = sqlx::query_scalar("SELECT id FROM act ORDER BY id DESC")
        .fetch_all(&mut *book.read().await.unwrap())
        .await
        .unwrap();
    for act in acts {
        let mut tx = book.write().await.unwrap();
        let undone = undo(&mut tx, act).await.unwrap();
        assert_eq!(undone, Ok(()), "act {act} of {deeds:?}");
        tx.commit().await.unwrap();
    }
    assert_eq!(content(&book).await, was);
    book.close().await;
    std::fs::remove_dir_all(folder).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn acts_undone_in_reverse_order_leave_no_trace(deeds in deeds()) {
        tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap().block_on(done_and_undone(&deeds));
    }
}
