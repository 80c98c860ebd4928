//! The close-out of an event and the season.

use axum::http::StatusCode;
use sqlx::Row;

use crate::accounts::{accepted, invoiced};
use crate::bench_supper::{supper, write};
use crate::support::TestStudio;

const PATH: &str = "/events/1/close-out";

/// Making for so long, and petrol for so much.
fn typed<'a>(version: &'a str, hours: &'a str, petrol: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("version", version),
        ("hours_task", "make"),
        ("hours_recipe", "1"),
        ("hours_who", "Ida"),
        ("hours_time", hours),
        ("hours_rate", ""),
        ("cost_what", "Petrol"),
        ("cost_kind", "travel"),
        ("cost_planned", "10"),
        ("cost_amount", petrol),
    ]
}

/// What the page would send to close the event.
async fn key(studio: &TestStudio) -> String {
    let page = studio.get(PATH).await.text();
    let from = page.split("name=\"once_key\" value=\"").nth(1).expect("a key");
    from.split('"').next().unwrap().to_owned()
}

async fn count(studio: &TestStudio, sql: &'static str) -> i64 {
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query(sql).fetch_one(&mut *tx).await.unwrap().get(0)
}

#[tokio::test]
async fn an_empty_book_says_what_will_stand_there() {
    let studio = TestStudio::new().await;
    studio.get("/season").await.is(StatusCode::OK).says("No season yet");
    studio.get(PATH).await.is(StatusCode::NOT_FOUND);
    studio.get("/close-out?event=1").await.is(StatusCode::NOT_FOUND);
    studio.get("/close-out").await.is(StatusCode::NOT_FOUND);
    studio.post(&format!("{PATH}/closing"), &[("once_key", "x")]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn what_is_not_known_is_said_and_the_rest_is_reckoned() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let page = studio.get(PATH).await;
    page.is(StatusCode::OK)
        .says("No version of the quote was accepted")
        .says("No order in the book: Cosmos, pink; Ivy.")
        .says("No hours were typed: Making, Loading, Driving")
        .says("It is still to come.")
        .says_not("name=\"once_key\"");
    studio.get("/events/1").await.says("href=\"/events/1/close-out\"");
    studio.get("/close-out?event=1").await.is(StatusCode::OK).says("Harvest supper");
}

#[tokio::test]
async fn hours_and_costs_are_kept_refused_shown_when_stale_and_taken_back() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let wrong = studio.post(PATH, &typed("0", "9:75", "")).await;
    wrong
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("2 things to put right")
        .says("value=\"9:75\"")
        .says("data-dirty");
    studio.post(PATH, &typed("0", "4:30", "18.40")).await.onward();
    let page = studio.get(PATH).await;
    // 14 low bowls took 4:30, the recipe says 15 minutes each: 19.3.
    page.says("14 pieces took 19.3 minutes each; with its parts the recipe says 15.")
        .says("href=\"/recipes/1\"")
        .says("value=\"4:30\"")
        .says("Petrol");
    let stale = studio.post(PATH, &typed("0", "5", "18.40")).await;
    stale.is(StatusCode::CONFLICT).says("value=\"5\"").says("name=\"version\" value=\"1\"");
    studio.post(PATH, &typed("0", "4.5", "18.40")).await.onward();
    assert_eq!(count(&studio, "SELECT count(*) FROM close_out_save").await, 1, "the same twice is one save");
    studio.post(&format!("{PATH}/saves/0"), &[]).await.onward();
    studio.get(PATH).await.says_not("value=\"Petrol\"").says("name=\"version\" value=\"2\"");
    studio.post(&format!("{PATH}/saves/1"), &[]).await.onward();
    studio.get(PATH).await.says("value=\"Petrol\"");
    studio.post(&format!("{PATH}/saves/9"), &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn it_is_closed_once_frozen_and_opened_again_by_a_row() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    studio
        .post(&format!("{PATH}/closing"), &[("once_key", "x")])
        .await
        .is(StatusCode::CONFLICT)
        .says("still to come");
    write(&studio, "UPDATE event SET day = '2026-05-02'").await;
    studio.get("/events/1").await.says("To the close-out");
    let old = key(&studio).await;
    studio.post(PATH, &typed("0", "4:30", "18.40")).await.onward();
    studio
        .post(&format!("{PATH}/closing"), &[("once_key", &old)])
        .await
        .is(StatusCode::CONFLICT)
        .says("have changed");
    let now = key(&studio).await;
    for _ in 0..2 {
        studio.post(&format!("{PATH}/closing"), &[("once_key", &now)]).await.onward();
    }
    assert_eq!(count(&studio, "SELECT count(*) FROM close_out").await, 1, "pressed twice");
    studio.get(PATH).await.says("Closed Mon 4 May 2026").says_not("Save hours and costs");
    studio.get("/events/1").await.says("Closed");
    studio.post(PATH, &typed("1", "9", "1")).await.is(StatusCode::CONFLICT).says("Open it again");
    write(&studio, "UPDATE offer_price SET price = 5000").await;
    let frozen = count(&studio, "SELECT cost FROM close_out").await;
    studio.get("/season?year=2026").await.says("Season 2026");
    studio.post(&format!("{PATH}/reopening"), &[]).await.onward();
    studio.get(PATH).await.says("Not closed").says("Save hours and costs");
    assert_eq!(count(&studio, "SELECT cost FROM close_out WHERE kind = 'closed'").await, frozen);
    let again = key(&studio).await;
    studio.post(&format!("{PATH}/closing"), &[("once_key", &again)]).await.onward();
    assert!(count(&studio, "SELECT max(cost) FROM close_out").await > frozen, "reckoned anew");
    let mut tx = studio.book.write().await.unwrap();
    assert!(sqlx::query("UPDATE close_out SET cost = 0").execute(&mut *tx).await.is_err());
    assert!(sqlx::query("DELETE FROM close_out").execute(&mut *tx).await.is_err());
}

#[tokio::test]
async fn the_demo_has_a_closed_event_and_one_to_be_closed() {
    let studio = TestStudio::demo().await;
    let closed = studio.get("/events/2/close-out").await;
    closed
        .is(StatusCode::OK)
        .says("standing done")
        .says("Help with the strike")
        .says("What to change in the recipes");
    let open = studio.get("/events/1/close-out").await;
    open.says("Not closed")
        .says("Close it with these figures")
        .says("No hours were typed")
        .says("Wholesale delivery");
    let frozen = count(&studio, "SELECT count(*) FROM close_out WHERE cost > 0 AND income > 0").await;
    assert_eq!(frozen, 1, "its figures are kept");
    studio.get("/").await.says("/events/1/close-out");
    studio.get("/close-out?event=1&event=2").await.is(StatusCode::OK).says("Event by event");
    let season = studio.get("/season").await;
    season
        .says("role=\"img\"")
        .says("Turnover and gross margin")
        .says("as a table")
        .says("By the accepted quote, ");
    studio.get("/season?year=1999").await.is(StatusCode::OK).says("None in 1999");
    studio.get("/season?year=x").await.is(StatusCode::OK);
}

#[tokio::test]
async fn the_season_counts_what_was_lost_and_wasted() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    write(
        &studio,
        "UPDATE event SET ending = 'lost', ended_on = '2026-05-01';
        INSERT INTO bench_loss (once_key, material_id, lost, lost_on, recorded_at)
            VALUES ('a', 1, 7, '2026-04-30', '2026-04-30T09:00:00Z'), ('b', 3, 2, '2026-04-30', '2026-04-30T09:00:00Z');
        INSERT INTO quote (id, event_id, priced_on, prices_include_tax) VALUES (1, 1, '2026-04-20', 0);
        INSERT INTO quote_version (id, quote_id, number, once_key, sent_on, total, document) VALUES (1, 1, 1, 'k', '2026-04-20', 0, '{}');
        INSERT INTO quote_decline (version_id, declined_on, declined_by, reason, recorded_at)
            VALUES (1, '2026-04-28', 'Ines', 'They chose <paper> flowers', '2026-04-28T09:00:00Z');",
    )
    .await;
    let season = studio.get("/season?year=2026").await;
    season.says("What they said").says("They chose &#60;paper&#62; flowers");
    // A broken bowl is no wasted stem.
    season
        .says("Lost enquiries in 2026, by month: 1 in all, most in May")
        .says("Stems wasted in 2026, by month: 7 in all, most in Apr");
    studio.get("/events").await.says("href=\"/season\"");
}

#[tokio::test]
async fn a_won_event_brings_what_was_accepted_until_it_is_closed_out_however_much_is_invoiced() {
    let studio = accepted().await;
    // 1,200.00 without tax were accepted, the pieces cost 500.00.
    let season = studio.get("/season?year=2026").await;
    season.is(StatusCode::OK).says("€1,200.00").says("€700.00 (58.3 %)");
    invoiced(&studio, "0").await;
    let season = studio.get("/season?year=2026").await;
    season.says("€1,200.00").says("€700.00 (58.3 %)").says_not("€360.00").says_not("−€140.00");
    // Called off it brings what was invoiced.
    write(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 1").await;
    studio.get("/season?year=2026").await.says("€360.00").says_not("€1,200.00");
}

#[tokio::test]
async fn the_season_says_which_events_are_by_quote_and_which_by_close_out() {
    let studio = accepted().await;
    let by_quote = studio.get("/season?year=2026").await;
    by_quote
        .says("By the accepted quote, 1 event: the cost of the pieces.")
        .says("driving, setting up, striking, conditioning and wholesale delivery are not in it")
        .says("data-label=\"Reckoned by\">Accepted quote");
    write(&studio, "UPDATE event SET day = '2026-05-02' WHERE id = 1").await;
    let once = key(&studio).await;
    studio.post(&format!("{PATH}/closing"), &[("once_key", &once)]).await.onward();
    studio
        .get("/season?year=2026")
        .await
        .says("data-label=\"Reckoned by\">Close-out")
        .says_not("By the accepted quote");
}

#[tokio::test]
async fn a_deposit_is_not_all_the_income_before_the_day_nor_when_it_is_closed() {
    let studio = accepted().await;
    invoiced(&studio, "0").await;
    let page = studio.get(PATH).await;
    page.is(StatusCode::OK)
        .says("data-label=\"Actual\">€1,200.00")
        .says("€360.00 of €1,200.00 accepted. What is still to be invoiced, €840.00, stands as accepted.")
        .says("The event is still to come");
    // Extras stand beside the quote: they do not lessen what is still to be invoiced.
    let form = studio.get("/events/1/extras").await;
    let fields = [
        ("once_key", form.hidden("once_key")),
        ("about", "Lanterns for the porch".into()),
        ("extra_name", "Lanterns".into()),
        ("extra_count", "1".into()),
        ("extra_price", "100".into()),
        ("extra_tax", "1".into()),
    ];
    let fields = fields.each_ref().map(|(name, value)| (*name, value.as_str()));
    studio.post("/events/1/extras", &fields).await.onward();
    studio.get(PATH).await.says("data-label=\"Actual\">€1,300.00");
    write(&studio, "UPDATE event SET day = '2026-05-02' WHERE id = 1").await;
    let once = key(&studio).await;
    studio.get(PATH).await.says_not("still to come");
    studio.post(&format!("{PATH}/closing"), &[("once_key", &once)]).await.onward();
    assert_eq!(count(&studio, "SELECT income FROM close_out").await, 130_000);
    // Called off, nothing more is to come of it.
    write(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 1").await;
    studio.get(PATH).await.says("data-label=\"Actual\">€460.00");
}

#[tokio::test]
async fn what_is_known_in_part_stands_as_planned_for_the_rest_and_is_named() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    // 21 pillar candles at 2.00 are called for, 5 are taken from stock.
    write(
        &studio,
        "INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES (3, 1, 4, 'each', 1);
        INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES (3, '2026-01-01', 200, '2026-01-01T00:00:00Z');
        INSERT INTO stock_lot (id, material_id, on_hand, arrived_on, counted_on) VALUES (1, 4, 5, '2026-04-01', '2026-04-01'),
            (2, 1, 10, '2026-05-01', '2026-05-01');
        INSERT INTO stock_reservation (lot_id, event_id, count, once_key, recorded_at) VALUES
            (1, 1, 5, 'a', '2026-05-02T09:00:00Z'), (2, 1, 10, 'b', '2026-05-02T09:00:00Z');",
    )
    .await;
    let page = studio.get(PATH).await;
    page.is(StatusCode::OK)
        .says("hold a part of what the recipes call for: Pillar candle, 5 of 21.")
        .says("Less ordered or taken from stock than the recipes call for: Cosmos, pink, 10 of ")
        .says("Planned 21 pieces for €42.00, actual 21 pieces for €42.00");
    // 14 low bowls took 4:30 as typed; 7 candle rows of 5 and 5 buttonholes of 8 minutes stand as planned: 1:15.
    studio.post(PATH, &typed("0", "4:30", "18.40")).await.onward();
    studio
        .get(PATH)
        .await
        .says("No making hours were typed for: Candle row; Buttonhole. They stand as planned.")
        .says("data-label=\"Actual\">5:45");
}
