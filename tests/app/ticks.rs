//! Ticks on sheets: several people at once, with a script and without.

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use serde_json::Value;

use crate::bench_supper::{supper, write};
use crate::support::{Page, TestStudio};

const LIST: &str = "/events/1/pull-list";
const SHEET: &str = "/ticks/pull-1";
const ADA: &str = "0af3";
const BO: &str = "1bd7";

/// A single tick, as the script sends it.
async fn send(studio: &TestStudio, fields: &[(&str, &str)]) -> Page {
    let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
    let request = Request::post(SHEET)
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .header("sec-fetch-site", "same-origin")
        .header("trug-part", "ticks");
    studio.send(request, Body::from(body)).await
}

async fn tick(studio: &TestStudio, hand: &str, mark: &str, seen: &str, line: &str) -> Page {
    send(studio, &[("hand", hand), ("mark", mark), ("seen", seen), ("tick", line)]).await
}

fn told(page: &Page) -> Value {
    page.is(StatusCode::OK);
    serde_json::from_slice(&page.body).unwrap()
}

async fn ticks(studio: &TestStudio) -> Value {
    told(&studio.get("/ticks?sheet=pull-1").await)["sheets"]["pull-1"].clone()
}

#[tokio::test]
async fn a_tick_is_the_studios_and_says_who_and_when() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    studio.get(LIST).await.says("data-ticks-tally>0 of ").says("value=\"- 0 12 piece-1\"");
    let answer = tick(&studio, "Ada", ADA, "- 0 12 piece-1", "piece-1").await;
    assert_eq!(told(&answer)["sheets"]["pull-1"]["piece-1"]["hand"], "Ada");
    assert!(answer.cookie.starts_with("trug_hand=Ada; Path=/; Max-Age="), "{}", answer.cookie);
    let page = studio.get_with(LIST, "trug_hand=Bo+K").await;
    page.says("data-ticks-tally>1 of ")
        .says("value=\"0af3 1 12 piece-1\"")
        .says("ticked by Ada, ")
        .says("value=\"Bo K\"");
    // Waiting for the network for two minutes: it says when it was set.
    let late = [("mark", BO), ("ago", "120"), ("seen", "- 0 21 m4-1"), ("tick", "m4-1")];
    let signed = told(&send(&studio, &late).await)["sheets"]["pull-1"]["m4-1"]["signed"].to_string();
    assert!(signed.contains("58"), "two minutes before nine: {signed}");
}

#[tokio::test]
async fn two_people_ticking_at_once_lose_nothing() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    tick(&studio, "Ada", ADA, "- 0 12 piece-1", "piece-1").await;
    tick(&studio, "Bo", BO, "- 0 7 piece-2", "piece-2").await;
    // Sent again, since the answer was lost on the way: still Ada's, once.
    tick(&studio, "Ada", ADA, "- 0 12 piece-1", "piece-1").await;
    let both = ticks(&studio).await;
    assert_eq!(both["piece-1"]["hand"], "Ada");
    assert_eq!(both["piece-2"]["hand"], "Bo");
    // Bo takes Ada's back, having seen it; Ada sets it again.
    send(&studio, &[("mark", "2e"), ("seen", "0af3 1 12 piece-1")]).await;
    assert_eq!(ticks(&studio).await["piece-1"], Value::Null);
    tick(&studio, "Ada", "3f", "- 0 12 piece-1", "piece-1").await;
    // An old tablet that saw only Ada's first one takes nothing back.
    let old = send(&studio, &[("mark", "4a"), ("seen", "0af3 1 12 piece-1")]).await;
    assert_eq!(told(&old)["newer"][0], "piece-1");
    assert_eq!(ticks(&studio).await["piece-1"]["mark"], "3f");
    // The first one sent once more sets nothing: it was taken back since.
    send(&studio, &[("mark", "5b"), ("seen", "3f 1 12 piece-1")]).await;
    tick(&studio, "Ada", ADA, "- 0 12 piece-1", "piece-1").await;
    assert_eq!(ticks(&studio).await["piece-1"], Value::Null);
}

#[tokio::test]
async fn a_changed_count_is_said_and_is_not_done() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    tick(&studio, "Ada", ADA, "- 0 12 piece-1", "piece-1").await;
    write(&studio, "UPDATE event SET guests = 112 WHERE id = 1").await;
    studio
        .get(LIST)
        .await
        .says("12 out, now 14 (Ada, ")
        .says("data-ticks-tally>0 of ")
        .says("value=\"0af3 0 14 piece-1\"");
    tick(&studio, "Bo", BO, "0af3 0 14 piece-1", "piece-1").await;
    studio.get(LIST).await.says("ticked by Bo, ").says("data-ticks-tally>1 of ").says_not("12 out, now 14");
}

#[tokio::test]
async fn others_ticks_are_told_when_there_are_new_ones() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let ask = async |tag: &str| {
        let request =
            Request::get("/ticks?sheet=pull-1&sheet=prep-2026-05-15").header(header::IF_NONE_MATCH, tag);
        studio.send(request, Body::empty()).await.status
    };
    assert_eq!(ask("\"0-2026-05-04\"").await, StatusCode::NOT_MODIFIED);
    tick(&studio, "Ada", ADA, "- 0 12 piece-1", "piece-1").await;
    assert_eq!(ask("\"0-2026-05-04\"").await, StatusCode::OK);
    assert_eq!(ask("\"1-2026-05-04\"").await, StatusCode::NOT_MODIFIED);
    send(&studio, &[("mark", "2e"), ("seen", "0af3 1 12 piece-1")]).await;
    assert_eq!(ask("\"1-2026-05-04\"").await, StatusCode::OK, "one taken back is news too");
    studio.get("/ticks?sheet=Pull%201").await.is(StatusCode::NOT_FOUND);
    assert_eq!(
        told(&studio.get("/ticks?sheet=run-2026-05-16").await)["sheets"]["run-2026-05-16"],
        serde_json::json!({})
    );
}

#[tokio::test]
async fn without_a_script_a_sheet_saves_only_what_was_touched() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let page = [("hand", "Ada"), ("back", LIST), ("seen", "- 0 12 piece-1"), ("seen", "- 0 7 piece-2")];
    let first = studio.post(SHEET, &[&page[..], &[("tick", "piece-1")]].concat()).await;
    assert_eq!(first.onward(), LIST);
    studio.get(LIST).await.says("value=\"here-1 1 12 piece-1\"").says("data-ticks-tally>1 of ");
    // Bo's page is from before; Ada's tick stays, and Bo's comes to it.
    studio.post(SHEET, &[&page[..], &[("tick", "piece-2")]].concat()).await.onward();
    studio.get(LIST).await.says("data-ticks-tally>2 of ");
    // Ada takes hers back; Bo, who saw it, does so too.
    let seen = [
        ("back", LIST),
        ("seen", "here-1 1 12 piece-1"),
        ("seen", "here-2 1 7 piece-2"),
        ("tick", "piece-2"),
    ];
    studio.post(SHEET, &seen).await.onward();
    studio.post(SHEET, &seen).await.onward();
    studio.get(LIST).await.says("data-ticks-tally>1 of ");
    let elsewhere = studio.post(SHEET, &[("back", "//example.org"), ("seen", "- 0 12 piece-1")]).await;
    assert_eq!(elsewhere.onward(), "/");
}

#[tokio::test]
async fn clearing_is_undone() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    tick(&studio, "Ada", ADA, "- 0 12 piece-1", "piece-1").await;
    tick(&studio, "Bo", BO, "- 0 7 piece-2", "piece-2").await;
    let seen = [("back", LIST), ("seen", "0af3 1 12 piece-1"), ("seen", "- 0 7 piece-2"), ("clear", "all")];
    let cleared = studio.post(SHEET, &seen).await;
    assert_eq!(cleared.onward(), LIST);
    let left = ticks(&studio).await;
    assert_eq!(left["piece-1"], Value::Null);
    assert_eq!(left["piece-2"]["hand"], "Bo", "nobody saw it when clearing");
    let undo = "/ticks/pull-1/clearings/2/3/restoration?back=%2Fevents%2F1%2Fpull-list";
    assert_eq!(studio.post(undo, &[]).await.onward(), LIST);
    let back = ticks(&studio).await;
    assert_eq!((&back["piece-1"]["hand"], &back["piece-1"]["shown"]), (&"Ada".into(), &12.into()));
    studio.post(undo, &[]).await.onward();
    assert_eq!(ticks(&studio).await, back, "pressed twice, set once");
}

#[tokio::test]
async fn rubbish_is_no_tick() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    for seen in ["", "- 0 12 <script>", "- 0 twelve piece-1", "- 3 12 piece-1", "' 0 12 piece-1"] {
        let answer = send(&studio, &[("mark", ADA), ("seen", seen), ("tick", "piece-1")]).await;
        answer.is(StatusCode::NOT_FOUND);
    }
    let long = "x".repeat(10_000);
    send(&studio, &[("mark", ADA), ("seen", &format!("- 0 12 {long}"))]).await.is(StatusCode::NOT_FOUND);
    studio.post(&format!("/ticks/{long}"), &[]).await.is(StatusCode::NOT_FOUND);
    studio.post("/ticks/Pull", &[]).await.is(StatusCode::NOT_FOUND);
    tick(&studio, &format!("<b>{long}"), ADA, "- 0 12 piece-1", "piece-1").await;
    studio.get(LIST).await.says("ticked by &#60;b&#62;xxx").says_not(&"x".repeat(41));
}
