//! A record that someone else removed while one's page stood open.

use axum::http::StatusCode;
use trug::db::history::as_whom;

use crate::support::{TestStudio, filled};

/// Each kind of record: its page, and a field that its form has.
const RECORDS: &[(&str, &str, &str)] = &[
    ("/clients/1", "/clients/1", "note"),
    ("/events/1", "/events/1", "note"),
    ("/events/1/pieces", "/events/1", "note"),
    ("/recipes/1", "/recipes/1", "note"),
    ("/materials/1", "/materials/1", "note"),
    ("/suppliers/1", "/suppliers/1", "note"),
    ("/offers/1", "/offers/1", "pack_name"),
    ("/closed-days/1", "/closed-days/1", "name"),
];

async fn studio() -> TestStudio {
    filled(&[
        "INSERT INTO client (id, name) VALUES (1, 'Ada')",
        "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (1, 1, 'Supper', '2026-05-16', '2026-05-01')",
        "INSERT INTO recipe (id, name, category, minutes, holding_hours) VALUES (1, 'Posy', 'table', 0, 0)",
        "INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order) VALUES (1, 'Hillside', 1, 1, '11:00', 0, 0)",
        "INSERT INTO material (id, name, kind, unit) VALUES (1, 'Rose', 'flower', 'stem')",
        "INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES (1, 1, 1, 'bunch', 10)",
        "INSERT INTO closed_day (id, first_day, last_day, name, kind) VALUES (1, '2026-06-01', '2026-06-01', 'Fair', 'closed')",
    ])
    .await
}

#[tokio::test]
async fn every_kind_of_record_says_who_removed_it_and_keeps_what_was_typed() {
    for (page, record, field) in RECORDS {
        let studio = studio().await;
        let removal = format!("{record}/removal");
        as_whom("Wilma Dunnock", studio.post(&removal, &[])).await.onward();
        let looked = studio.get(page).await;
        // A material's and a supplier's own pages show it still, since recipes and orders lead there.
        if looked.status == StatusCode::OK {
            looked.says("emoved ").says(&format!("{record}/restoration"));
        } else {
            looked
                .is(StatusCode::NOT_FOUND)
                .says("was removed</h1>")
                .says("It was removed by Wilma Dunnock, ")
                .says("Put it back<");
        }
        let typed = [("version", "1"), (*field, "Typed & \"kept\""), ("row", "a"), ("row", "b")];
        let saved = studio.post(page, &typed).await;
        // An event's hub is only looked at; its form is at another address.
        if saved.status == StatusCode::METHOD_NOT_ALLOWED {
            continue;
        }
        saved
            .is(StatusCode::NOT_FOUND)
            .says("was removed while you were typing")
            .says("<dd>Typed &#38; &#34;kept&#34;</dd>")
            .says("name=\"row\" value=\"a\"")
            .says("name=\"row\" value=\"b\"")
            .says("Put it back and save");
    }
}

#[tokio::test]
async fn put_back_it_is_saved_as_typed_unless_someone_changed_it_meanwhile() {
    let studio = studio().await;
    studio.post("/clients/1/removal", &[]).await.onward();
    let typed = [("version", "1"), ("name", "Ada North")];
    let refused = studio.post("/clients/1", &typed).await;
    let way = refused
        .text()
        .split("action=\"/history/restorations/")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap()
        .replace("&#38;", "&");
    let back = studio.post(&format!("/history/restorations/{way}"), &typed).await;
    back.is(StatusCode::TEMPORARY_REDIRECT);
    assert_eq!(back.location, "/clients/1");
    studio.post(&back.location, &typed).await.onward();
    studio.get("/clients/1").await.says("value=\"Ada North\"");
    // Saved by someone else before it was removed: both are shown, nothing is overwritten.
    studio.post("/clients/1", &[("version", "2"), ("name", "Ada South")]).await.onward();
    studio.post("/clients/1/removal", &[]).await.onward();
    let mine = [("version", "2"), ("name", "Ada East")];
    studio.post(&format!("/history/restorations/{way}"), &mine).await.is(StatusCode::TEMPORARY_REDIRECT);
    studio.post("/clients/1", &mine).await.is(StatusCode::CONFLICT).says("Ada South").says("Ada East");
}

#[tokio::test]
async fn looked_at_only_it_is_put_back_with_a_notice() {
    let studio = studio().await;
    studio.post("/suppliers/1/removal", &[]).await.onward();
    let back = studio.post("/history/restorations/supplier-1?then=%2Fsuppliers%2F1", &[]).await;
    assert_eq!(back.onward(), "/suppliers/1");
    studio.get("/suppliers/1").await.is(StatusCode::OK);
    let twice = studio.post("/history/restorations/supplier-1?then=%2F%2Fexample.org", &[]).await;
    assert_eq!(twice.onward(), "/");
    for nothing in ["studio-1", "invoice-1", "client-99", "client", "x"] {
        let answer = studio.post(&format!("/history/restorations/{nothing}"), &[]).await;
        assert!(matches!(answer.status, StatusCode::NOT_FOUND | StatusCode::SEE_OTHER), "{nothing}");
    }
}

#[tokio::test]
async fn a_name_taken_since_is_said() {
    let studio = studio().await;
    studio.post("/recipes/1/removal", &[]).await.onward();
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query("INSERT INTO recipe (name, category, minutes, holding_hours) VALUES ('Posy', 'table', 0, 0)")
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let refused = studio.post("/history/restorations/recipe-1?then=%2Frecipes%2F1", &[]).await;
    refused.is(StatusCode::CONFLICT).says("another one has its name now");
}

#[tokio::test]
async fn what_never_was_is_only_not_found() {
    let studio = studio().await;
    studio
        .get("/clients/99")
        .await
        .is(StatusCode::NOT_FOUND)
        .says_not("was removed")
        .says("There is no such client");
    studio.post("/clients/99", &[("name", "x")]).await.is(StatusCode::NOT_FOUND).says_not("Put it back");
}
