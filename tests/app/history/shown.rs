//! The pages of the history.

use axum::http::StatusCode;
use trug::db::history::as_whom;

use crate::support::{TestStudio, filled};

#[tokio::test]
async fn a_record_tells_who_changed_what_when() {
    let studio = TestStudio::new().await;
    studio.post("/clients", &[("name", "Ada"), ("note", "<script>x</script>")]).await.onward();
    as_whom("Wilma", studio.post("/clients/1", &[("version", "1"), ("name", "Ada North")])).await.onward();
    studio.post("/clients/1/removal", &[]).await.onward();
    studio.post("/clients", &[("name", "Somebody else")]).await.onward();
    let page = studio.get("/history?of=client-1").await;
    page.is(StatusCode::OK)
        .says("<h1>Ada North, history</h1>")
        .says("<del>Ada</del> → Ada North")
        .says("<del>&#60;script&#62;x&#60;/script&#62;</del> → –")
        .says("Wilma")
        .says("At the studio’s computer")
        .says("Client <b>removed</b>")
        .says("Client <b>added</b>")
        .says("09:00")
        .says_not("Somebody else");
    // The removal stands on the row, so only it can be taken back.
    assert_eq!(page.text().matches("/undoing?back=").count(), 1);
    studio.get("/clients/1").await.says("/history?of=client-1");
}

#[tokio::test]
async fn the_whole_book_can_be_asked_by_kind_person_and_day() {
    let studio = TestStudio::new().await;
    studio.get("/history").await.says("Nothing was changed here");
    as_whom("Wilma", studio.post("/clients", &[("name", "Ada")])).await.onward();
    studio
        .post(
            "/suppliers",
            &[
                ("name", "Hillside Growers"),
                ("delivery", "0"),
                ("cutoff_days", "2"),
                ("cutoff_time", "11:00"),
            ],
        )
        .await;
    studio.get("/history").await.says("Ada").says("<option value=\"Wilma\">");
    studio.get("/history?kind=client").await.says("Ada").says_not("Hillside Growers");
    studio.get("/history?kind=event").await.says("Nothing was changed here that fits what is asked");
    studio.get("/history?who=Wilma").await.says("Ada").says_not("Hillside Growers");
    studio.get("/history?until=2026-05-04").await.says("Ada");
    studio.get("/history?until=2026-05-03").await.says_not("Ada");
    for odd in [
        "/history?of=nothing-1",
        "/history?of=client-99",
        "/history?of=x",
        "/history?page=-3",
        "/history?until=x",
        "/history?of=%3Cscript%3E",
    ] {
        studio.get(odd).await.is(StatusCode::OK).says_not("<script>");
    }
}

#[tokio::test]
async fn values_are_told_as_the_pages_write_them() {
    let studio = filled(&[
        "INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order) VALUES (1, 'Hillside', 1, 1, '11:00', 1500, 0)",
        "INSERT INTO material (id, name, kind, unit, loss, usable_length) VALUES (1, 'Rose', 'flower', 'stem', 50000, 600000)",
    ])
    .await;
    let mut tx = studio.book.write().await.unwrap();
    for sql in [
        "UPDATE supplier SET delivery_fee = 2000, delivery_weekdays = 5, fee_waived_over = 30000",
        "UPDATE material SET loss = 80000, preferred_supplier_id = 1, care_source = 'published', cautions = 64",
    ] {
        sqlx::query(sql).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
    studio
        .get("/history?of=supplier-1")
        .await
        .says("Mon</del> → Mon, Wed")
        .says("20.00")
        .says("No delivery fee over");
    studio
        .get("/history?of=material-1")
        .await
        .says("5\u{a0}%</del> → 8\u{a0}%")
        .says("→ Hillside")
        .says("Usual loss");
}

#[tokio::test]
async fn a_list_that_is_saved_anew_tells_only_what_is_otherwise() {
    let studio = filled(&[
        "INSERT INTO material (id, name, kind, unit) VALUES (1, 'Rose', 'flower', 'stem'), (2, 'Ranunculus', 'flower', 'stem')",
        "INSERT INTO recipe (id, name, category, minutes, holding_hours) VALUES (7, 'Posy', 'table', 0, 0)",
        "INSERT INTO recipe_line (id, recipe_id, position, material_id, measure, quantity) VALUES (3, 7, 0, 1, 'count', 5000), (4, 7, 1, 2, 'count', 1000)",
    ])
    .await;
    let mut tx = studio.book.write().await.unwrap();
    for sql in [
        "UPDATE recipe SET version = version + 1",
        "DELETE FROM recipe_line",
        "INSERT INTO recipe_line (recipe_id, position, material_id, measure, quantity) VALUES (7, 0, 1, 'count', 6500), (7, 1, 2, 'count', 1000)",
    ] {
        sqlx::query(sql).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
    let page = studio.get("/history?of=recipe-7").await;
    page.says("Line: Rose <b>changed</b>").says("<del>5</del> → 6.5");
    let act = page.text().split("id=\"act-").nth(1).unwrap().to_owned();
    assert!(!act.split("</tr>").next().unwrap().contains("Ranunculus"), "{act}");
}

#[tokio::test]
async fn a_long_history_has_pages() {
    let studio = TestStudio::new().await;
    studio.post("/clients", &[("name", "Ada")]).await.onward();
    for number in 0..31 {
        let mut tx = studio.book.write().await.unwrap();
        let sql = format!("UPDATE client SET name = 'Ada {number}'");
        sqlx::query(sqlx::AssertSqlSafe(sql)).execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
    }
    studio.get("/history?of=client-1").await.says("/history?of=client-1&#38;page=2").says_not("<b>added</b>");
    studio.get("/history?of=client-1&page=2").await.says("<b>added</b>");
}

/// The kit's form marks every item as removed first and brings back what is still in it.
#[tokio::test]
async fn a_saved_kit_tells_only_what_is_otherwise() {
    let studio = filled(&[
        "INSERT INTO kit_item (id, name, kind, quantity, position) VALUES (1, 'Snips', 'tool', 1, 0), (2, 'Broom', 'tool', 1, 1)",
    ])
    .await;
    let mut tx = studio.book.write().await.unwrap();
    for sql in [
        "UPDATE kit_item SET removed_at = '2026-05-04T09:00:00Z', version = version + 1",
        "UPDATE kit_item SET removed_at = NULL, quantity = 4 WHERE id = 1",
        "UPDATE kit_item SET removed_at = NULL WHERE id = 2",
    ] {
        sqlx::query(sql).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
    let page = studio.get("/history?of=kit").await;
    page.says("Item: Snips <b>changed</b>")
        .says("<del>1</del> → 4")
        .says_not("put back")
        .says_not("<b>removed</b>");
}
