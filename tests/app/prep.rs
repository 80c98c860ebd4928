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
        .says("data-tick=\"condition-1-2026-05-14-10-1\"")
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

#[tokio::test]
async fn a_day_is_worked_station_by_station() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let day = format!("/prep/2026-05-15?{WEEKEND}");
    studio
        .get(&day)
        .await
        .says("&#38;station=cutting\">Cutting (1)")
        .says("&#38;station=tables\">Table pieces (3)");
    let tables = studio.get(&format!("{day}&station=tables")).await;
    tables
        .is(StatusCode::OK)
        .says("<span class=\"sheet-name\">Table pieces</span>")
        .says("data-ticks=\"prep-2026-05-15\"")
        .says("data-tick=\"make-1\"")
        .says("0 of 3 done")
        .says_not("data-tick=\"cut-2-");
    let each = studio.get(&format!("{day}&station=each")).await;
    each.says("<span class=\"sheet-name\">Cutting</span>")
        .says("<span class=\"sheet-name\">Table pieces</span>");
    assert_eq!(each.text().matches("class=\"sheet-each\"").count(), 2, "{}", each.text());
    assert_eq!(
        each.text().matches("<form class=\"filter no-print\"").count(),
        1,
        "the day's ticks are one set"
    );
    studio.get(&format!("{day}&station=large")).await.says("Nothing to do at this station");
    studio.get(&format!("{day}&station=oven")).await.is(StatusCode::NOT_FOUND).says("no such station");
}

#[tokio::test]
async fn a_days_recipe_cards_say_how_many_for_what() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let cards = studio.get(&format!("/prep/2026-05-15/cards?{WEEKEND}")).await;
    cards
        .is(StatusCode::OK)
        .says("Recipe card, Low bowl")
        .says("<td class=\"count-big\">12</td><td class=\"task\"><strong>Long room, Harvest supper</strong>")
        .says("<td class=\"count-big\">2</td><td class=\"task\"><strong>Porch, Harvest supper</strong>")
        .says("Recipe card, Candle row")
        .says("Green the rim")
        .says_not("Recipe card, Buttonhole");
    assert_eq!(cards.text().matches("<caption").count(), 2, "one card a recipe");
    studio
        .get(&format!("/prep/2026-05-16/cards?{WEEKEND}"))
        .await
        .says("Recipe card, Buttonhole")
        .says("Wire");
    studio.get(&format!("/prep/2026-05-14/cards?{WEEKEND}")).await.says("Nothing is made that day");
    studio.get(&format!("/prep/2026-06-14/cards?{WEEKEND}")).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn how_far_a_day_is_stands_in_the_overview() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    studio.get(&format!("/prep?{WEEKEND}")).await.says_not(" done</td>");
    studio.post("/ticks/prep-2026-05-15", &[("seen", "- 0 12 make-1"), ("tick", "make-1")]).await.onward();
    studio.get(&format!("/prep?{WEEKEND}")).await.says("data-label=\"Ticked\">1 of 4 done</td>");
    studio.post("/ticks/pull-1", &[("seen", "- 0 12 piece-1"), ("tick", "piece-1")]).await.onward();
    studio.get("/pull-lists").await.says("data-label=\"Ticked\">1 of ");
    studio.get("/events/1").await.says("<a href=\"/events/1/pull-list\">1 of ");
}
