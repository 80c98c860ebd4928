use axum::http::StatusCode;

use crate::bench_supper::{supper, write};
use crate::support::TestStudio;

const WEEK: &str = "/prep/plan?week=2026-05-13";

/// A shift form: Thursday, Friday and Saturday, so many people for so many hours each.
fn shifts(seen: &str, days: [(&str, &str); 3], other: [&str; 5]) -> Vec<(&'static str, String)> {
    let mut form = vec![("seen", seen.to_owned()), ("dress", String::new())];
    let week = [("", ""), ("", ""), ("", ""), days[0], days[1], days[2], ("", "")];
    for (people, hours) in week {
        form.extend([
            ("begins", String::new()),
            ("people", people.into()),
            ("hours", hours.into()),
            ("more", String::new()),
        ]);
    }
    let cells = ["day", "day_people", "day_hours", "kind", "note"];
    form.extend(cells.into_iter().zip(other.map(str::to_owned)));
    form
}

async fn save(studio: &TestStudio, days: [(&str, &str); 3], other: [&str; 5]) -> crate::support::Page {
    let page = studio.get("/shifts").await.text();
    let seen = page.split("name=\"seen\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let form = shifts(&seen, days, other);
    let form: Vec<(&str, &str)> = form.iter().map(|(name, value)| (*name, value.as_str())).collect();
    studio.post("/shifts", &form).await
}

const NONE: [&str; 5] = ["", "", "", "more", ""];

#[tokio::test]
async fn without_shifts_hours_are_shown_and_the_way_to_type_them() {
    let studio = TestStudio::new().await;
    studio.get(WEEK).await.is(StatusCode::OK).says("No events in this week");
    supper(&studio).await;
    let page = studio.get(WEEK).await;
    page.is(StatusCode::OK)
        .says("Say who works when")
        .says("href=\"/shifts\"")
        .says("Low bowl")
        .says("Order closes, Meadow &#38; Mill")
        .says_not("overtime</span>");
    studio.get("/prep/plan").await.says("Harvest supper");
    studio.get("/prep?event=1").await.says("/prep/plan");
    studio.get("/settings").await.says("href=\"/shifts\"");
}

#[tokio::test]
async fn shifts_are_kept_refused_and_stale() {
    let studio = TestStudio::new().await;
    let wrong =
        save(&studio, [("two", "8"), ("2", "30"), ("1", "")], ["someday", "-1", "", "more", ""]).await;
    wrong
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("5 things to put right")
        .says("At most 24 hours.")
        .says("href=\"#days-0-day\"")
        .says("value=\"two\"");
    save(&studio, [("2", "8"), ("2", "7.5"), ("1", "4")], ["2026-05-15", "1", "7.5", "fewer", "Ill"])
        .await
        .onward();
    studio.get("/shifts").await.says("value=\"7.5\"").says("value=\"2026-05-15\"").says("value=\"Ill\"");
    let form = shifts("old", [("3", "8"), ("2", "7.5"), ("1", "4")], NONE);
    let form: Vec<(&str, &str)> = form.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let stale = studio.post("/shifts", &form).await;
    stale.is(StatusCode::CONFLICT).says("Thursday").says("Days that are otherwise");
}

#[tokio::test]
async fn a_week_too_full_is_named_with_what_would_mend_it() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    // 14 bowls of 15 minutes and 35 minutes of candles: 4 h 5 min, of which nothing is ready before Thursday night.
    save(&studio, [("1", "4"), ("1", "2"), ("1", "5")], NONE).await.onward();
    let page = studio.get(WEEK).await;
    page.says("What does not fit").says("too much").says("overtime</span>").says("mends it");
    // With a person more there is none.
    save(&studio, [("2", "8"), ("2", "8"), ("2", "8")], NONE).await.onward();
    studio.get(WEEK).await.says("No overtime").says_not("What does not fit");
    // Before it is sold, the event's own page and the week say it.
    studio.get("/events/1").await.says("It fits").says("So the week has room for it");
    save(&studio, [("1", "1"), ("1", "1"), ("1", "1")], NONE).await.onward();
    studio.get("/events/1").await.says("Too full").says("So it makes the week too full");
    studio.get("/?week=2026-05-11").await.says("Too full").says("of overtime at the least");
}

#[tokio::test]
async fn sheets_follow_the_plan_and_split_what_is_split() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    // Bowls without a night in water, so that they may be made on Thursday night too; Friday holds only some of them.
    write(
        &studio,
        "UPDATE material SET hydrate_hours = 0; UPDATE recipe SET holding_hours = 72 WHERE id = 1;
        UPDATE supplier SET delivery_weekdays = 8",
    )
    .await;
    save(&studio, [("2", "8"), ("1", "2"), ("1", "8")], NONE).await.onward();
    let friday = studio.get("/prep/2026-05-15?from=2026-05-16&to=2026-05-17").await;
    friday.is(StatusCode::OK).says("on this day,").says("on Thu 14 May 2026");
    // Cutting goes along with the making.
    let thursday = studio.get("/prep/2026-05-14?from=2026-05-16&to=2026-05-17").await;
    thursday.says("stems, each: 4 of 13.97");
}

#[tokio::test]
async fn a_pin_is_set_costs_and_is_taken_out() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    save(&studio, [("2", "8"), ("2", "8"), ("1", "2")], NONE).await.onward();
    let pin = |task: &'static str, day: &'static str, count: &'static str| {
        [("task", task), ("day", day), ("count", count)]
    };
    let path = "/prep/plan/pins?week=2026-05-11";
    studio.post(path, &pin("make-99", "2026-05-15", "3")).await.is(StatusCode::NOT_FOUND);
    studio
        .post(path, &pin("make-1", "2026-05-12", "3"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("1 thing to put right")
        .says("Low bowl cannot be done on Tue 12 May 2026: it holds 24 h, so from Fri 00:00")
        .says("value=\"3\"");
    let refused = studio.post(path, &pin("make-1", "2026-05-15", "0")).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY).says("aria-invalid=\"true\"");
    studio.post(path, &pin("make-1", "2026-05-16", "12")).await.onward();
    let page = studio.get(WEEK).await;
    page.says("12 × Low bowl on Sat 16 May 2026").says("more overtime than without it");
    // The event shrinks: the pin keeps what there is.
    write(&studio, "UPDATE event SET guests = 16").await;
    studio.get(WEEK).await.says("2 × Low bowl on Sat 16 May 2026");
    // Its day no longer fits: it is dropped with a word.
    write(&studio, "UPDATE event SET guests = 90, day = '2026-05-15'").await;
    studio.get(WEEK).await.says("Dropped: ").says("no longer lies in its window");
    studio.post("/prep/plan/pins/1/removal?week=2026-05-11", &[]).await.onward();
    studio.get(WEEK).await.says_not("Dropped");
    // What cannot hold any more is not set again.
    let again = "/prep/plan/pins/again?week=2026-05-11&task=make-1&day=2026-05-16&count=2";
    studio
        .post(again, &[])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("cannot be done on Sat 16 May 2026");
    write(&studio, "UPDATE event SET day = '2026-05-16'").await;
    studio.post(again, &[]).await.onward();
    studio.get(WEEK).await.says("2 × Low bowl on Sat 16 May 2026");
    studio.post("/prep/plan/pins/9/removal?week=2026-05-11", &[]).await.is(StatusCode::NOT_FOUND);
}

/// The supper's bowls keep three days and drink no night, so that they may be made from Wednesday to Saturday's loading; its
/// flowers come on Wednesday.
async fn movable(studio: &TestStudio) {
    supper(studio).await;
    write(
        studio,
        "UPDATE material SET hydrate_hours = 0, vase_days = 3 WHERE id = 1; UPDATE material SET hydrate_hours = 0 WHERE id = 2;
        UPDATE recipe SET holding_hours = 72 WHERE id = 1; UPDATE supplier SET delivery_weekdays = 4",
    )
    .await;
}

#[tokio::test]
async fn sheets_pails_freshness_and_calendar_follow_a_pin() {
    const SPAN: &str = "from=2026-05-11&to=2026-05-17";
    let studio = TestStudio::new().await;
    movable(&studio).await;
    let before = studio.get(&format!("/prep?{SPAN}")).await.text();
    let fresh_before = studio.get("/events/1/freshness").await.text();
    let left =
        |page: &str| page.split("Cosmos, pink").nth(1).unwrap().split("</tr>").next().unwrap().to_owned();
    for (task, count) in [("make-1", "12"), ("make-3", "2")] {
        let form = [("task", task), ("day", "2026-05-13"), ("count", count)];
        studio.post("/prep/plan/pins?week=2026-05-11", &form).await.onward();
    }
    // The sheet: all bowls on Wednesday, none on Friday; buttonholes stay.
    let wednesday = studio.get(&format!("/prep/2026-05-13?{SPAN}")).await;
    wednesday.is(StatusCode::OK).says("data-tick=\"make-1\"").says("data-tick=\"make-3\"");
    // The freshness: two more days in the warm.
    let fresh_after = studio.get("/events/1/freshness").await.text();
    assert_ne!(left(&fresh_before), left(&fresh_after));
    // Pails: foliage goes into bowls alone, so that after Wednesday none of it stands.
    let after = studio.get(&format!("/prep?{SPAN}")).await.text();
    assert!(
        before.matches(" Ivy at 30 a pail").count() > after.matches(" Ivy at 30 a pail").count(),
        "{after}"
    );
    assert_eq!(after.matches(" Ivy at 30 a pail").count(), 1);
    // The calendar and the desk: twelve and two bowls of 15 minutes on Wednesday.
    let file = studio.get("/calendar.ics?from=2026-05-11&to=2026-05-17").await;
    file.says("UID:bench-2026-05-13").says("Bench: 3 h 30 min of making");
    studio.get("/events/1").await.says("Wed 13 May 2026").says("3 h 30 min");
    studio.get("/?week=2026-05-11").await.says("Make pieces, 3 h 30 min");
    // Taken out, all of them move back.
    for pin in ["1", "2"] {
        studio.post(&format!("/prep/plan/pins/{pin}/removal?week=2026-05-11"), &[]).await.onward();
    }
    studio.get("/calendar.ics?from=2026-05-11&to=2026-05-17").await.says_not("UID:bench-2026-05-13");
    assert_eq!(studio.get(&format!("/prep?{SPAN}")).await.text(), before);
}

#[tokio::test]
async fn where_shifts_move_making_the_calendar_follows() {
    let studio = TestStudio::new().await;
    movable(&studio).await;
    // Nobody works on Friday: bowls are made on Thursday.
    save(&studio, [("2", "8"), ("0", "0"), ("1", "8")], NONE).await.onward();
    let file = studio.get("/calendar.ics?from=2026-05-11&to=2026-05-17").await;
    file.says("UID:bench-2026-05-14").says_not("UID:bench-2026-05-15");
    studio.get("/prep/2026-05-14?from=2026-05-11&to=2026-05-17").await.says("data-tick=\"make-1\"");
}

#[tokio::test]
async fn without_shifts_what_goes_before_pinned_work_stands_before_it() {
    let studio = TestStudio::new().await;
    movable(&studio).await;
    // Bowls hold a base, that is made before them.
    write(
        &studio,
        "INSERT INTO recipe (id, name, category, minutes, holding_hours, steps) VALUES (4, 'Base', 'table', 4000, 96, '');
        INSERT INTO recipe_line (recipe_id, position, material_id, part_id, measure, quantity) VALUES
            (4, 0, 6, NULL, 'count', 1000), (1, 4, NULL, 4, 'count', 1000)",
    )
    .await;
    let form = [("task", "make-1"), ("day", "2026-05-13"), ("count", "12")];
    studio.post("/prep/plan/pins?week=2026-05-11", &form).await.onward();
    let wednesday = studio.get("/prep/2026-05-13?from=2026-05-11&to=2026-05-17").await;
    wednesday.is(StatusCode::OK).says("data-tick=\"part-1-4\"").says("data-tick=\"make-1\"");
}

#[tokio::test]
async fn more_than_anybody_can_make_is_answered_and_said() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    // A slip of the hand: twenty million buttonholes, one cosmos each.
    write(&studio, "UPDATE piece SET count = 20000000000 WHERE id = 4").await;
    for path in ["/", "/events/1", "/events/1/freshness", "/prep/plan?week=2026-05-11", "/prep?event=1"] {
        studio.get(path).await.is(StatusCode::OK);
    }
    studio.get("/stem-order?event=1").await.says("more than one order can hold").says("Check the counts");
}
