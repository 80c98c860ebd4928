//! Freshness at the hour: an event's page, the way's temperatures, a hot venue, and where else it is said.

use axum::http::StatusCode;

use crate::bench_supper::{supper, write};
use crate::support::TestStudio;

const HERE: &str = "/events/1/freshness";

async fn cared_for() -> TestStudio {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    write(
        &studio,
        "UPDATE material SET vase_days = 3, holding_days = 3, storage_celsius = 4 WHERE id = 1;
        UPDATE material SET vase_days = 9, storage_celsius = 2, holding_days = 12 WHERE id = 2;",
    )
    .await;
    studio
}

#[tokio::test]
async fn an_events_flowers_stand_worst_first_with_their_working() {
    let studio = cared_for().await;
    let page = studio.get(HERE).await;
    page.is(StatusCode::OK)
        .says("2 fine")
        .says("Cosmos, pink")
        .says("Cooler, Thu 10:00 to Fri 08:00: 22 h at 4 °C")
        .says("Venue, Sat 14:00 to Sat 23:00: 9 h at 21 °C")
        .says("a Q10 of 2: the studio&#39;s assumption")
        // Ivy: 12 days at 2 °C, 9 at 20 °C.
        .says("9 days at 20 °C and 12 days at 2 °C: a Q10 of 1.17")
        .says("An estimate of what is left when the event ends, never a promise")
        .says_not("By the estimate, this does not last");
    let text = page.text();
    assert!(text.find("Cosmos, pink</a>") < text.find("Ivy</a>"), "the worst first");
    // In the event's own navigation, and on Prep.
    studio.get("/events/1").await.says("/events/1/freshness").says_not("does not last");
    studio.get("/prep?event=1").await.says("Freshness at the end of each event").says("2 fine");
    studio.get("/events/9/freshness").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_hot_venue_is_typed_and_what_it_ends_is_said_everywhere() {
    let studio = cared_for().await;
    let keep = |version: &'static str, celsius: &'static str| [("version", version), ("celsius", celsius)];
    let refused = studio.post("/events/1/venue-temperature", &keep("0", "warm")).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY).says("1 thing to put right").says("value=\"warm\"");
    let answer = studio.post("/events/1/venue-temperature", &keep("0", "45")).await;
    assert_eq!(answer.onward(), HERE);
    let page = studio.get(HERE).await;
    page.says("By the estimate, this does not last")
        .says("Ends early")
        .says("At 20 °C at the venue, out of the heat");
    studio.get("/prep?event=1").await.says("Cosmos, pink is estimated to be over about Sat");
    studio.get("/events/1").await.says("Cosmos, pink is estimated to be over about Sat");
    let thursday = studio.get("/prep/2026-05-14?event=1").await;
    thursday.says("May be past its best before the event ends (an estimate)");
    // Someone else had it open.
    let stale = studio.post("/events/1/venue-temperature", &keep("0", "30")).await;
    stale.is(StatusCode::CONFLICT).says("The venue&#39;s temperature").says("name=\"version\" value=\"1\"");
    studio.post("/events/1/venue-temperature", &keep("1", "")).await.onward();
    studio.get(HERE).await.says("2 fine");
    studio.post("/events/9/venue-temperature", &keep("0", "30")).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn the_temperatures_of_the_way_are_a_setting() {
    let studio = cared_for().await;
    let keep = |version: &'static str, bench: &'static str, q10: &'static str| {
        [
            ("version", version),
            ("cooler", "3"),
            ("bench", bench),
            ("finished", ""),
            ("van", "12"),
            ("venue", "22"),
            ("q10", q10),
        ]
    };
    studio
        .get("/prep/temperatures")
        .await
        .is(StatusCode::OK)
        .says("our own assumption")
        .says("value=\"2\" id=\"q10\"");
    let refused = studio.post("/prep/temperatures", &keep("0", "90", "0.5")).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY).says("2 things to put right").says("value=\"90\"");
    studio.post("/prep/temperatures", &keep("0", "16", "2.5")).await.onward();
    let page = studio.get(HERE).await;
    page.says("22 h at 3 °C").says("a Q10 of 2.5").says_not("our own assumptions until you set them");
    let stale = studio.post("/prep/temperatures", &keep("0", "19", "2.5")).await;
    stale.is(StatusCode::CONFLICT).says("Bench");
    assert_eq!(
        studio.post("/prep/temperatures", &keep("0", "16", "2.5")).await.onward(),
        "/prep/temperatures"
    );
}

#[tokio::test]
async fn a_bud_that_comes_late_is_still_shut() {
    let studio = cared_for().await;
    write(
        &studio,
        "UPDATE material SET opening_days = 3, vase_days = 5, holding_days = 5 WHERE id = 1;
        INSERT INTO placed_order (id, number, once_key, supplier_id, supplier, placed_on, recorded_at)
            VALUES (1, 1, 'a', 1, 'Meadow & Mill', '2026-05-04', '2026-05-04T07:00:00Z');
        INSERT INTO placed_order_event (order_id, event_id) VALUES (1, 1);
        INSERT INTO placed_delivery (id, order_id, day, order_by_day, order_by_time, fee)
            VALUES (1, 1, '2026-05-14', '2026-05-13', '11:00', 1500);
        INSERT INTO placed_line (id, delivery_id, position, offer_id, material_id, name, pack_name, pack_size, packs, price)
            VALUES (1, 1, 0, 1, 1, 'Cosmos, pink', 'bunch', 10, 13, 900);
        INSERT INTO placed_share (line_id, event_id, stems, goods) VALUES (1, 1, 125, 11700);",
    )
    .await;
    let page = studio.get(HERE).await;
    page.is(StatusCode::OK)
        .says("Still shut")
        .says("Cosmos, pink opens only after the event Sun 10:00; guests come Sat 18:00.")
        .says("Opening, out of the cooler, Thu 10:00");
}

#[tokio::test]
async fn without_pieces_or_called_off_there_is_nothing_to_estimate() {
    let studio = cared_for().await;
    write(&studio, "UPDATE event SET ended_on = '2026-05-01', ending = 'cancelled'").await;
    studio.get(HERE).await.is(StatusCode::OK).says("Nothing arrives for it");
    write(&studio, "UPDATE event SET ended_on = NULL, ending = NULL; DELETE FROM piece;").await;
    studio.get(HERE).await.is(StatusCode::OK).says("Nothing fresh yet");
}
