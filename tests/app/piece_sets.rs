//! Sets of pieces: kept from an event, begun with, removed.

use axum::http::StatusCode;

use crate::quotes::{QUOTE, wedding, write};
use crate::support::TestStudio;

#[tokio::test]
async fn an_event_begins_with_a_set_and_its_counts_follow_its_tables() {
    let studio = wedding().await;
    studio.get("/piece-sets").await.is(StatusCode::OK).says("No set yet");
    write(&studio, "UPDATE piece SET count_rule = 'per_table', count = 2000").await;
    studio
        .post("/events/1/set", &[("set_name", " ")])
        .await
        .is(StatusCode::CONFLICT)
        .says("The set is not kept");
    studio.post("/events/1/set", &[("set_name", "Long tables")]).await.onward();
    studio
        .post("/events/1/set", &[("set_name", "long tables")])
        .await
        .is(StatusCode::CONFLICT)
        .says("already");
    studio.get("/piece-sets").await.says("Long tables").says("Low bowl, 2 a table, Long room");
    studio.get("/piece-sets").await.says("href=\"/events/new?begin_with=Long%20tables\"");
    studio.get("/events/new?begin_with=Long%20tables").await.says("value=\"Long tables\"");
    studio.get("/piece-sets/names?q=LONG").await.says("Long tables");
    studio.get("/piece-sets/names?q=north").await.says("North wedding (2026-06-13)");
    let enquiry = [
        ("client", "Ada North"),
        ("name", "Second supper"),
        ("day", "2026-07-04"),
        ("guests", "90"),
        ("seats", "8"),
        ("begin_with", "Long table"),
    ];
    let page = studio.post("/events", &enquiry).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("No set of pieces and no event is called so")
        .says("Long table");
    let enquiry: Vec<(&str, &str)> = enquiry
        .into_iter()
        .map(|(name, value)| if name == "begin_with" { (name, "Long tables") } else { (name, value) })
        .collect();
    assert_eq!(studio.post("/events", &enquiry).await.onward(), "/events/2");
    // 2 a table × 12 tables.
    studio.get("/events/2/quote").await.says("2 a table × 12 tables").says("24 × €62.00");
}

#[tokio::test]
async fn pieces_are_added_to_those_there_are() {
    let studio = wedding().await;
    write(
        &studio,
        "INSERT INTO event (client_id, name, day, enquired_on) VALUES (1, 'Lunch', '2026-07-01', '2026-05-01')",
    )
    .await;
    studio.get("/events/2/quote").await.says("Begin with a set of pieces");
    let begin = |name: &'static str| [("begin_with", name)];
    studio
        .post("/events/2/beginning", &begin("Nothing"))
        .await
        .is(StatusCode::CONFLICT)
        .says("Nothing was added");
    assert_eq!(
        studio.post("/events/2/beginning", &begin("North wedding (2026-06-13)")).await.onward(),
        "/events/2/quote"
    );
    studio.post("/events/2/beginning", &begin("North wedding")).await.onward();
    studio.get("/events/2/pieces").await.says("28 pieces in all");
    studio.get(QUOTE).await.says_not("Begin with a set of pieces");
    studio.post("/events/9/beginning", &begin("x")).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_set_is_removed_and_comes_back() {
    let studio = wedding().await;
    studio.post("/events/1/set", &[("set_name", "Tables")]).await.onward();
    studio.post("/piece-sets/1/removal", &[]).await.onward();
    studio.get("/piece-sets").await.says("No set yet");
    studio.post("/events/1/beginning", &[("begin_with", "Tables")]).await.is(StatusCode::CONFLICT);
    studio.post("/piece-sets/1/restoration", &[]).await.onward();
    studio.get("/piece-sets").await.says("Tables");
    studio.post("/piece-sets/7/removal", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_empty_event_makes_no_set() {
    let studio = TestStudio::new().await;
    studio.post("/events/1/set", &[("set_name", "Tables")]).await.is(StatusCode::NOT_FOUND);
}
