use axum::http::StatusCode;

use crate::bench_supper::{supper, write};
use crate::support::{Page, TestStudio};

const LOANS: &str = "/events/1/loans";

/// A second event on the day after, with four bowls; twenty are owned, fourteen of them at the supper.
async fn two_events(studio: &TestStudio) {
    supper(studio).await;
    write(
        studio,
        "UPDATE material SET owned = 16 WHERE id = 3;
        INSERT INTO event (id, client_id, name, day, venue, enquired_on)
            VALUES (2, 1, 'Sunday lunch', '2026-05-17', 'Orangery', '2026-01-05');
        INSERT INTO place (id, event_id, name, position) VALUES (3, 2, 'Terrace', 0);
        INSERT INTO piece (id, event_id, place_id, recipe_id, position, count_rule, count)
            VALUES (5, 2, 3, 1, 0, 'number', 4000);",
    )
    .await;
}

async fn owned(studio: &TestStudio) -> (i64, i64) {
    sqlx::query_as("SELECT owned, version FROM material WHERE id = 3")
        .fetch_one(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap()
}

/// A count of the bowls: version, out, back, broken, missing, whether it is charged.
async fn count(studio: &TestStudio, cells: [&str; 6]) -> Page {
    let [version, taken, back, broken, missing, charged] = cells;
    let fields = [
        ("version", version),
        ("counted_on", "2026-05-18"),
        ("counted_by", "Ines"),
        ("charged", charged),
        ("note", ""),
        ("material_id", "3"),
        ("taken", taken),
        ("back", back),
        ("broken", broken),
        ("missing", missing),
    ];
    studio.post(&format!("{LOANS}/count"), &fields).await
}

#[tokio::test]
async fn a_shortfall_names_the_days_the_events_and_what_would_mend_it() {
    let studio = TestStudio::new().await;
    two_events(&studio).await;
    // 14 from Friday to Sunday, 4 from Saturday to Monday: 18 of 16 on Saturday and Sunday.
    let said = "Stone bowl: 2 short on Sat 16 May 2026 to Sun 17 May 2026 with Sunday lunch. 18 are wanted, the \
        studio owns 16. Hire 2 or buy 2.";
    for path in ["/events/1", LOANS, "/events/1/pull-list"] {
        studio.get(path).await.is(StatusCode::OK).says(said);
    }
    let page = studio.get("/loans?from=2026-05-11&to=2026-05-24").await;
    page.is(StatusCode::OK)
        .says("Short on the shelf")
        .says("18 held − 16 owned = 2")
        .says("Fri 15 May 2026: 14")
        .says("Mon 18 May 2026: 4");
    // One bowl fewer at the lunch, and it leaves on its own day: still one short on Sunday only.
    let days = [("version", "0"), ("leaves_before", "0"), ("returns_after", "1")];
    assert_eq!(studio.post("/events/2/loans/period", &days).await.onward(), "/events/2/loans");
    studio.get(LOANS).await.says("2 short on Sun 17 May 2026 with Sunday lunch");
    write(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 2").await;
    studio.get(LOANS).await.says_not("short on");
    studio.get("/events/2/loans").await.says("nothing is lent to it");
}

#[tokio::test]
async fn days_are_refused_and_noticed_when_stale() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let days = |version: &'static str, before: &'static str, after: &'static str| {
        [("version", version), ("leaves_before", before), ("returns_after", after)]
    };
    let path = format!("{LOANS}/period");
    let page = studio.post(&path, &days("0", "-1", "1000000000")).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("2 things to put right")
        .says("value=\"1000000000\"")
        .says("Write a whole number from 0 to 60.");
    studio.post(&path, &days("0", "2", "3")).await.onward();
    studio.get(LOANS).await.says("Thu 14 May 2026").says("back on Tue 19 May 2026");
    let stale = studio.post(&path, &days("0", "1", "3")).await;
    stale.is(StatusCode::CONFLICT).says("Days before").says("name=\"version\" value=\"1\"");
    assert_eq!(studio.post(&path, &days("0", "2", "3")).await.onward(), LOANS, "pressed twice, kept once");
    studio.post("/events/9/loans/period", &days("0", "1", "1")).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn what_is_broken_is_no_longer_owned_and_counting_again_puts_it_right() {
    let studio = TestStudio::new().await;
    two_events(&studio).await;
    assert_eq!(count(&studio, ["0", "14", "11", "2", "1", "no"]).await.onward(), LOANS);
    assert_eq!(owned(&studio).await, (13, 2));
    let page = studio.get(LOANS).await;
    page.says("Counted back Mon 18 May 2026 by Ines").says("13 owned").says_not("To charge");
    assert_eq!(count(&studio, ["0", "14", "11", "2", "1", "no"]).await.onward(), LOANS);
    assert_eq!(owned(&studio).await, (13, 2), "sent twice, counted once");
    let stale = count(&studio, ["0", "14", "14", "0", "0", "no"]).await;
    stale.is(StatusCode::CONFLICT).says("Stone bowl: 11 of 14 back, 2 broken, 1 missing");
    count(&studio, ["1", "14", "13", "1", "", "no"]).await.onward();
    assert_eq!(owned(&studio).await.0, 15);
    // One bowl is still out: it is missing on the shelf for whoever comes later.
    count(&studio, ["2", "14", "13", "", "", "no"]).await.onward();
    assert_eq!(owned(&studio).await.0, 16);
    studio.get(LOANS).await.says("1 still out");
    studio.get("/loans?from=2026-06-01&to=2026-06-10").await.says("Mon 1 Jun 2026 to Wed 10 Jun 2026: 1");
}

#[tokio::test]
async fn a_wrong_count_is_refused_and_changes_nothing() {
    let studio = TestStudio::new().await;
    two_events(&studio).await;
    let page = count(&studio, ["0", "14", "14", "1", "", "no"]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("That makes 15, but only 14 went out.")
        .says("count-0-back-error")
        .says("value=\"Ines\"");
    for cells in [
        ["0", "14", "1000000000", "", "", "no"],
        ["0", "-3", "1", "", "", "no"],
        ["0", "14", "<script>", "", "", "no"],
        ["0", "14", "", "", "", "no"],
        ["0", "14", "14", "", "", "later"],
    ] {
        count(&studio, cells).await.is(StatusCode::UNPROCESSABLE_ENTITY);
    }
    let early = [
        ("version", "0"),
        ("counted_on", "2026-05-14"),
        ("charged", "no"),
        ("material_id", "3"),
        ("taken", "14"),
        ("back", "14"),
    ];
    let page = studio.post(&format!("{LOANS}/count"), &early).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("It leaves the shelf on Fri 15 May 2026");
    let hired = count(&studio, ["0", "40", "10", "30", "", "no"]).await;
    hired
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Only 16 are owned: note below what was hired and broke.");
    assert_eq!(owned(&studio).await, (16, 1));
    let unknown = [
        ("version", "0"),
        ("counted_on", "2026-05-18"),
        ("charged", "no"),
        ("material_id", "1"),
        ("back", "1"),
    ];
    let page = studio.post(&format!("{LOANS}/count"), &unknown).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("This is not lent to the event.");
    studio.get("/events/9/loans").await.is(StatusCode::NOT_FOUND).says("no such event");
    studio.post("/events/9/loans/count", &unknown).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn lost_pieces_are_charged_if_the_studio_says_so() {
    let studio = TestStudio::new().await;
    two_events(&studio).await;
    studio.get(&format!("{LOANS}/charges.csv")).await.is(StatusCode::CONFLICT).says("not counted yet");
    let prices = |version: &'static str, price: &'static str| {
        [("version", version), ("material_id", "3"), ("price", price)]
    };
    let page = studio.post("/loans/charges", &prices("0", "-1")).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("price-0-error").says("value=\"-1\"");
    let stranger = [("version", "0"), ("material_id", "4"), ("price", "1")];
    studio.post("/loans/charges", &stranger).await.is(StatusCode::UNPROCESSABLE_ENTITY);
    studio.post("/loans/charges", &prices("0", "18")).await.onward();
    studio.get("/loans/charges").await.says("value=\"18.00\"");
    let stale = studio.post("/loans/charges", &prices("0", "20")).await;
    stale.is(StatusCode::CONFLICT).says("Stone bowl 18.00").says("Stone bowl 20");
    count(&studio, ["0", "14", "11", "2", "1", "yes"]).await.onward();
    let page = studio.get(LOANS).await;
    page.says("To charge").says("(2 broken + 1 missing) × €18.00 = €54.00");
    let file = studio.get(&format!("{LOANS}/charges.csv")).await;
    assert_eq!(file.media_type, "text/csv; charset=utf-8");
    file.says("Harvest supper,2026-05-16,Ada North,Stone bowl,2,1,18.00,54.00");
    // A later price does not change what was charged.
    studio.post("/loans/charges", &prices("1", "25")).await.onward();
    studio.get(LOANS).await.says("€54.00");
}

#[tokio::test]
async fn what_should_be_back_is_asked_for() {
    let studio = TestStudio::new().await;
    two_events(&studio).await;
    studio.get("/loans").await.says_not("To count back");
    write(&studio, "UPDATE event SET day = '2026-05-01' WHERE id = 1").await;
    studio.get("/loans").await.says("To count back").says("Harvest supper</a>, due Sat 2 May 2026");
    count(&studio, ["0", "14", "14", "", "", "no"]).await.onward();
    studio.get("/loans").await.says_not("To count back");
}

#[tokio::test]
async fn asked_days_that_make_no_sense_are_refused() {
    let studio = TestStudio::new().await;
    studio.get("/loans").await.is(StatusCode::OK).says("Nothing is lent yet");
    for asked in ["from=2026-06-01&to=2026-05-01", "from=2026-01-01&to=2026-12-31", "from=soon"] {
        studio.get(&format!("/loans?{asked}")).await.is(StatusCode::UNPROCESSABLE_ENTITY);
    }
}

#[tokio::test]
async fn the_demo_s_weekend_is_two_candlesticks_short() {
    let studio = TestStudio::demo().await;
    studio
        .get("/events/3/loans")
        .await
        .says("Brass candlestick: 2 short on")
        .says("Rowing club centenary supper");
    studio.get("/events/1/loans").await.says("Counted back");
    studio.get("/loans").await.says("Hire 2 or buy 2.");
}

#[tokio::test]
async fn all_back_takes_what_is_empty_as_back_whole_and_leaves_what_is_typed() {
    let studio = TestStudio::new().await;
    two_events(&studio).await;
    studio.get(LOANS).await.says("name=\"all_back\"");
    let all = |taken: &'static str| {
        [
            ("version", "0"),
            ("counted_on", "2026-05-18"),
            ("counted_by", "Ines"),
            ("charged", "no"),
            ("note", ""),
            ("material_id", "3"),
            ("taken", taken),
            ("back", ""),
            ("broken", "1"),
            ("missing", ""),
            ("all_back", "yes"),
        ]
    };
    studio.post(&format!("{LOANS}/count"), &all("many")).await.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(owned(&studio).await.0, 16);
    assert_eq!(studio.post(&format!("{LOANS}/count"), &all("14")).await.onward(), LOANS);
    assert_eq!(owned(&studio).await.0, 15, "one broke");
    studio.get(LOANS).await.says("value=\"13\"").says("Counted back Mon 18 May 2026 by Ines");
}
