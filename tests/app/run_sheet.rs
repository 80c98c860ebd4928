use axum::http::StatusCode;

use crate::bench_supper::{supper, write};
use crate::support::{Page, TestStudio};

const RUN: &str = "/run/2026-05-16";

/// The supper with its hours and its people, and a tea on the same day that cannot be reached in time after it.
async fn supper_and_tea(studio: &TestStudio) {
    supper(studio).await;
    write(
        studio,
        "UPDATE event SET set_up_time = '09:00', start_time = '13:00', end_time = '22:00', strike_time = '22:00',
                venue_address = 'Mill Lane' || char(10) || '1 Sedge', venue_contact = 'Steward, 01632 960 441' WHERE id = 1;
        UPDATE client SET phone = '01632 960 100' WHERE id = 1;
        INSERT INTO event (id, client_id, name, day, set_up_time, start_time, end_time, strike_time, venue, enquired_on)
            VALUES (2, 1, 'Terrace tea', '2026-05-16', '10:00', '12:00', '21:30', '22:10', 'Orangery', '2026-01-05');
        INSERT INTO place (id, event_id, name, position) VALUES (3, 2, 'Terrace', 0);
        INSERT INTO piece (id, event_id, place_id, recipe_id, position, count_rule, count, note)
            VALUES (5, 2, 3, 1, 0, 'number', 2000, 'On the <low> wall');
        INSERT INTO event_work (event_id, load_minutes, drive_minutes, set_minutes, strike_minutes, crew)
            VALUES (1, 60, 30, 240, 60, 2), (2, 20, 20, 60, 40, 2);",
    )
    .await;
}

async fn hand_over(studio: &TestStudio, key: &str, to: &str, time: &str, remarks: &str) -> Page {
    let fields = [
        ("once_key", key),
        ("handed_to", to),
        ("handed_on", "2026-05-16"),
        ("handed_time", time),
        ("remarks", remarks),
    ];
    studio.post("/events/1/hand-over", &fields).await
}

async fn count(studio: &TestStudio, key: &str, on: &str, (went, back): (&str, &str)) -> Page {
    let fields = [
        ("once_key", key),
        ("counted_on", on),
        ("counted_by", "Corin"),
        ("flowers", "Given to the hospice"),
        ("note", ""),
        ("what", "Grey crate"),
        ("went", went),
        ("back", back),
        ("what", ""),
        ("went", ""),
        ("back", ""),
    ];
    studio.post("/events/1/strike/returns", &fields).await
}

#[tokio::test]
async fn a_day_is_driven_and_what_clashes_is_named_with_what_would_mend_it() {
    let studio = TestStudio::new().await;
    supper_and_tea(&studio).await;
    let page = studio.get(RUN).await;
    page.is(StatusCode::OK)
        .says("Run sheet")
        // Both loads together take 40 minutes; half an hour away by 9:00.
        .says("<td class=\"time-big\">07:50</td>")
        .says("<td class=\"time-big\">08:30</td>")
        .says("Leave for Tithe mill")
        // Done at 11:00, 50 minutes by way of the studio, there at 11:50, done at 12:20.
        .says("Terrace tea stands at 12:20, 20 min after 12:00")
        .says("Harvest supper is done at 11:00, the drive takes 50 min")
        .says("3 people instead of 2 at Harvest supper would do.")
        .says("Type the drive between the two venues below")
        // 22:00 to 22:30 at the mill, while the tea should be struck from 22:10.
        .says("The crew is needed at two places at once")
        .says("give it to a second crew")
        .says("href=\"tel:01632960441\"")
        .says("href=\"tel:01632960100\"")
        .says("Mill Lane<br>1 Sedge")
        .says("On the &#60;low&#62; wall")
        .says("Top up the vessels")
        .says("data-ticks=\"run-2026-05-16\"")
        .says("data-tick=\"e1-piece-1\"")
        .says("data-tick=\"e2-strike\"")
        .says("The venue, local codes and licensed practice decide.");
    let mended = studio.get(&format!("{RUN}?second=2")).await;
    mended.is(StatusCode::OK).says_not("Not in time").says("Crew 2");
    let own = studio.get("/events/2/run").await;
    own.is(StatusCode::OK)
        .says("Terrace tea")
        .says("href=\"/run/2026-05-16\"")
        .says_not("data-tick=\"e1-piece-1\"");
}

#[tokio::test]
async fn what_is_not_there_is_not_found_and_a_called_off_event_is_not_driven() {
    let studio = TestStudio::new().await;
    for path in [RUN, "/run/soon", "/events/9/run", "/events/9/hand-over", "/events/9/strike"] {
        studio.get(path).await.is(StatusCode::NOT_FOUND);
    }
    supper(&studio).await;
    studio.get(&format!("{RUN}?van=9")).await.is(StatusCode::NOT_FOUND).says("no such van");
    studio.get(&format!("{RUN}?second=x")).await.is(StatusCode::OK).says("no van is written down");
    hand_over(&studio, "a", "", "25:00", "").await.is(StatusCode::UNPROCESSABLE_ENTITY);
    studio.post("/events/9/hand-over", &[("handed_to", "Ada")]).await.is(StatusCode::NOT_FOUND);
    write(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 1").await;
    studio.get("/events/1/run").await.is(StatusCode::OK).says("called off").says_not("time-big");
    studio.get(RUN).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_typed_drive_mends_the_day_and_a_stale_one_is_shown() {
    let studio = TestStudio::new().await;
    supper_and_tea(&studio).await;
    let drive = |version: &'static str, minutes: &'static str| {
        [("from", "1"), ("to", "2"), ("version", version), ("minutes", minutes)]
    };
    let path = format!("{RUN}/drives");
    let page = studio.post(&path, &drive("0", "-5")).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("minutes-0-error").says("value=\"-5\"");
    let strange = [("from", "1"), ("to", "9"), ("version", "0"), ("minutes", "5")];
    studio.post(&path, &strange).await.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(studio.post(&path, &drive("0", "15")).await.onward(), RUN);
    studio.get(RUN).await.says_not("Terrace tea stands at").says("value=\"15\"");
    let stale = studio.post(&path, &drive("0", "25")).await;
    stale.is(StatusCode::CONFLICT).says("Someone else typed a drive").says("value=\"25\"");
    assert_eq!(studio.post(&path, &drive("0", "15")).await.onward(), RUN, "pressed twice, kept once");
    studio.post(&path, &drive("1", "")).await.onward();
    studio.get(RUN).await.says("Terrace tea stands at 12:20");
}

#[tokio::test]
async fn a_hand_over_is_kept_and_a_correction_is_a_new_one() {
    let studio = TestStudio::new().await;
    supper_and_tea(&studio).await;
    studio
        .get("/events/1/hand-over")
        .await
        .is(StatusCode::OK)
        .says("name=\"handed_time\"")
        .says("value=\"09:00\"");
    let page = hand_over(&studio, "a", "", "", "<script>").await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("2 things to put right").says_not("<script>");
    assert_eq!(hand_over(&studio, "a", "Steward Bale", "11:10", "").await.onward(), "/events/1/run");
    hand_over(&studio, "a", "Steward Bale", "11:10", "").await.onward();
    let rows = async || -> i64 {
        let mut connection = studio.book.read().await.unwrap();
        sqlx::query_scalar("SELECT count(*) FROM hand_over").fetch_one(&mut *connection).await.unwrap()
    };
    assert_eq!(rows().await, 1, "sent twice, kept once");
    // Back from the next page, put right and sent from the same form: a correction, not the same again.
    hand_over(&studio, "a", "Steward Bole", "11:10", "").await.onward();
    assert_eq!(rows().await, 2);
    studio.get("/events/1").await.says("to Steward Bole</a>");
    hand_over(&studio, "a", "Steward Bale", "11:10", "").await.onward();
    hand_over(&studio, "a", "Steward Bale", "11:10", "").await.onward();
    assert_eq!(rows().await, 3, "set right again, once");
    studio.get("/events/1").await.says("to Steward Bale</a>, Sat 16 May 2026 11:10");
    hand_over(&studio, "b", "Philomel Crake", "11:20", "Two jars moved to the bar").await.onward();
    assert_eq!(rows().await, 4);
    studio
        .get("/events/1/run")
        .await
        .says("to Philomel Crake")
        .says("Two jars moved to the bar")
        .says_not("Steward Bale");
    studio.get("/events/1/hand-over").await.says("Steward Bale").says("Philomel Crake");
}

async fn counts(studio: &TestStudio) -> i64 {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar("SELECT count(*) FROM van_return").fetch_one(&mut *connection).await.unwrap()
}

#[tokio::test]
async fn what_comes_back_is_struck_counted_and_closed() {
    let studio = TestStudio::new().await;
    supper_and_tea(&studio).await;
    studio.post("/crates/usual", &[]).await.onward();
    let page = studio.get("/events/1/strike").await;
    page.is(StatusCode::OK)
        .says("Strike list")
        .says("data-tick=\"e1-strike-m3-1\"")
        .says("Comes back")
        .says("Is taken apart")
        .says("Stays with the client")
        .says("value=\"Shallow crate\"")
        .says("value=\"Water can, 10 l\"")
        .says("Count what is lent")
        .says("Not counted yet");
    let page = count(&studio, "a", "2026-05-15", ("4", "4")).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("The event is on Sat 16 May 2026");
    let page = count(&studio, "a", "2026-05-18", ("4", "5")).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("Only 4 went out.").says("value=\"5\"");
    count(&studio, "a", "2026-05-18", ("4", "1000000000")).await.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(count(&studio, "a", "2026-05-18", ("4", "3")).await.onward(), "/events/1/strike");
    studio.get("/events/1/strike").await.says("Counted Mon 18 May 2026 by Corin, still out: 1 × Grey crate");
    count(&studio, "a", "2026-05-18", ("4", "3")).await.onward();
    assert_eq!(counts(&studio).await, 1, "sent twice, kept once");
    // The same form with another number is another count.
    count(&studio, "a", "2026-05-18", ("4", "2")).await.onward();
    assert_eq!(counts(&studio).await, 2);
    studio.get("/events/1/strike").await.says("still out: 2 × Grey crate");
    count(&studio, "b", "2026-05-19", ("4", "4")).await.onward();
    studio
        .get("/events/1/strike")
        .await
        .says("All back, counted Tue 19 May 2026")
        .says("Given to the hospice");
    studio.get("/events/1").await.says("All back");
    studio.get(RUN).await.says("all is back");
    write(&studio, "UPDATE event SET day = '2026-05-02' WHERE id = 1").await;
    studio.get("/pull-lists").await.says("Back Tue 19 May 2026").says("href=\"/run/2026-05-02\"");
}

#[tokio::test]
async fn the_pull_list_says_from_when_what_is_lent_is_off_the_shelf() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let page = studio.get("/events/1/pull-list").await;
    page.says("off the shelf Fri 15 May 2026 to Sun 17 May 2026");
}

#[tokio::test]
async fn the_demo_s_saturday_has_two_stops_and_a_tight_drive() {
    let studio = TestStudio::demo().await;
    let page = studio.get("/run/2026-05-09").await;
    page.is(StatusCode::OK).says("Set up Sorrell").says("Set up Rowing club").says("Not in time");
    studio.get("/events/1/hand-over").await.says("Hall steward");
    studio.get("/events/2/strike").await.says("All back");
    studio.get("/events/1/strike").await.says("still out");
}
