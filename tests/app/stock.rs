//! Stock: counting lots, writing off, reserving for events, and what the stem order makes of it. The day of every test
//! is Monday 4 May 2026.

use axum::http::StatusCode;
use sqlx::AssertSqlSafe;

use crate::support::{Page, TestStudio};

async fn sql(studio: &TestStudio, statement: &str) {
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query(AssertSqlSafe(statement.to_owned())).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

async fn number(studio: &TestStudio, statement: &str) -> i64 {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar(AssertSqlSafe(statement.to_owned())).fetch_one(&mut *connection).await.unwrap()
}

/// One supplier that comes every day; roses that keep six days and votives; a supper on Friday the 8th and a wedding on
/// Saturday the 9th, each with 20 roses and 10 votives; nothing lost, no spares.
async fn studio() -> TestStudio {
    let studio = TestStudio::new().await;
    for statement in [
        "INSERT INTO client (id, name) VALUES (1, 'Ada North')",
        "INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
            VALUES (1, 'Alder Wholesale', 127, 1, '11:00', 2500, 0)",
        "INSERT INTO material (id, name, kind, unit, loss, holding_days, loaned, owned, spare_per) VALUES
            (1, 'Rose', 'flower', 'stem', 0, 6, 0, 0, 0), (2, 'Votive', 'candle', 'each', NULL, NULL, 0, 0, 0),
            (3, 'Urn', 'vessel', 'each', NULL, NULL, 1, 12, 0)",
        "INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES (1, 1, 1, 'Bunch', 10), (2, 1, 2, 'Box', 10)",
        "INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES (1, '2026-01-01', 1000, '2026-01-01T00:00:00Z'),
            (2, '2026-01-01', 500, '2026-01-01T00:00:00Z')",
        "INSERT INTO recipe (id, name, category, minutes, holding_hours) VALUES (1, 'Table', 'table', 1000, 24)",
        "INSERT INTO recipe_line (recipe_id, position, material_id, measure, quantity) VALUES (1, 1, 1, 'count', 20000),
            (1, 2, 2, 'count', 10000)",
        "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (1, 1, 'Supper', '2026-05-08', '2026-01-05'),
            (2, 1, 'Wedding', '2026-05-09', '2026-01-05')",
        "INSERT INTO place (id, event_id, name, position) VALUES (1, 1, 'Hall', 1), (2, 2, 'Hall', 1)",
        "INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count) VALUES (1, 1, 1, 1, 'number', 1000),
            (2, 2, 1, 1, 'number', 1000)",
    ] {
        sql(&studio, statement).await;
    }
    studio
}

/// Rows of the count sheet: lot, version, material, day, count.
async fn count(studio: &TestStudio, rows: &[[&'static str; 5]]) -> Page {
    let names = ["lot", "version", "material", "arrived_on", "count"];
    let fields: Vec<(&str, &str)> = rows.iter().flat_map(|row| names.into_iter().zip(*row)).collect();
    studio.post("/stock/count", &fields).await
}

/// Six roses of Saturday the 2nd that keep until Friday, twelve of Monday, sixty votives.
async fn stocked() -> TestStudio {
    let studio = studio().await;
    let rows = [
        ["", "", "Rose", "2026-05-02", "6"],
        ["", "", "rose", "", "12"],
        ["", "", "Votive", "2026-04-01", "60"],
        ["", "", "", "", ""],
    ];
    count(&studio, &rows).await.onward();
    studio
}

#[tokio::test]
async fn lots_are_counted_in_and_listed_with_their_age() {
    let studio = studio().await;
    studio.get("/stock").await.is(StatusCode::OK).says("Nothing is in stock");
    studio.get("/stock/sheet").await.is(StatusCode::OK).says("Nothing is in stock");
    let studio = stocked().await;
    studio
        .get("/stock")
        .await
        .says("Sat 2 May 2026")
        .says("Fri 8 May 2026")
        .says("60 on Mon 4 May 2026")
        .says_not("Nothing is in stock");
    studio.get("/stock/sheet").await.says("Count sheet").says("Rose").says("keeps until Sun 10 May 2026");
    studio.get("/stock/1").await.says("Taken in").says("Free");
    studio.get("/stock/9").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn all_of_a_count_is_kept_or_none() {
    let studio = stocked().await;
    let wrong = [
        ["1", "1", "Rose", "2026-05-02", "4"],
        ["2", "1", "Rose", "2026-05-04", "-1"],
        ["3", "1", "Votive", "2026-04-01", "2.5"],
        ["", "", "Rose", "2026-05-05", "3"],
    ];
    count(&studio, &wrong)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("3 things to put right")
        .says("It cannot have arrived after today.")
        .says("href=\"#stock-1-count\"")
        .says("value=\"2.5\"");
    let unknown =
        [["1", "1", "Rose", "2026-05-02", "4"], ["", "", "Rosse", "", "3"], ["", "", "Urn", "", "3"]];
    count(&studio, &unknown)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("“Rosse” is not in the price list. Near to it: Rose.")
        .says("Urn is loaned");
    count(&studio, &[["77", "1", "Rose", "", "4"]]).await.is(StatusCode::NOT_FOUND);
    assert_eq!(number(&studio, "SELECT on_hand FROM stock_lot WHERE id = 1").await, 6);
    count(&studio, &[["1", "1", "Rose", "2026-05-02", "4"], ["2", "1", "Rose", "2026-05-04", ""]])
        .await
        .onward();
    assert_eq!(number(&studio, "SELECT on_hand FROM stock_lot WHERE id = 1").await, 4);
    assert_eq!(number(&studio, "SELECT count(*) FROM stock_change WHERE lot_id = 2").await, 1);
}

#[tokio::test]
async fn a_stale_count_shows_both_and_keeps_nothing() {
    let studio = stocked().await;
    count(&studio, &[["1", "1", "Rose", "2026-05-02", "5"]]).await.onward();
    let rows = [["1", "1", "Rose", "2026-05-02", "3"], ["3", "1", "Votive", "2026-04-01", "40"]];
    let page = count(&studio, &rows).await;
    page.is(StatusCode::CONFLICT)
        .says("Someone else saved this while you were typing")
        .says("Rose, since Sat 2 May 2026")
        .says("5 on Mon 4 May 2026")
        .says("name=\"version\" value=\"2\"");
    assert_eq!(number(&studio, "SELECT on_hand FROM stock_lot WHERE id = 3").await, 60);
    let rows = [["1", "2", "Rose", "2026-05-02", "3"], ["3", "1", "Votive", "2026-04-01", "40"]];
    count(&studio, &rows).await.onward();
    assert_eq!(number(&studio, "SELECT sum(on_hand) FROM stock_lot").await, 55);
}

#[tokio::test]
async fn a_lot_sent_twice_is_taken_in_once() {
    let studio = studio().await;
    let fields = [
        ("once_key", "k1"),
        ("lot", ""),
        ("version", ""),
        ("material", "Votive"),
        ("arrived_on", ""),
        ("count", "24"),
    ];
    studio.post("/stock/count", &fields).await.onward();
    studio.post("/stock/count", &fields).await.onward();
    assert_eq!(number(&studio, "SELECT sum(on_hand) FROM stock_lot").await, 24);
}

#[tokio::test]
async fn what_wilted_is_written_off_and_taken_back() {
    let studio = stocked().await;
    let off = |version: &'static str, count: &'static str, why: &'static str| {
        [("version", version), ("count", count), ("why", why)]
    };
    studio
        .post("/stock/1/write-off", &off("1", "7", ""))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Write a whole number from 1 to 6.")
        .says("Write why");
    let written = studio.post("/stock/1/write-off", &off("1", "2", "Wilted")).await;
    studio
        .get_with(written.onward(), &written.cookie)
        .await
        .says("2 written off.")
        .says("/undo")
        .says("Wilted");
    studio
        .post("/stock/1/write-off", &off("1", "1", "Broken"))
        .await
        .is(StatusCode::CONFLICT)
        .says("4 there now");
    let change = number(&studio, "SELECT max(id) FROM stock_change").await;
    let undo = format!("/stock/write-offs/{change}/undo");
    studio.post(&undo, &[]).await.onward();
    assert_eq!(number(&studio, "SELECT on_hand FROM stock_lot WHERE id = 1").await, 6);
    studio.post(&undo, &[]).await.is(StatusCode::CONFLICT).says("cannot be taken back");
    // After a new count there is nothing to take back.
    studio.post("/stock/1/write-off", &off("3", "2", "Wilted")).await.onward();
    count(&studio, &[["1", "4", "Rose", "2026-05-02", "1"]]).await.onward();
    let change = number(&studio, "SELECT max(id) FROM stock_change WHERE kind = 'written_off'").await;
    studio.post(&format!("/stock/write-offs/{change}/undo"), &[]).await.is(StatusCode::CONFLICT);
    assert_eq!(number(&studio, "SELECT on_hand FROM stock_lot WHERE id = 1").await, 1);
}

#[tokio::test]
async fn a_lots_age_can_be_put_right() {
    let studio = stocked().await;
    let form = |version: &'static str, arrived: &'static str| {
        [("version", version), ("arrived_on", arrived), ("note", "from the supper")]
    };
    studio
        .post("/stock/1", &form("1", "2026-05-05"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("it cannot have arrived after that");
    studio.post("/stock/1", &form("1", "2026-05-01")).await.onward();
    studio.get("/stock").await.says("Fri 1 May 2026").says("from the supper");
    studio.post("/stock/1", &form("1", "2026-04-30")).await.is(StatusCode::CONFLICT).says("2026-05-01");
}

const BOTH: &str = "/stem-order?event=1&event=2";

/// The key in the page's form.
fn key(page: &Page) -> String {
    let text = page.text();
    let at = text.find("name=\"once_key\" value=\"").unwrap() + "name=\"once_key\" value=\"".len();
    text[at..].split('"').next().unwrap().to_owned()
}

#[tokio::test]
async fn the_order_takes_the_oldest_that_keeps_and_reserves_once() {
    let studio = stocked().await;
    let page = studio.get(BOTH).await;
    // Friday's 20 roses can use the six of Saturday, Saturday's cannot; the twelve go to either. 22 are bought.
    page.says("What is taken from stock")
        .says("6 on hand since Sat 2 May 2026, counted on Mon 4 May 2026, keeps until Fri 8 May 2026");
    page.says("12 on hand since Mon 4 May 2026, keeps until Sun 10 May 2026").says("Not yet");
    let key = key(&page);
    let fields = [("event", "1"), ("event", "2"), ("once_key", key.as_str())];
    studio.post("/stem-order/stock", &[("event", "1"), ("once_key", &key)]).await.is(StatusCode::CONFLICT);
    let reserved = studio.post("/stem-order/stock", &fields).await;
    studio.get_with(reserved.onward(), &reserved.cookie).await.says("Reserved: no other order takes it.");
    let again = studio.post("/stem-order/stock", &fields).await;
    studio.get_with(again.onward(), &again.cookie).await.says("It was reserved already.");
    let held = "SELECT sum(count) FROM stock_reservation WHERE released_at IS NULL";
    assert_eq!(number(&studio, held).await, 38);
    assert_eq!(
        number(&studio, "SELECT count(*) FROM stock_reservation").await,
        number(&studio, "SELECT count(DISTINCT lot_id || ' ' || event_id) FROM stock_reservation").await
    );
    // Its own order may still take it; another event's may not.
    studio.get(BOTH).await.says("standing done\">Kept").says_not("Reserve the stock");
    sql(&studio, "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (3, 1, 'Brunch', '2026-05-08', '2026-01-05')").await;
    sql(&studio, "INSERT INTO place (id, event_id, name, position) VALUES (3, 3, 'Hall', 1)").await;
    sql(&studio, "INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count) VALUES (3, 3, 1, 1, 'number', 1000)").await;
    let brunch = studio.get("/stem-order?event=3").await;
    brunch.says("kept for Supper").says_not("Rose on hand").says("10 Votive on hand");
    // Called off, its reservations count for nothing.
    sql(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 1").await;
    studio.get("/stem-order?event=3").await.says("Rose on hand").says_not("kept for Supper");
}

#[tokio::test]
async fn what_was_released_is_free_and_can_be_kept_again() {
    let studio = stocked().await;
    let key = key(&studio.get("/stem-order?event=1").await);
    studio.post("/stem-order/stock", &[("event", "1"), ("once_key", &key)]).await.onward();
    let id = number(&studio, "SELECT id FROM stock_reservation WHERE lot_id = 3").await;
    studio.get("/stock/3").await.says("Release 10 from Supper");
    let released = studio.post(&format!("/stock/reservations/{id}/release"), &[]).await;
    studio
        .get_with(released.onward(), &released.cookie)
        .await
        .says("/restoration")
        .says_not("Release 10 from Supper");
    studio.post(&format!("/stock/reservations/{id}/restoration"), &[]).await.onward();
    studio.get("/stock/3").await.says("Release 10 from Supper");
    studio.post(&format!("/stock/reservations/{id}/release"), &[]).await.onward();
    count(&studio, &[["3", "1", "Votive", "2026-04-01", "9"]]).await.onward();
    studio.post(&format!("/stock/reservations/{id}/restoration"), &[]).await.is(StatusCode::CONFLICT);
    studio.post("/stock/reservations/99/release", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_order_all_from_stock_is_reserved_without_buying() {
    let studio = studio().await;
    count(&studio, &[["", "", "Rose", "", "100"], ["", "", "Votive", "", "100"]]).await.onward();
    let page = studio.get("/stem-order?event=1").await;
    page.says("Nothing has to be bought").says("Reserve the stock");
    let key = key(&page);
    studio.post("/stem-order/stock", &[("event", "1"), ("once_key", &key)]).await.onward();
    studio.get("/stock").await.says("Supper 20").says("Supper 10");
}

#[tokio::test]
async fn past_events_have_used_their_part_and_a_count_supersedes_it() {
    let studio = stocked().await;
    sql(&studio, "UPDATE stock_lot SET counted_on = '2026-04-20', arrived_on = '2026-04-01' WHERE id = 3")
        .await;
    sql(&studio, "INSERT INTO event (id, client_id, name, day, enquired_on, ended_on, ending) VALUES (3, 1, 'Lunch', '2026-04-25', '2026-01-05', '2026-04-26', 'closed')").await;
    sql(&studio, "INSERT INTO stock_reservation (lot_id, event_id, count, once_key, recorded_at) VALUES (3, 3, 24, 'k', '2026-04-20T09:00:00Z')").await;
    studio.get("/stock").await.says("36 = counted 60 on Mon 20 Apr 2026, 24 used since for Lunch 24");
    studio.get("/stock/3").await.says("standing off\">Used").says_not("Release 24");
    count(&studio, &[["3", "1", "Votive", "2026-04-01", "34"]]).await.onward();
    studio.get("/stock").await.says("34 = counted 34 on Mon 4 May 2026").says_not("used since for Lunch");
}

#[tokio::test]
async fn the_order_leads_to_a_count_of_its_own_materials() {
    let studio = studio().await;
    count(&studio, &[["", "", "Votive", "", "100"]]).await.onward();
    studio.get(BOTH).await.says("/stock/count?event=1&#38;event=2");
    let page = studio.get("/stock/count?event=1&event=2").await;
    page.is(StatusCode::OK)
        .says("Back to the order")
        .says("nothing there")
        .says("100 on Mon 4 May 2026")
        .says_not("Urn");
    let fields = [
        ("back", "event=1&event=2&x=%0d%0aEvil"),
        ("lot", "none"),
        ("version", ""),
        ("material", "Rose"),
        ("arrived_on", "2026-05-04"),
        ("count", "5"),
    ];
    let kept = studio.post("/stock/count", &fields).await;
    assert!(kept.onward().starts_with("/stem-order?event=1&event=2"), "{}", kept.location);
    studio.get("/stock/count?event=99").await.is(StatusCode::NOT_FOUND);
    studio.get("/stock/count?event=%3Cx").await.is(StatusCode::NOT_FOUND);
}

/// The supper was yesterday; three bunches of roses came for it the day before, 28 good, and two boxes of votives. Roses
/// keep a week here, so that the wedding may have what is left.
async fn delivered() -> TestStudio {
    let studio = studio().await;
    for statement in [
        "INSERT INTO placed_order (id, number, once_key, supplier_id, supplier, placed_on, recorded_at)
            VALUES (1, 1, 'p', 1, 'Alder Wholesale', '2026-05-01', '2026-05-01T09:00:00Z')",
        "INSERT INTO placed_order_event (order_id, event_id) VALUES (1, 1)",
        "INSERT INTO placed_delivery (id, order_id, day, order_by_day, order_by_time, fee)
            VALUES (1, 1, '2026-05-02', '2026-05-01', '11:00', 2500)",
        "UPDATE event SET day = '2026-05-03' WHERE id = 1",
        "UPDATE material SET holding_days = 7 WHERE id = 1",
        "INSERT INTO placed_line (id, delivery_id, position, offer_id, material_id, name, pack_name, pack_size, packs, price)
            VALUES (1, 1, 1, 1, 1, 'Rose', 'Bunch', 10, 3, 1000), (2, 1, 2, 2, 2, 'Votive', 'Box', 10, 2, 500)",
        "INSERT INTO placed_share (line_id, event_id, stems, goods) VALUES (1, 1, 20, 3000), (2, 1, 10, 1000)",
        "INSERT INTO receipt_line (line_id, good, lost, received_on, recorded_at) VALUES
            (1, 28, 2, '2026-05-02', '2026-05-02T09:00:00Z'), (2, 20, 0, '2026-05-02', '2026-05-02T09:00:00Z')",
        "INSERT INTO bench_loss (once_key, material_id, event_id, lost, lost_on, recorded_at)
            VALUES ('b', 1, 1, 3, '2026-05-03', '2026-05-03T08:00:00Z')",
    ] {
        sql(&studio, statement).await;
    }
    studio
}

/// Rows of the left-overs: line, into stock, written off.
async fn decide(studio: &TestStudio, rows: &[[&'static str; 3]]) -> Page {
    let names = ["line", "taken_in", "written_off"];
    let fields: Vec<(&str, &str)> = rows.iter().flat_map(|row| names.into_iter().zip(*row)).collect();
    studio.post("/left-overs", &fields).await
}

#[tokio::test]
async fn what_no_event_needs_goes_into_stock_once_with_its_age() {
    TestStudio::new().await.get("/left-overs").await.is(StatusCode::OK).says("Nothing to decide");
    let studio = delivered().await;
    studio
        .get("/left-overs")
        .await
        .is(StatusCode::OK)
        .says("5 of this delivery: 28 good, used or still wanted 23 = need 20 + 3 lost at the bench")
        .says("10 of this delivery: 20 good, used or still wanted 10 = need 10")
        .says("value=\"5\"");
    let rows = [["1", "4", "1"], ["2", "10", ""]];
    let answer = decide(&studio, &rows).await;
    studio
        .get_with(answer.onward(), &answer.cookie)
        .await
        .says("2 left-overs decided.")
        .says("4 into stock, 1 written off");
    let again = decide(&studio, &rows).await;
    studio.get_with(again.onward(), &again.cookie).await.says("That was decided already.");
    assert_eq!(number(&studio, "SELECT sum(on_hand) FROM stock_lot").await, 14);
    decide(&studio, &[["1", "5", ""]]).await.is(StatusCode::CONFLICT).says("Decided already: Rose");
    studio.get("/stock").await.says("Sat 2 May 2026").says("left over from Alder Wholesale");
    // It is offered to the next order while it keeps: until Saturday the 9th.
    studio.get("/stem-order?event=2").await.says("4 Rose on hand").says("left over from Alder Wholesale");
    // Taken back while nobody has touched it, not after.
    studio.post("/left-overs/1/undo", &[]).await.onward();
    assert_eq!(number(&studio, "SELECT sum(on_hand) FROM stock_lot WHERE removed_at IS NULL").await, 10);
    studio.post("/left-overs/1/undo", &[]).await.is(StatusCode::CONFLICT);
    decide(&studio, &[["1", "", "5"]]).await.onward();
    count(&studio, &[["2", "1", "Votive", "", "9"]]).await.onward();
    studio.post("/left-overs/2/undo", &[]).await.is(StatusCode::CONFLICT).says("cannot be taken back");
}

#[tokio::test]
async fn wrong_left_overs_are_refused_together() {
    let studio = delivered().await;
    decide(&studio, &[["1", "20", "9"], ["2", "-1", "2.5"]])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("3 things to put right")
        .says("Only 28 came good")
        .says("value=\"2.5\"");
    decide(&studio, &[["1", "4", ""], ["9", "1", ""]]).await.is(StatusCode::NOT_FOUND);
    assert_eq!(number(&studio, "SELECT count(*) FROM stock_lot").await, 0);
    let none = decide(&studio, &[["1", "", ""]]).await;
    studio.get_with(none.onward(), &none.cookie).await.says("Nothing was decided.");
}
