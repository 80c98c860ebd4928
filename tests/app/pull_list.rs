use axum::http::StatusCode;

use crate::bench_supper::{supper, write};
use crate::support::{Page, TestStudio};

const LIST: &str = "/events/1/pull-list";

/// The row that holds the words, without its tags.
fn row(page: &Page, words: &str) -> String {
    let text = page.text();
    let row =
        text.split("<tr").find(|row| row.contains(words)).unwrap_or_else(|| panic!("no row has {words}"));
    let plain = row.split('<').filter_map(|part| part.split_once('>')).map(|(_, text)| text.trim());
    plain.filter(|text| !text.is_empty()).collect::<Vec<_>>().join(" ")
}

#[tokio::test]
async fn everything_that_leaves_the_door_is_counted_by_place() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let page = studio.get(LIST).await;
    page.is(StatusCode::OK)
        .says("Long room")
        .says("Porch")
        .says("set up from 14:00")
        .says("data-ticks=\"pull-1\"")
        .says("data-tick=\"piece-1\"")
        .says("data-tick=\"m3-1-back\"")
        .says("Open flame")
        .says("Stone bowl: 14 are wanted, the studio owns 12. Hire or buy 2.");
    // 90 guests at 8 a table are 12 tables: 12 bowls here, 2 in the porch.
    assert!(row(&page, "data-tick=\"m3-1\"").starts_with("12 Stone bowl"), "{}", row(&page, "m3-1"));
    assert!(row(&page, "data-tick=\"m3-2\"").starts_with("2 Stone bowl"));
    assert!(row(&page, "data-tick=\"m4-1\"").starts_with("21 Pillar candle"));
    assert!(
        row(&page, "data-tick=\"m4-spare\"").starts_with("2 Pillar candle"),
        "one for each started 20 of 21"
    );
    assert!(
        row(&page, "data-tick=\"m6-event\"").starts_with("1 roll Stem tape"),
        "14 bowls, one roll for 20"
    );
    assert!(row(&page, "data-tick=\"m5-event\"").starts_with("1 roll Ribbon"));
    // π ÷ 4 × 1.778² × 1.016 × 0.75 = 1.892 litres; 14 bowls 26.5 litres, a quarter of them is 6.6.
    assert!(
        row(&page, "data-tick=\"water\"")
            .starts_with("27 litres Water for the vessels The vessels travel with it: 27 kg in all")
    );
    assert!(row(&page, "data-tick=\"water-top-up\"").starts_with("7 litres Water to top up"));
}

#[tokio::test]
async fn an_unknown_event_has_no_list() {
    let studio = TestStudio::new().await;
    studio.get("/events/9/pull-list").await.is(StatusCode::NOT_FOUND).says("no such event");
    studio.get("/events/x/pull-list").await.is(StatusCode::NOT_FOUND).says("no such page");
    let page = studio.post("/events/9/pull-list/extras", &[("name", "Easel"), ("quantity", "1")]).await;
    page.is(StatusCode::NOT_FOUND);
    studio.post("/events/9/pull-list/extras/1/removal", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn open_counts_are_said() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    write(&studio, "UPDATE event SET guests = NULL").await;
    studio.get(LIST).await.says("1 count is still open").says("Low bowl, Long room: 1 a table");
    studio.get("/pull-lists").await.says("Harvest supper").says("and 1 open");
}

#[tokio::test]
async fn an_extra_is_put_on_taken_off_and_put_back() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let extras = format!("{LIST}/extras");
    let easel = [("name", "Easel <oak>"), ("quantity", "2"), ("place", "porch"), ("note", "for the plan")];
    assert_eq!(studio.post(&extras, &easel).await.onward(), LIST);
    let page = studio.get(LIST).await;
    assert!(row(&page, "data-tick=\"extra-1\"").starts_with("2 Easel &#60;oak&#62; for the plan"));
    let off = studio.post(&format!("{extras}/1/removal"), &[]).await;
    let page = studio.get_with(off.onward(), &off.cookie).await;
    page.says("is off the list.").says(&format!("{extras}/1/restoration")).says_not("data-tick=\"extra-1\"");
    studio.post(&format!("{extras}/1/restoration"), &[]).await.onward();
    studio.get(LIST).await.says("data-tick=\"extra-1\"");
}

#[tokio::test]
async fn a_wrong_extra_keeps_what_was_typed() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let wrong = [("name", " "), ("quantity", "1000000000"), ("place", "Porch"), ("note", "oak")];
    let page = studio.post(&format!("{LIST}/extras"), &wrong).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("2 things to put right")
        .says("Write a whole number from 1 to 100000.")
        .says("value=\"1000000000\"")
        .says("value=\"oak\"");
    let long = "x".repeat(10_000);
    let page = studio.post(&format!("{LIST}/extras"), &[("name", &long), ("quantity", "-1")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("10000 letters long");
    studio.get(LIST).await.says_not("data-tick=\"extra-");
}

#[tokio::test]
async fn the_kit_begins_empty_and_goes_along_by_its_rule() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    studio.get("/kit").await.is(StatusCode::OK).says("Nothing in the kit yet").says("first-aid kit");
    studio.post("/kit/usual", &[]).await.onward();
    studio.get("/kit").await.says("value=\"First-aid kit\"").says_not("Nothing in the kit yet");
    // 26 pieces: three sheets of liner for each started ten.
    let page = studio.get(LIST).await;
    let sheets = row(&page, "Non-slip liner");
    assert!(sheets.starts_with("3 Non-slip liner"), "{sheets}");
    studio.post("/kit/usual", &[]).await.onward();
    assert_eq!(studio.get("/kit").await.text().matches("value=\"Secateurs\"").count(), 1, "never twice");
}

#[tokio::test]
async fn the_kit_is_saved_refused_and_noticed_when_stale() {
    let studio = TestStudio::new().await;
    let kit = |version: &'static str, name: &'static str, quantity: &'static str| {
        [
            ("version", version),
            ("kit_id", ""),
            ("name", name),
            ("kind", "tool"),
            ("quantity", quantity),
            ("per_pieces", ""),
        ]
    };
    let page = studio.post("/kit", &kit("0", "Knife", "none")).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("kit-0-quantity-error").says("value=\"none\"");
    studio.post("/kit", &kit("0", "Knife", "2")).await.onward();
    studio.get("/kit").await.says("value=\"Knife\"");
    let stale = studio.post("/kit", &kit("0", "Mister", "1")).await;
    stale.is(StatusCode::CONFLICT).says("2 Knife").says("1 Mister").says("name=\"version\" value=\"1\"");
    // Saved again it replaces the kit; what was left out can be brought back.
    let saved = studio.post("/kit", &kit("1", "Mister", "1")).await;
    let page = studio.get_with(saved.onward(), &saved.cookie).await;
    page.says("1 item removed.").says_not("value=\"Knife\"");
    let text = page.text();
    let undo = text.split('"').find(|part| part.ends_with("/restoration")).unwrap().to_owned();
    studio.post(&undo, &[]).await.onward();
    studio.get("/kit").await.says("value=\"Knife\"").says("value=\"Mister\"");
    studio.post("/kit/removals/yesterday/restoration", &[]).await.is(StatusCode::NOT_FOUND);
}
