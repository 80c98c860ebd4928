//! The calendar for other programs: its page, the file, the feed.

use axum::body::Body;
use axum::http::{Request, StatusCode, header};

use crate::support::TestStudio;

/// The feed's address, as the page shows it.
async fn feed_path(studio: &TestStudio) -> String {
    let page = studio.get("/calendar").await.text();
    let begin = page.find("http://localhost/calendar/feed/").expect("the page shows the address");
    let address = &page[begin + "http://localhost".len()..];
    address[..address.find(".ics").unwrap() + 4].to_owned()
}

#[tokio::test]
async fn an_empty_book_says_what_to_do_first_and_has_no_file() {
    let studio = TestStudio::new().await;
    studio.get("/calendar").await.says("Nothing stands in the next two weeks").says("Open a feed");
    studio.get("/calendar.ics").await.is(StatusCode::UNPROCESSABLE_ENTITY).says("choose others");
    studio.get("/").await.says("href=\"/calendar\"");
    studio.get("/settings").await.says("href=\"/calendar\"");
}

#[tokio::test]
async fn the_file_holds_the_weekend() {
    let studio = TestStudio::demo().await;
    let file = studio.get("/calendar.ics?from=2026-05-04&to=2026-05-17").await;
    assert_eq!(file.media_type, "text/calendar; charset=utf-8");
    file.says("BEGIN:VCALENDAR\r\n")
        .says("SUMMARY:Sorrell–Wray wedding\r\n")
        .says("CATEGORIES:Order cut-off");
    file.says("CATEGORIES:Loan").says("CATEGORIES:Bench").says("CATEGORIES:Delivery").says_not("EUR");
    // The same things keep their names from one file to the next.
    let uids = |text: &str| -> Vec<String> {
        text.lines().filter(|line| line.starts_with("UID:")).map(str::to_owned).collect()
    };
    let again = studio.get("/calendar.ics?from=2026-05-04&to=2026-05-17").await;
    assert_eq!(uids(&file.text()), uids(&again.text()));
    assert!(uids(&file.text()).len() > 10);
}

#[tokio::test]
async fn days_that_make_no_span_are_given_back() {
    let studio = TestStudio::demo().await;
    let refused = studio.get("/calendar.ics?from=2026-05-17&to=2026-05-04").await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY).says("before the first").says("value=\"2026-05-17\"");
    studio.get("/calendar.ics?from=soon").await.is(StatusCode::UNPROCESSABLE_ENTITY);
    studio.get("/calendar.ics?from=2000-01-01&to=2040-01-01").await.is(StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn a_feed_is_read_only_at_its_address_and_a_new_one_ends_the_old() {
    let studio = TestStudio::demo().await;
    studio.get("/calendar/feed/00000000000000000000000000000000.ics").await.is(StatusCode::NOT_FOUND);
    assert_eq!(studio.post("/calendar/feed", &[]).await.onward(), "/calendar");
    let first = feed_path(&studio).await;
    studio.get(&first).await.is(StatusCode::OK).says("SUMMARY:Sorrell–Wray wedding");
    studio.get("/calendar/feed/.ics").await.is(StatusCode::NOT_FOUND);
    studio.post("/calendar/feed", &[]).await.onward();
    let second = feed_path(&studio).await;
    assert_ne!(first, second);
    studio.get(&first).await.is(StatusCode::NOT_FOUND);
    studio.get(&second).await.is(StatusCode::OK);
    studio.post("/calendar/feed/removal", &[]).await.onward();
    studio.get(&second).await.is(StatusCode::NOT_FOUND);
    studio.get("/calendar").await.says("Open a feed");
}

#[tokio::test]
async fn a_reader_that_has_the_feed_is_told_so_until_something_changes() {
    let studio = TestStudio::demo().await;
    studio.post("/calendar/feed", &[]).await.onward();
    let path = feed_path(&studio).await;
    let mark = studio.get(&path).await.etag.clone();
    assert!(mark.starts_with("W/\""), "{mark}");
    let read =
        |mark: String| studio.send(Request::get(&path).header(header::IF_NONE_MATCH, mark), Body::empty());
    let same = read(mark.clone()).await;
    same.is(StatusCode::NOT_MODIFIED);
    assert!(same.body.is_empty() && same.etag == mark);
    read("\"another\"".into()).await.is(StatusCode::OK);
    studio.post("/calendar/reminder", &[("version", "1"), ("reminder", "180")]).await.onward();
    let changed = read(mark).await;
    changed.is(StatusCode::OK).says("BEGIN:VALARM").says("TRIGGER;RELATED=END:-PT180M");
}

#[tokio::test]
async fn a_called_off_event_is_struck_in_the_feed() {
    let studio = TestStudio::demo().await;
    studio.post("/calendar/feed", &[]).await.onward();
    let path = feed_path(&studio).await;
    let third = async || {
        let feed = studio.get(&path).await.text();
        feed.split("BEGIN:VEVENT")
            .find(|event| event.contains("UID:event-3@"))
            .expect("it stands there")
            .to_owned()
    };
    assert!(third().await.contains("STATUS:CONFIRMED"));
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query(
        "UPDATE event SET version = version + 1, ended_on = '2026-05-03', ending = 'cancelled' WHERE id = 3",
    )
    .execute(&mut *tx)
    .await
    .unwrap();
    tx.commit().await.unwrap();
    let event = third().await;
    assert!(event.contains("STATUS:CANCELLED") && event.contains("TRANSP:TRANSPARENT"), "{event}");
}

#[tokio::test]
async fn a_reminder_is_one_of_those_offered_and_a_stale_save_shows_both() {
    let studio = TestStudio::new().await;
    studio
        .post("/calendar/reminder", &[("version", "1"), ("reminder", "7")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
    studio.post("/calendar/reminder", &[("version", "1"), ("reminder", "60")]).await.onward();
    let late = studio.post("/calendar/reminder", &[("version", "1"), ("reminder", "1440")]).await;
    late.is(StatusCode::CONFLICT).says("An hour before").says("A day before");
    studio.post("/calendar/reminder", &[("version", "2"), ("reminder", "1440")]).await.onward();
    studio.get("/calendar").await.says("value=\"1440\" selected");
}
