use axum::http::StatusCode;

use crate::bench_supper::{supper, write};
use crate::support::TestStudio;

const FIELDS: [&str; 6] = ["version", "load", "drive", "set", "strike", "crew"];

fn typed(values: [&str; 6]) -> Vec<(&'static str, &str)> {
    FIELDS.into_iter().zip(values).collect()
}

#[tokio::test]
async fn what_nobody_typed_is_taken_as_usual_and_said() {
    let studio = TestStudio::new().await;
    studio.get("/events/1/work").await.is(StatusCode::NOT_FOUND);
    supper(&studio).await;
    // 12 bowls for 90 guests at 8 a table, 7 candle rows, 2 bowls, 5 buttonholes: 26 pieces.
    let page = studio.get("/events/1/work").await;
    page.is(StatusCode::OK)
        .says("Empty: 52 person-minutes are taken (assumed: 2 for each of 26 pieces, at least 20)")
        .says("Partly assumed")
        .says("Sat 13:30")
        .says("/events/1/work\" aria-current=\"page\"");
    studio.get("/events/1").await.says("href=\"/events/1/work\"");
}

#[tokio::test]
async fn a_save_moves_the_clock_and_wrong_figures_are_refused() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let wrong = studio.post("/events/1/work", &typed(["0", "-1", "9999", "two", "", "0"])).await;
    wrong
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("4 things to put right")
        .says("value=\"two\"")
        .says("data-dirty");
    studio.post("/events/1/work", &typed(["0", "60", "40", "120", "", "2"])).await.onward();
    let page = studio.get("/events/1/work").await;
    // On site at 14:00: leave 40 minutes before, load half an hour before that.
    page.says("Sat 12:50").says("Sat 13:20").says("value=\"120\"").says("As typed").says_not("takes longer");
    studio.post("/events/1/work", &typed(["1", "60", "40", "1200", "", "2"])).await.onward();
    studio.get("/events/1/work").await.says("It ends 360 minutes after all must stand");
}

#[tokio::test]
async fn a_stale_save_shows_both() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    studio.post("/events/1/work", &typed(["0", "60", "", "", "", ""])).await.onward();
    let stale = studio.post("/events/1/work", &typed(["0", "80", "", "", "", ""])).await;
    stale.is(StatusCode::CONFLICT).says("Loading").says("value=\"80\"").says("name=\"version\" value=\"1\"");
    assert_eq!(
        studio.post("/events/1/work", &typed(["0", "60", "", "", "", ""])).await.onward(),
        "/events/1/work",
        "the same twice"
    );
    write(&studio, "UPDATE event SET removed_at = '2026-05-01T00:00:00Z'").await;
    studio.post("/events/1/work", &typed(["1", "", "", "", "", ""])).await.is(StatusCode::NOT_FOUND);
}
