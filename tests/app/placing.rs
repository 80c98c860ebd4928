//! Placing orders, what suppliers answer, taking packs back: through the pages, on the worked example of the plan.

use axum::http::StatusCode;
use scraper::{Html, Selector};

use crate::stem_order::{EXAMPLE, filled};
use crate::support::{Page, TestStudio};

const ASK: &str = "/stem-order/placing?event=1&event=2&day=2026-05-14";

/// The hidden fields that travel through a page's form: name and value.
fn hidden(page: &Page) -> Vec<(String, String)> {
    let html = Html::parse_document(&page.text());
    let fields = Selector::parse("form[method=post] input[type=hidden]").unwrap();
    let value = |field: &str, input: scraper::ElementRef<'_>| {
        input.value().attr(field).unwrap_or_default().to_owned()
    };
    html.select(&fields).map(|input| (value("name", input), value("value", input))).collect()
}

/// Posts a form's hidden fields with some more.
async fn post(studio: &TestStudio, path: &str, hidden: &[(String, String)], more: &[(&str, &str)]) -> Page {
    let hidden = hidden.iter().map(|(name, value)| (name.as_str(), value.as_str()));
    let fields: Vec<(&str, &str)> = hidden.chain(more.iter().copied()).collect();
    studio.post(path, &fields).await
}

async fn change(studio: &TestStudio, statement: &'static str) {
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query(statement).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

async fn number(studio: &TestStudio, question: &'static str) -> i64 {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar(question).fetch_one(&mut *connection).await.unwrap()
}

async fn orders(studio: &TestStudio) -> i64 {
    number(studio, "SELECT count(*) FROM placed_order").await
}

/// The example with its order to Brook Growers placed: Eucalyptus 3 × 25, Rose 13 × 12, Stock 8 × 10.
async fn placed() -> TestStudio {
    let studio = filled(&EXAMPLE).await;
    let ask = studio.get(ASK).await;
    let answer = post(&studio, ASK, &hidden(&ask), &[("supplier", "2"), ("note", "Side gate")]).await;
    assert_eq!(answer.onward(), "/orders/1");
    studio
}

/// The answer form of the example's order: packs and prices of Eucalyptus, Rose and Stock.
fn answer_fields<'a>(seen: &'a str, packs: [&'a str; 3], price: [&'a str; 3]) -> Vec<(&'a str, &'a str)> {
    let mut fields = vec![("seen", seen), ("note", "frost")];
    for (line, (packs, price)) in ["1", "2", "3"].into_iter().zip(packs.into_iter().zip(price)) {
        fields.extend([("line", line), ("packs", packs), ("price", price)]);
    }
    fields
}

const PRICES: [&str; 3] = ["18.00", "15.00", "11.90"];
const ANSWER: &str = "/orders/1/deliveries/1/answer";

#[tokio::test]
async fn an_order_is_placed_after_a_look() {
    let studio = filled(&EXAMPLE).await;
    studio.get("/orders").await.says("Nothing is placed yet");
    studio
        .get("/stem-order?event=1&event=2&day=2026-05-14")
        .await
        .says("/stem-order/placing?event=1&#38;event=2");
    let ask = studio.get(ASK).await;
    ask.is(StatusCode::OK).says("Brook Growers").says("€359.20").says("order by Tue 12 May 2026 11:00");
    assert_eq!(orders(&studio).await, 0);
    let answer = post(&studio, ASK, &hidden(&ask), &[("supplier", "2"), ("note", "Side gate")]).await;
    let page = studio.get_with(answer.onward(), &answer.cookie).await;
    page.is(StatusCode::OK)
        .says("Placed: N°\u{a0}1 with Brook Growers. Now send it")
        .says("Order N°\u{a0}1 to Brook Growers")
        .says("Side gate")
        .says("€359.20")
        .says("Friday supper: 61 stems")
        .says("It can be changed until Tue 12 May 2026 11:00.");
    studio
        .get("/orders")
        .await
        .says("Brook Growers")
        .says("Friday supper, Saturday wedding")
        .says("Thu 14 May 2026");
    // Each share ties to what the plan took and to the line's goods.
    let untied = "SELECT count(*) FROM placed_line l WHERE packs * price <> (SELECT sum(goods) FROM placed_share WHERE line_id = l.id)
        OR packs * pack_size < (SELECT sum(stems) FROM placed_share WHERE line_id = l.id)";
    assert_eq!(number(&studio, untied).await, 0);
    assert_eq!(number(&studio, "SELECT sum(stems) FROM placed_share").await, 61 + 33 + 92 + 44 + 57);
}

#[tokio::test]
async fn what_the_plan_takes_from_stock_is_reserved() {
    let studio = filled(&EXAMPLE).await;
    change(&studio, "UPDATE material SET holding_days = 12").await;
    change(&studio, "INSERT INTO stock_lot (material_id, arrived_on, on_hand, counted_on) VALUES (1, '2026-05-04', 20, '2026-05-04')")
        .await;
    let ask = studio.get(ASK).await;
    ask.says("from stock, reserved with this order").says("Rose for Friday supper");
    let supplier = if ask.text().contains("value=\"1\" checked") { "1" } else { "2" };
    for _ in 0..2 {
        post(&studio, ASK, &hidden(&ask), &[("supplier", supplier)]).await.onward();
    }
    assert_eq!(number(&studio, "SELECT sum(count) FROM stock_reservation").await, 20);
}

#[tokio::test]
async fn pressed_twice_it_is_placed_once() {
    let studio = filled(&EXAMPLE).await;
    let ask = studio.get(ASK).await;
    for _ in 0..2 {
        let answer = post(&studio, ASK, &hidden(&ask), &[("supplier", "2")]).await;
        assert_eq!(answer.onward(), "/orders/1");
    }
    let fields = hidden(&ask);
    let (one, other) = tokio::join!(
        post(&studio, ASK, &fields, &[("supplier", "2")]),
        post(&studio, ASK, &fields, &[("supplier", "2")]),
    );
    assert_eq!((one.onward(), other.onward(), orders(&studio).await), ("/orders/1", "/orders/1", 1));
    // Looking again says that it was ordered; when more is needed, only what is missing is placed beside it.
    let again = studio.get(ASK).await;
    again.says("These events have orders already").says("What was ordered covers the need");
    change(&studio, "UPDATE recipe_line SET quantity = 101000 WHERE recipe_id = 1 AND material_id = 1").await;
    let more = studio.get(ASK).await;
    more.says("only what they do not cover").says("Ordered already").says_not("Stock, Bunch");
    let supplier = if more.text().contains("value=\"1\" checked") { "1" } else { "2" };
    let answer = post(&studio, ASK, &hidden(&more), &[("supplier", supplier)]).await;
    assert_eq!((answer.onward(), orders(&studio).await), ("/orders/2", 2));
    let roses = "SELECT sum(packs * pack_size) FROM placed_line WHERE material_id = 1";
    assert!((193..240).contains(&number(&studio, roses).await));
}

#[tokio::test]
async fn two_at_the_same_moment_place_one() {
    let studio = filled(&EXAMPLE).await;
    let fields = hidden(&studio.get(ASK).await);
    let (one, other) = tokio::join!(
        post(&studio, ASK, &fields, &[("supplier", "2")]),
        post(&studio, ASK, &fields, &[("supplier", "2")]),
    );
    assert_eq!((one.onward(), other.onward(), orders(&studio).await), ("/orders/1", "/orders/1", 1));
}

#[tokio::test]
async fn a_plan_that_changed_is_shown_again() {
    let studio = filled(&EXAMPLE).await;
    let ask = studio.get(ASK).await;
    change(&studio, "UPDATE piece SET count = 2000 WHERE event_id = 1").await;
    let page = post(&studio, ASK, &hidden(&ask), &[("supplier", "2"), ("note", "Side gate")]).await;
    page.is(StatusCode::CONFLICT)
        .says("The plan has changed since this page was made")
        .says("13 at €15.00")
        .says("Side gate")
        .says("value=\"2\" checked");
    assert_eq!(orders(&studio).await, 0);
    let answer = post(&studio, ASK, &hidden(&page), &[("supplier", "2")]).await;
    assert_eq!((answer.onward(), orders(&studio).await), ("/orders/1", 1));
}

#[tokio::test]
async fn another_order_placed_meanwhile_is_shown_first() {
    let studio = filled(&EXAMPLE).await;
    let ask = studio.get(ASK).await;
    let alone = "/stem-order/placing?event=1&day=2026-05-14";
    let one = studio.get(alone).await;
    let supplier = if one.text().contains("value=\"1\" checked") { "1" } else { "2" };
    post(&studio, alone, &hidden(&one), &[("supplier", supplier)]).await.onward();
    let page = post(&studio, ASK, &hidden(&ask), &[("supplier", "2")]).await;
    page.is(StatusCode::CONFLICT)
        .says("The plan has changed since this page was made")
        .says("These events have orders already");
    assert_eq!(orders(&studio).await, 1);
}

#[tokio::test]
async fn what_cannot_be_placed_is_refused() {
    let studio = filled(&EXAMPLE).await;
    studio.get("/stem-order/placing").await.is(StatusCode::CONFLICT).says("Choose events");
    studio.get("/stem-order/placing?event=99").await.is(StatusCode::NOT_FOUND);
    studio.get("/stem-order/placing?event=1&day=soon").await.is(StatusCode::CONFLICT).says("delivery day");
    studio.post("/stem-order/placing?event=99", &[("supplier", "2")]).await.is(StatusCode::NOT_FOUND);
    let ask = studio.get(ASK).await;
    let fields = hidden(&ask);
    let none = post(&studio, ASK, &fields, &[("note", "Ring first")]).await;
    none.is(StatusCode::UNPROCESSABLE_ENTITY).says("Tick the suppliers").says("Ring first");
    for supplier in ["1", "99", "two", "-1"] {
        let page = post(&studio, ASK, &fields, &[("supplier", supplier)]).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY).says("has nothing in this order");
    }
    let long = "x".repeat(10_000);
    let page = post(&studio, ASK, &fields, &[("supplier", "2"), ("note", &long)]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("10000 letters");
    // A form that nobody was shown.
    studio.post(ASK, &[("supplier", "2")]).await.is(StatusCode::CONFLICT).says("not in it");
    assert_eq!(orders(&studio).await, 0);
    change(&studio, "DELETE FROM piece").await;
    studio.get(ASK).await.is(StatusCode::OK).says("There is nothing to place");
    studio.get("/orders/7").await.is(StatusCode::NOT_FOUND);
    studio.get("/orders/x").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn what_to_know_first_is_said() {
    let studio = filled(&EXAMPLE).await;
    change(&studio, "UPDATE supplier SET cutoff_days = 20").await;
    change(&studio, "UPDATE offer SET season = 32 WHERE material_id = 3").await;
    change(&studio, "INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count) VALUES (1, 1, 1, 2, 'per_guest', 1000)")
        .await;
    studio
        .get(ASK)
        .await
        .is(StatusCode::OK)
        .says("Ring before you count on it")
        .says("Closed: ring them first")
        .says("Eucalyptus, 57 for Saturday wedding")
        .says("is counted by guests");
}

#[tokio::test]
async fn what_was_placed_stays_whatever_changes_later() {
    let studio = placed().await;
    let before = studio.get("/orders/1.csv").await;
    change(&studio, "INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES (3, '2026-05-01', 99900, '2026-05-01T00:00:00Z')")
        .await;
    change(&studio, "UPDATE recipe_line SET quantity = 900000").await;
    change(&studio, "UPDATE supplier SET name = 'Brook and Daughters', delivery_fee = 9900, removed_at = '2026-05-02T00:00:00Z' WHERE id = 2")
        .await;
    change(&studio, "UPDATE material SET name = 'Rosa', removed_at = '2026-05-02T00:00:00Z' WHERE id = 1")
        .await;
    change(&studio, "UPDATE event SET removed_at = '2026-05-02T00:00:00Z' WHERE id = 1").await;
    assert_eq!(studio.get("/orders/1.csv").await.text(), before.text());
    studio
        .get("/orders/1")
        .await
        .is(StatusCode::OK)
        .says("Brook Growers")
        .says("an event that was removed: 61 stems");
    studio.get("/orders?which=all").await.is(StatusCode::OK).says("Brook Growers");
}

#[tokio::test]
async fn an_order_leaves_on_paper_and_as_files() {
    let studio = placed().await;
    studio
        .get("/orders/1/paper")
        .await
        .is(StatusCode::OK)
        .says("Order N°\u{a0}1 to Brook Growers")
        .says("Mon 4 May 2026")
        .says("Side gate")
        .says_not("Friday supper");
    let file = studio.get("/orders/1.csv").await;
    assert!(file.media_type.starts_with("text/csv"));
    file.says("1,2026-05-04,Brook Growers,B-9,2026-05-14,2026-05-12 11:00,Rose,,Bunch,12,13,156,stem,15.00,195.00\r\n");
    let text = studio.get("/orders/1.txt").await;
    assert!(text.media_type.starts_with("text/plain"));
    text.says("   13 x Rose, Bunch of 12").says("Our account: B-9").says("€359.20");
    assert!(text.text().lines().all(|line| line.chars().count() <= 72));
    let sheet = studio.get("/orders/1.xlsx").await;
    assert_eq!(sheet.media_type, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet");
    assert_eq!(&sheet.body[..2], b"PK");
    for path in ["/orders/9.csv", "/orders/1.pdf", "/orders/9/paper", "/orders/x.txt"] {
        studio.get(path).await.is(StatusCode::NOT_FOUND);
    }
}

#[tokio::test]
async fn a_supplier_confirms_and_falls_short() {
    let studio = placed().await;
    let answer =
        studio.post(ANSWER, &answer_fields("0", ["3", "10", "8"], ["18.00", "15.50", "11.90"])).await;
    let page = studio.get_with(answer.onward(), &answer.cookie).await;
    // 3 × 12 roses fewer: 156 − 153 were over; 33 were promised, 61 : 92.
    page.says("Written down: 3 packs short of what was placed.")
        .says("10 of 13 packs expected: 36 stems short, 3 of them over anyway; touches Friday supper 13, Saturday wedding 20")
        .says("€40.00 less")
        .says("<span class=\"standing done\">Confirmed</span>")
        .says("frost");
    // The same again is nothing new.
    let again = studio.post(ANSWER, &answer_fields("3", ["3", "10", "8"], ["18.00", "15.50", "11.90"])).await;
    studio.get_with(again.onward(), &again.cookie).await.says("nothing new was written down");
    assert_eq!(number(&studio, "SELECT count(*) FROM placed_line_answer").await, 3);
    // Undo adds rows and brings back what was.
    let undone = studio.post("/orders/1/restoration/0/3", &[]).await;
    studio.get_with(undone.onward(), &undone.cookie).await.says("Taken back").says_not("stems short");
    assert_eq!(number(&studio, "SELECT count(*) FROM placed_line_answer").await, 6);
    let twice = studio.post("/orders/1/restoration/0/3", &[]).await;
    studio.get_with(twice.onward(), &twice.cookie).await.says("Nothing was taken back");
    assert_eq!(number(&studio, "SELECT count(*) FROM placed_line_answer").await, 6);
    studio.get("/orders").await.says("<span class=\"standing asked\">Placed</span>");
}

#[tokio::test]
async fn all_comes_as_placed() {
    let studio = placed().await;
    let confirm = "/orders/1/deliveries/1/confirmation";
    let answer = studio.post(confirm, &[("seen", "0")]).await;
    studio
        .get_with(answer.onward(), &answer.cookie)
        .await
        .says("Brook Growers confirms")
        .says_not("Not as placed");
    studio.get("/orders").await.says("Confirmed");
    studio
        .post(confirm, &[("seen", "0")])
        .await
        .is(StatusCode::CONFLICT)
        .says("Another answer was written down");
    studio.post("/orders/1/deliveries/9/confirmation", &[("seen", "0")]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_answer_that_makes_no_sense_is_refused() {
    let studio = placed().await;
    for (packs, price) in
        [("-1", "15"), ("many", "15"), ("1000000000", "15"), ("1.5", "15"), ("13", "-2"), ("13", "<b>")]
    {
        let page =
            studio.post(ANSWER, &answer_fields("0", ["3", packs, "8"], ["18.00", price, "11.90"])).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Not saved: 1 thing to put right")
            .says("frost")
            .says_not("<b>\"");
    }
    let mut unknown = answer_fields("0", ["3", "13", "8"], PRICES);
    unknown.extend([("line", "99"), ("packs", "1"), ("price", "1")]);
    studio.post(ANSWER, &unknown).await.is(StatusCode::NOT_FOUND);
    studio.post("/orders/9/deliveries/1/answer", &[]).await.is(StatusCode::NOT_FOUND);
    assert_eq!(number(&studio, "SELECT count(*) FROM placed_line_answer").await, 0);
}

#[tokio::test]
async fn a_stale_answer_shows_both() {
    let studio = placed().await;
    studio.post(ANSWER, &answer_fields("0", ["3", "10", "8"], PRICES)).await.onward();
    let page = studio.post(ANSWER, &answer_fields("0", ["3", "12", "8"], PRICES)).await;
    page.is(StatusCode::CONFLICT)
        .says("Another answer was written down while you were typing")
        .says("10 at €15.00, confirmed")
        .says("12 at 15.00")
        .says("name=\"seen\" value=\"3\"");
    studio.post(ANSWER, &answer_fields("3", ["3", "12", "8"], PRICES)).await.onward();
    studio.get("/orders/1").await.says("12 of 13 packs expected");
}

#[tokio::test]
async fn packs_are_taken_back_before_the_cut_off() {
    let studio = placed().await;
    let path = "/orders/1/cancellation";
    studio.get(path).await.is(StatusCode::OK).says("Brook Growers").says("they deliver from €100.00");
    studio.get("/orders/1/cancellation?line=2&packs=4").await.says("value=\"4\"");
    let fields = |seen: &'static str, packs: &'static str| {
        vec![("seen", seen), ("line", "2"), ("packs", packs), ("note", "fewer guests")]
    };
    for packs in ["", "0", "14", "-1", "x", "1000000000"] {
        studio
            .post(path, &fields("0", packs))
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("1 thing to put right");
    }
    let answer = studio.post(path, &fields("0", "4")).await;
    let page = studio.get_with(answer.onward(), &answer.cookie).await;
    page.says("Taken back from N°\u{a0}1. Tell Brook Growers")
        .says("9 of 13 packs expected")
        .says("fewer guests");
    studio.get("/orders/1.txt").await.says("Taken back since").says("9 of 13 packs are left");
    studio.get("/orders/1/paper").await.says("Taken back since");
    // Pressed twice: nothing is taken back a second time.
    studio.post(path, &fields("0", "4")).await.is(StatusCode::CONFLICT).says("Something was written down");
    assert_eq!(number(&studio, "SELECT count(*) FROM placed_line_answer").await, 1);
    // All of it.
    let all = studio.get("/orders/1/cancellation?all=1").await;
    let fields = [
        ("seen", "1"),
        ("line", "1"),
        ("packs", "3"),
        ("line", "2"),
        ("packs", "9"),
        ("line", "3"),
        ("packs", "8"),
    ];
    all.says("value=\"9\"");
    studio.post(path, &fields).await.onward();
    studio.get("/orders/1").await.says("<p class=\"standing off\">Taken back</p>").says("€0.00");
    studio.get(path).await.says("Nothing of this order is left");
    studio
        .post(path, &[("seen", "4"), ("line", "1"), ("packs", "1")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
    // The events may be ordered for again.
    studio.get(ASK).await.says_not("These events have orders already").says("value=\"2\" checked");
}

#[tokio::test]
async fn after_the_cut_off_the_supplier_is_rung() {
    let studio = placed().await;
    change(&studio, "UPDATE placed_delivery SET order_by_day = '2026-05-03'").await;
    let path = "/orders/1/cancellation";
    studio.get(path).await.says("Their orders have closed").says("Ring Brook Growers");
    let fields = [("seen", "0"), ("line", "2"), ("packs", "4")];
    studio
        .post(path, &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("tick this once they have agreed");
    studio.post(path, &[&fields[..], &[("agreed", "yes")]].concat()).await.onward();
    studio.get("/orders/1").await.says("9 of 13 packs expected");
}

#[tokio::test]
async fn the_list_shows_what_is_still_to_come() {
    let studio = placed().await;
    change(&studio, "UPDATE placed_delivery SET day = '2026-05-01'").await;
    studio.get("/orders").await.says("No order that is still to come").says_not("/orders/1\"");
    studio.get("/orders?which=all").await.says("/orders/1\"");
    studio.get("/orders?which=all&supplier=1").await.says("No order with Alder Wholesale");
    studio.get("/orders?supplier=99").await.is(StatusCode::NOT_FOUND);
    studio.get("/suppliers/2").await.says("/orders?which=all&amp;supplier=2");
    studio.get("/orders?page=-4").await.is(StatusCode::OK);
}
