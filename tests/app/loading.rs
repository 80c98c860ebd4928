use axum::http::StatusCode;

use crate::bench_supper::{supper, write};
use crate::support::{Page, TestStudio};

const LOAD: &str = "/events/1/load";

/// One crate and one van: version, then the crate's and the van's cells.
async fn save(studio: &TestStudio, version: &str, kind: [&str; 8], van: [&str; 6]) -> Page {
    let crates = [
        "crate_id",
        "crate_name",
        "crate_length",
        "crate_width",
        "crate_height",
        "crate_own",
        "crate_most",
        "crate_stack",
    ];
    let vans = ["van_id", "van_name", "van_length", "van_width", "van_height", "van_payload"];
    let mut fields = vec![("version", version)];
    fields.extend(crates.into_iter().zip(kind));
    fields.extend(vans.into_iter().zip(van));
    studio.post("/crates", &fields).await
}

const CRATE: [&str; 8] = ["", "Crate", "60", "40", "40", "2", "", "no"];
const VAN: [&str; 6] = ["", "Van", "400", "130", "120", "500"];

#[tokio::test]
async fn pieces_stand_in_crates_and_the_van_says_whether_it_holds_them() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    studio
        .get(LOAD)
        .await
        .is(StatusCode::OK)
        .says("Write down the crates")
        .says("14 × Low bowl, Long room".replace("14", "12").as_str());
    studio.post("/crates/usual", &[]).await.onward();
    let page = studio.get(LOAD).await;
    // Bowls 27 cm wide stand two in a shallow crate, 6 + 1 crates; seven candle rows and five buttonholes of an
    // estimated 25 cm two in an open one, 6 crates; one more of spares, tape and ribbon.
    page.says("<dt>Crates</dt><dd>14</dd>")
        .says("Fits the Small van")
        .says("1: 2 × Low bowl, Long room")
        .says("3 crates")
        .says("1–3")
        .says("width, height and weight estimated")
        .says("data-ticks=\"load-2026-05-16\"")
        .says("data-tick=\"e1-c1\"")
        .says("Shallow crate from above: 2 pieces in rows of 2")
        .says("Also aboard")
        .says("Shallow crate: kit and goods")
        .says("in K1")
        .says("data-tick=\"e1-k1\"")
        .says("data-tick=\"e1-w1\"")
        .says("data-tick=\"e1-water-top-up\"")
        .says_not("data-tick=\"e1-water\"")
        .says("Over 23 kg (51 lb) two people lift")
        .says("non-slip liner");
    assert_eq!(page.text().matches("data-tick=\"e1-c").count(), 13, "a tick for each crate");
}

#[tokio::test]
async fn a_small_van_drives_twice_and_the_first_drop_travels_first() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    write(
        &studio,
        "INSERT INTO event (id, client_id, name, day, set_up_time, venue, enquired_on)
            VALUES (2, 1, 'Morning tea', '2026-05-16', '08:00', 'Orangery', '2026-01-05');
        INSERT INTO place (id, event_id, name, position) VALUES (3, 2, 'Terrace', 0);
        INSERT INTO piece (id, event_id, place_id, recipe_id, position, count_rule, count)
            VALUES (5, 2, 3, 1, 0, 'number', 2000);",
    )
    .await;
    save(&studio, "0", CRATE, VAN).await.onward();
    studio.get(LOAD).await.says("Another event is").says("href=\"/load/2026-05-16\"");
    let page = studio.get("/load/2026-05-16").await;
    page.is(StatusCode::OK).says("Fits the Van").says("Morning tea, drop 1").says("Harvest supper, drop 2");
    let text = page.text();
    assert!(text.find("drop 2").unwrap() < text.find("drop 1").unwrap(), "the last drop goes in first");
    let small = ["1", "Van", "70", "45", "120", "500"];
    save(&studio, "2", ["1", "Crate", "60", "40", "40", "2", "", "no"], small).await.onward();
    let page = studio.get("/load/2026-05-16").await;
    page.says("trips with the Van").says("Trip 2");
    let text = page.text();
    assert!(text.find("Morning tea, drop 1").unwrap() < text.find("Harvest supper, drop 2").unwrap());
    studio.get("/load/2026-05-17").await.is(StatusCode::NOT_FOUND);
    studio.get("/load/soon").await.is(StatusCode::NOT_FOUND);
    studio.get("/load/2026-05-16?van=9").await.is(StatusCode::NOT_FOUND).says("no such van");
}

#[tokio::test]
async fn what_one_person_cannot_lift_is_marked() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    save(&studio, "0", ["", "Crate", "60", "40", "40", "2", "40", "no"], VAN).await.onward();
    write(&studio, "INSERT INTO recipe_travel (recipe_id, weight) VALUES (1, 11000)").await;
    // 11 kg and 1.9 kg of water: two are 25.8 kg, with the crate 27.8 kg.
    let page = studio.get(LOAD).await;
    page.says("27.8\u{a0}kg")
        .says("Two people lift.")
        .says("<dt>For two people</dt><dd>7</dd>")
        .says_not("one piece alone");
    write(&studio, "UPDATE recipe_travel SET weight = 60000, diameter = 500000").await;
    let page = studio.get(LOAD).await;
    page.says("Low bowl, Long room").says("50\u{a0}cm wide").says("too wide for every crate");
    write(&studio, "UPDATE recipe_travel SET weight = 60000, diameter = 200000").await;
    studio.get(LOAD).await.says("Heavier than this crate may be: one piece alone is.");
}

#[tokio::test]
async fn crates_and_vans_are_refused_kept_noticed_when_stale_and_brought_back() {
    let studio = TestStudio::new().await;
    studio.get("/crates").await.is(StatusCode::OK).says("No crates yet");
    let wrong = ["", "Crate", "0", "-4", "1000000000", "<script>", "1", "no"];
    let page = save(&studio, "0", wrong, ["", "", "200", "", "", ""]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("crates-0-length-error")
        .says("crates-0-width-error")
        .says("crates-0-height-error")
        .says("crates-0-own-error")
        .says("vans-0-name-error")
        .says("value=\"1000000000\"")
        .says_not("<script>");
    save(&studio, "0", CRATE, VAN).await.onward();
    let stale = save(&studio, "0", CRATE, VAN).await;
    stale.is(StatusCode::CONFLICT).says("Crate 60 × 40 × 40").says("name=\"version\" value=\"2\"");
    let gone = save(
        &studio,
        "2",
        ["1", "", "60", "40", "40", "2", "", "no"],
        ["1", "Van", "400", "130", "120", "500"],
    )
    .await;
    let page = studio.get_with(gone.onward(), &gone.cookie).await;
    page.says("1 removed.").says_not("value=\"Crate\"");
    let text = page.text();
    let undo = text.split('"').find(|part| part.ends_with("/restoration")).unwrap().to_owned();
    studio.post(&undo, &[]).await.onward();
    studio.get("/crates").await.says("value=\"Crate\"");
    studio.post("/crates/removals/yesterday/restoration", &[]).await.is(StatusCode::NOT_FOUND);
    studio.post("/crates/usual", &[]).await.onward();
    studio.get("/crates").await.says_not("Shallow crate");
}

#[tokio::test]
async fn a_recipe_says_how_large_and_heavy_one_is() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let recipe = |width: &'static str, weight: &'static str| {
        [
            ("name", "Jar"),
            ("category", "table"),
            ("minutes", "5"),
            ("holding_hours", "24"),
            ("what", "Cosmos, pink"),
            ("amount", "5"),
            ("stands_in", ""),
            ("line_note", ""),
            ("diameter", width),
            ("height", ""),
            ("weight", weight),
        ]
    };
    let page = studio.post("/recipes", &recipe("30 m", "heavy")).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("No piece is larger than 20 m.")
        .says("Write a weight such as 12.5 kg.");
    let kept = studio.post("/recipes", &recipe("14", "800 g")).await;
    studio.get(kept.onward()).await.says("value=\"0.8\"").says("value=\"14\"");
}

#[tokio::test]
async fn an_unknown_or_called_off_event_loads_nothing() {
    let studio = TestStudio::new().await;
    studio.get("/events/9/load").await.is(StatusCode::NOT_FOUND).says("no such event");
    supper(&studio).await;
    write(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'lost' WHERE id = 1").await;
    studio.get(LOAD).await.is(StatusCode::OK).says("called off").says("Nothing to load yet");
}

#[tokio::test]
async fn the_demo_s_saturday_is_loaded() {
    let studio = TestStudio::demo().await;
    let page = studio.get("/load/2026-05-09").await;
    page.is(StatusCode::OK).says("Green van").says("Sorrell").says("Rowing club").says("Two people lift.");
    studio.get("/events/5/load").await.is(StatusCode::OK);
}

/// What is heavy and large by itself is counted: a hundred ladders do not fit a small van beside the crates.
#[tokio::test]
async fn kit_water_and_extras_take_room_and_weight() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    studio.post("/crates/usual", &[]).await.onward();
    studio.get(LOAD).await.says("Fits the Small van");
    let extra = |weight: &'static str, litres: &'static str| {
        [("name", "Plinth"), ("quantity", "12"), ("place", "Porch"), ("weight", weight), ("litres", litres)]
    };
    let path = "/events/1/pull-list/extras";
    let page = studio.post(path, &extra("-1", "1e9")).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("weight-error").says("litres-error").says("value=\"1e9\"");
    studio.post(path, &extra("30", "60")).await.onward();
    let page = studio.get(LOAD).await;
    // Twelve of 30 kg and 60 litres: none fits a crate, each is for two people, and the floor holds no more.
    page.says("Needs 3 trips with the Small van").says("<strong>Plinth</strong>");
    page.says("<dt>For two people</dt><dd>12</dd>").says("30\u{a0}kg and 60 litres: too large or too heavy");
}
