use axum::http::StatusCode;

use crate::bench_supper::{supper, write};
use crate::support::TestStudio;

const WEEKEND: &str = "from=2026-05-16&to=2026-05-17";

#[tokio::test]
async fn the_days_before_a_weekend_show_their_work() {
    let studio = TestStudio::new().await;
    studio.get("/prep").await.is(StatusCode::OK).says("No events in these days");
    supper(&studio).await;
    let page = studio.get(&format!("/prep?{WEEKEND}")).await;
    page.is(StatusCode::OK)
        .says("Thu 14 May 2026")
        .says("Fri 15 May 2026")
        .says("/prep/2026-05-15?from=2026-05-16&#38;to=2026-05-17")
        .says("Harvest supper");
    // Without a span the week of the next event is shown; with an event its week.
    studio.get("/prep").await.says("/prep/2026-05-15?from=2026-05-11&#38;to=2026-05-17");
    studio.get("/prep?event=1").await.says("/prep/2026-05-15?from=2026-05-11&#38;to=2026-05-17");
}

#[tokio::test]
async fn a_days_sheet_is_what_the_bench_does() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let thursday = studio.get(&format!("/prep/2026-05-14?{WEEKEND}")).await;
    // 14 × 6.5 + 5 = 96 cosmos with their spares in bunches of ten, six minutes each, a night in water.
    thursday
        .is(StatusCode::OK)
        .says("data-ticks=\"prep-2026-05-14\"")
        .says("data-tick=\"condition-1-2026-05-14-10\"")
        .says("12 hours in water: not used before Thu 22:00")
        .says("data-tick=\"dress-1-3\"")
        .says("Ribbon, linen: 5 of 30\u{a0}cm")
        .says("Residues")
        .says_not("data-tick=\"make-1\"");
    let friday = studio.get(&format!("/prep/2026-05-15?{WEEKEND}")).await;
    friday
        .says("data-tick=\"make-1\"")
        .says("data-tick=\"make-3\"")
        .says("42 stems, each: 4 of 13.97\u{a0}cm")
        .says("Keeps 24 hours once cut, cool, in a bag: not before Thu 18:00")
        .says("Line the bowl → Green the rim → Cosmos last")
        .says("Long room, Harvest supper")
        .says("Toxic or irritating")
        .says_not("data-tick=\"make-4\"");
    let saturday = studio.get(&format!("/prep/2026-05-16?{WEEKEND}")).await;
    saturday.says("data-tick=\"make-4\"").says("Buttonhole").says("40 min");
    let all = studio.get(&format!("/prep/sheets?{WEEKEND}")).await;
    all.says("data-ticks=\"prep-2026-05-14\"").says("data-ticks=\"prep-2026-05-16\"");
}

#[tokio::test]
async fn days_without_work_and_wrong_days_are_refused() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    studio.get(&format!("/prep/2026-05-01?{WEEKEND}")).await.is(StatusCode::NOT_FOUND);
    studio.get("/prep/someday").await.is(StatusCode::NOT_FOUND);
    studio.get("/prep?event=99").await.is(StatusCode::NOT_FOUND);
    studio.get("/prep?event=one").await.is(StatusCode::NOT_FOUND);
    let page = studio.get("/prep?from=2026-05-17&to=2026-05-16").await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The last day lies before the first.")
        .says("value=\"2026-05-17\"");
    studio
        .get("/prep?from=1990-01-01&to=2199-12-31")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("At most 31 days at once.");
    studio.get("/prep?from=soon").await.is(StatusCode::UNPROCESSABLE_ENTITY).says("such as 2026-05-14");
}

#[tokio::test]
async fn what_does_not_fit_and_what_is_open_is_said() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    write(
        &studio,
        "UPDATE event SET guests = NULL;
        UPDATE material SET hydrate_hours = 96, holding_days = 2 WHERE id = 1;",
    )
    .await;
    let page = studio.get(&format!("/prep?{WEEKEND}")).await;
    page.says("What does not fit").says("Cosmos, pink keeps 2 days").says("1 count is");
    // Awaited four days before it is used, on Monday: it stands on that day's sheet.
    studio.get(&format!("/prep/2026-05-11?{WEEKEND}")).await.says("Cosmos, pink keeps 2 days");
    studio.get(&format!("/prep/2026-05-15?{WEEKEND}")).await.says_not("Cosmos, pink keeps 2 days");
    write(&studio, "UPDATE event SET ended_on = '2026-05-01', ending = 'cancelled'").await;
    studio.get(&format!("/prep?{WEEKEND}")).await.says("No events in these days");
}

#[tokio::test]
async fn pails_stand_by_day_against_the_cooler() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    // 96 cosmos and their spares stand from their arrival to the day of the buttonholes.
    let page = studio.get("/prep?event=1").await;
    page.is(StatusCode::OK)
        .says("Pails and water")
        .says("Cosmos, pink at 30 a pail")
        .says("Ivy at 30 a pail")
        .says("(common practice, no published source)")
        .says("not said how many it holds")
        .says_not("The cooler is too small");
    let rule = |version: &'static str, medium: &'static str, cooler: &'static str| {
        [
            ("version", version),
            ("small", "50"),
            ("medium", medium),
            ("large", "12"),
            ("foliage", "30"),
            ("litres", "4.5"),
            ("cooler", cooler),
        ]
    };
    let wrong = studio.post("/prep/pails", &rule("0", "0", "-1")).await;
    wrong.is(StatusCode::UNPROCESSABLE_ENTITY).says("2 things to put right").says("value=\"-1\"");
    studio.post("/prep/pails", &rule("0", "20", "1")).await.onward();
    studio.get("/prep/pails").await.says("value=\"4.5\"");
    studio
        .get("/prep?event=1")
        .await
        .says("The cooler is too small")
        .says("the cooler holds 1.")
        .says("at 20 a pail");
    let stale = studio.post("/prep/pails", &rule("0", "25", "1")).await;
    stale.is(StatusCode::CONFLICT).says("Medium heads a pail").says("name=\"version\" value=\"1\"");
    assert_eq!(
        studio.post("/prep/pails", &rule("0", "20", "1")).await.onward(),
        "/prep/pails",
        "the same twice"
    );
}
