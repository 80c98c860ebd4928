//! What the desk reminds of, day by day.

use axum::http::StatusCode;

use crate::accounts::{accepted, invoiced, sql};
use crate::support::{Page, TestStudio};

/// Beside the accepted supper: a quote for Ben South's lunch on 1 July, sent on 4 May, good until 18 May.
async fn with_a_quote_out() -> TestStudio {
    let studio = accepted().await;
    sql(
        &studio,
        "INSERT INTO quote (event_id, priced_on, prices_include_tax) VALUES (2, '2026-05-04', 0);
        INSERT INTO quote_version (quote_id, number, once_key, sent_on, total, document)
            SELECT 2, 1, 'south', '2026-05-04', total, json_set(document, '$.document.valid_until', '2026-05-18')
            FROM quote_version WHERE id = 1;",
    )
    .await;
    studio
}

async fn on(studio: &mut TestStudio, day: &str) -> Page {
    studio.wait_until(&format!("{day}T09:00:00Z"));
    let page = studio.get("/reminders").await;
    page.is(StatusCode::OK);
    page
}

#[tokio::test]
async fn an_empty_book_reminds_of_nothing() {
    let studio = TestStudio::new().await;
    studio.get("/reminders").await.is(StatusCode::OK).says("Nothing</span> is to be reminded of");
    studio.get("/").await.says_not("Reminders, the worst first");
}

#[tokio::test]
async fn a_quote_is_asked_about_after_days_and_before_it_runs_out() {
    let mut studio = with_a_quote_out().await;
    let ask = "Ask Ben South about the quote for South lunch";
    on(&mut studio, "2026-05-08").await.says_not(ask);
    on(&mut studio, "2026-05-09").await.says(ask).says("it holds until Mon 18 May 2026");
    // Asked: not again before the 12th, and by whom is said then.
    let fields = [("key", "quote-2-1"), ("by", "Mo"), ("again_on", "2026-05-12")];
    studio.post("/reminders/marks", &fields).await.onward();
    on(&mut studio, "2026-05-11").await.says("Put off: 1").says("Seen to by Mo on Sat 9 May 2026");
    studio.get("/").await.says_not(ask);
    on(&mut studio, "2026-05-12").await.says_not("Put off: 1").says("Seen to by Mo on Sat 9 May 2026");
    studio.get("/").await.says(ask);
    studio.get("/events/2").await.says(ask);
    studio.get("/events/1").await.says_not(ask);
    on(&mut studio, "2026-05-19").await.says("The quote for South lunch has run out");
    // Past or called off it is silent.
    on(&mut studio, "2026-07-02").await.says_not("South lunch");
    sql(&studio, "UPDATE event SET ended_on = '2026-05-09', ending = 'lost' WHERE id = 2").await;
    on(&mut studio, "2026-05-19").await.says_not("South lunch");
}

#[tokio::test]
async fn parts_and_invoices_follow_their_days() {
    let mut studio = with_a_quote_out().await;
    on(&mut studio, "2026-05-04")
        .await
        .says("Invoice North supper: On accepting, €423.00")
        .says_not("Rest, €987.00");
    invoiced(&studio, "0").await;
    on(&mut studio, "2026-05-05").await.says_not("North supper");
    // The deposit is due on the 18th: three days before it is said, afterwards it is asked for.
    on(&mut studio, "2026-05-14").await.says_not("invoice 1");
    on(&mut studio, "2026-05-15").await.says("€423.00 of Ada North is due, invoice 1");
    on(&mut studio, "2026-05-20")
        .await
        .says("Ask Ada North for €423.00, invoice 1")
        .says("Overdue by 2 days");
    on(&mut studio, "2026-05-22").await.says_not("Rest, €987.00");
    on(&mut studio, "2026-05-23")
        .await
        .says("Invoice North supper: Rest, €987.00")
        .says("Due Sat 30 May 2026");
    // After the event what was not drawn up is late.
    on(&mut studio, "2026-06-14")
        .await
        .says("The event was on Sat 13 Jun 2026; €987.00 is not invoiced yet.");
}

#[tokio::test]
async fn open_counts_are_confirmed_before_the_event() {
    let mut studio = accepted().await;
    sql(
        &studio,
        "INSERT INTO recipe (name, category, minutes, holding_hours) VALUES ('Low bowl', 'table', 20000, 24);
        INSERT INTO place (event_id, name, position) VALUES (1, 'Long room', 0);
        INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count)
            VALUES (1, 1, 1, 0, 'per_guest', 1000);",
    )
    .await;
    on(&mut studio, "2026-05-22").await.says_not("Confirm 1 count");
    on(&mut studio, "2026-05-23").await.says("Confirm 1 count for North supper").says("/events/1/edit");
    // The studio asks a week later.
    let days =
        [("version", "0"), ("unanswered", "5"), ("before_last", "3"), ("counts", "14"), ("before_due", "x")];
    studio.post("/reminders/days", &days).await.is(StatusCode::UNPROCESSABLE_ENTITY).says("value=\"14\"");
    let mut right = days;
    right[4].1 = "0";
    studio.post("/reminders/days", &right).await.onward();
    studio.post("/reminders/days", &right).await.onward();
    on(&mut studio, "2026-05-23").await.says_not("Confirm 1 count");
    right[3].1 = "30";
    studio.post("/reminders/days", &right).await.is(StatusCode::CONFLICT).says("14").says("30");
}

#[tokio::test]
async fn a_reminder_is_put_off_to_a_day_to_come_and_shown_again() {
    let studio = accepted().await;
    let page = studio.get("/reminders").await;
    page.says("name=\"key\" value=\"part-1-0\"");
    for (key, again_on) in
        [("part-1-0", "2026-05-04"), ("part-1-0", "2028-01-01"), ("part-1-0", "x"), ("", "2026-05-09")]
    {
        let fields = [("key", key), ("by", "<b>Mo"), ("again_on", again_on)];
        studio.post("/reminders/marks", &fields).await.is(StatusCode::UNPROCESSABLE_ENTITY).says_not("<b>Mo");
    }
    let fields = [("key", "part-1-0"), ("by", "<b>Mo"), ("again_on", "2026-05-09")];
    studio.post("/reminders/marks", &fields).await.onward();
    studio
        .get("/reminders")
        .await
        .says("Nothing</span> is to be reminded of")
        .says("Seen to by &#60;b&#62;Mo");
    studio.post("/reminders/marks/part-1-0/return", &[]).await.onward();
    studio.get("/reminders").await.says("On accepting, €423.00");
    studio.post("/reminders/marks/part-9-9/return", &[]).await.is(StatusCode::NOT_FOUND);
}
