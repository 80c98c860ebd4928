//! Taking an act back, through the pages.

use axum::http::StatusCode;

use crate::support::{Page, TestStudio, filled};

/// Where the notice of an answer offers to take it back.
async fn offered(studio: &TestStudio, answer: &Page) -> Option<String> {
    let page = studio.get_with(answer.onward(), &answer.cookie).await;
    let text = page.text();
    let rest = text.split("action=\"/history/acts/").nth(1)?;
    Some(format!("/history/acts/{}", rest.split('"').next().unwrap().replace("&#38;", "&")))
}

async fn client(name: &str) -> TestStudio {
    let studio = TestStudio::new().await;
    studio.post("/clients", &[("name", name), ("note", "Likes white.")]).await.onward();
    studio
}

#[tokio::test]
async fn an_overwriting_save_offers_its_undo_and_the_undo_its_own() {
    let studio = client("Ada").await;
    let saved = studio.post("/clients/1", &[("version", "1"), ("name", "Ada North")]).await;
    let undo = offered(&studio, &saved).await.expect("an undo");
    assert!(undo.ends_with("?back=%2Fclients%2F1"), "{undo}");
    let undone = studio.post(&undo, &[]).await;
    assert_eq!(undone.onward(), "/clients/1");
    studio
        .get("/clients/1")
        .await
        .says("value=\"Ada\"")
        .says("Likes white.")
        .says("name=\"version\" value=\"3\"");
    // The form that stood open is stale: both are shown.
    let stale = studio.post("/clients/1", &[("version", "2"), ("name", "Ada South")]).await;
    stale.is(StatusCode::CONFLICT).says("Ada South");
    let again = offered(&studio, &undone).await.expect("an undo of the undo");
    studio.post(&again, &[]).await.onward();
    studio.get("/clients/1").await.says("value=\"Ada North\"").says_not("Likes white.");
    // Once more: what was taken back and brought again can be taken back again.
    studio.post(&undo, &[]).await.onward();
    studio.get("/clients/1").await.says("value=\"Ada\"");
    studio.post(&undo, &[]).await.is(StatusCode::CONFLICT).says("taken back already");
}

#[tokio::test]
async fn what_something_later_stands_on_is_refused_by_name() {
    let studio = client("Ada").await;
    let first = studio.post("/clients/1", &[("version", "1"), ("name", "Ada North")]).await;
    let first = offered(&studio, &first).await.unwrap();
    let second = studio.post("/clients/1", &[("version", "2"), ("name", "Ada South")]).await;
    let refused = studio.post(&first, &[]).await;
    refused.is(StatusCode::CONFLICT).says("Something later stands on it: the client was changed again");
    studio.get("/clients/1").await.says("Ada South");
    // The later one first, then the earlier.
    studio.post(&offered(&studio, &second).await.unwrap(), &[]).await.onward();
    studio.post(&first, &[]).await.onward();
    studio.get("/clients/1").await.says("value=\"Ada\"");
}

#[tokio::test]
async fn what_only_added_or_changed_nothing_offers_nothing() {
    let studio = TestStudio::new().await;
    let added = studio.post("/clients", &[("name", "Ada")]).await;
    assert_eq!(offered(&studio, &added).await, None);
    studio.post("/history/acts/1/undoing", &[]).await.is(StatusCode::CONFLICT).says("only added");
    studio.post("/history/acts/99/undoing", &[]).await.is(StatusCode::NOT_FOUND);
    studio.post("/history/acts/x/undoing", &[]).await.is(StatusCode::NOT_FOUND);
    studio.get("/clients/1").await.is(StatusCode::OK);
}

#[tokio::test]
async fn what_was_sent_is_never_taken_back() {
    let studio = TestStudio::demo().await;
    let mut tx = studio.book.write().await.unwrap();
    for sql in [
        "UPDATE quote SET version = version + 1, words = 'Otherwise' WHERE id = 1",
        "INSERT INTO quote_version (quote_id, number, once_key, sent_on, total, document) VALUES (1, 99, 'x', '2026-05-01', 0, '{}')",
    ] {
        sqlx::query(sql).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
    let act: i64 = sqlx::query_scalar("SELECT max(id) FROM act")
        .fetch_one(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap();
    let refused = studio.post(&format!("/history/acts/{act}/undoing"), &[]).await;
    refused.is(StatusCode::CONFLICT).says("a version sent is never rewritten");
}

#[tokio::test]
async fn a_saved_recipe_comes_back_with_its_lines() {
    let studio = filled(&[
        "INSERT INTO material (id, name, kind, unit) VALUES (1, 'Rose', 'flower', 'stem'), (2, 'Ranunculus', 'flower', 'stem')",
        "INSERT INTO recipe (id, name, category, minutes, holding_hours) VALUES (7, 'Posy', 'table', 5000, 24)",
        "INSERT INTO recipe_line (id, recipe_id, position, material_id, measure, quantity) VALUES (3, 7, 0, 1, 'count', 5000)",
        "INSERT INTO recipe_substitute (line_id, material_id) VALUES (3, 2)",
    ])
    .await;
    let page = studio.get("/recipes/7").await;
    let saved = studio
        .post(
            "/recipes/7",
            &[
                ("version", &page.hidden("version")),
                ("name", "Posy, fuller"),
                ("category", "table"),
                ("minutes", "6"),
                ("holding_hours", "24"),
                ("what", "Ranunculus"),
                ("amount", "9"),
                ("stands_in", ""),
                ("line_note", ""),
            ],
        )
        .await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER, "{}", saved.text());
    let undo = offered(&studio, &saved).await.expect("an undo");
    studio.post(&undo, &[]).await.onward();
    let line: (i64, i64, i64, i64) = sqlx::query_as(
        "SELECT id, material_id, quantity, (SELECT material_id FROM recipe_substitute WHERE line_id = recipe_line.id)
        FROM recipe_line WHERE recipe_id = 7",
    )
    .fetch_one(&mut *studio.book.read().await.unwrap())
    .await
    .unwrap();
    assert_eq!(line, (3, 1, 5000, 2));
    studio.get("/recipes/7").await.says("value=\"Posy\"");
}

#[tokio::test]
async fn what_something_was_built_on_or_named_anew_stays() {
    let studio = client("Ada").await;
    studio.post("/suppliers", &[("name", "Hillside")]).await;
    let mut tx = studio.book.fill().await.unwrap();
    for sql in [
        "INSERT INTO kit_item (id, name, kind, quantity, position) VALUES (1, 'Snips', 'tool', 1, 0)",
        "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (1, 1, 'Supper', '2026-05-16', '2026-05-01')",
        "INSERT INTO place (id, event_id, name, position) VALUES (1, 1, 'Door', 0)",
        "INSERT INTO recipe (id, name, category, minutes, holding_hours) VALUES (7, 'Posy', 'table', 0, 0)",
    ] {
        sqlx::query(sql).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
    // Act by act: a piece is added with a save, and its importance is set since; an item's name goes to another.
    for sql in [
        &[
            "UPDATE event SET version = version + 1, note = 'x'",
            "INSERT INTO piece (id, event_id, place_id, recipe_id, position, count_rule, count) VALUES (5, 1, 1, 7, 0, 'number', 1000)",
        ][..],
        &["INSERT INTO piece_wish (piece_id, importance, may_leave_out) VALUES (5, 9, 0)"],
        &["UPDATE kit_item SET name = 'Shears'"],
        &["INSERT INTO kit_item (id, name, kind, quantity, position) VALUES (2, 'Snips', 'tool', 1, 1)"],
    ] {
        let mut tx = studio.book.write().await.unwrap();
        for sql in sql {
            sqlx::query(sqlx::AssertSqlSafe(*sql)).execute(&mut *tx).await.unwrap();
        }
        tx.commit().await.unwrap();
    }
    let acts: Vec<i64> = sqlx::query_scalar("SELECT id FROM act ORDER BY id DESC LIMIT 4")
        .fetch_all(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap();
    let undo = async |act: i64| studio.post(&format!("/history/acts/{act}/undoing"), &[]).await;
    undo(acts[3]).await.is(StatusCode::CONFLICT).says("a piece&#39;s importance would be lost");
    undo(acts[1]).await.is(StatusCode::CONFLICT).says("what it was called is another’s name now");
    let note: String = sqlx::query_scalar("SELECT note FROM event")
        .fetch_one(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap();
    assert_eq!(note, "x", "nothing by half");
}

#[tokio::test]
async fn an_undo_leads_to_no_other_site() {
    let studio = client("Ada").await;
    studio.post("/clients/1", &[("version", "1"), ("name", "Ada North")]).await.onward();
    let undone = studio.post("/history/acts/2/undoing?back=https%3A%2F%2Fexample.org", &[]).await;
    assert_eq!(undone.onward(), "/history");
}
