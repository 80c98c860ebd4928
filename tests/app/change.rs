//! After placing: the page says what was ordered, sets need now against it, and proposes the top-up or what to take back.
//! On the worked example: both events from Brook Growers for Thursday, 13 × 12 roses, 8 × 10 stocks, 3 × 25 eucalyptus.

use axum::http::StatusCode;
use scraper::{Html, Selector};

use crate::bench_supper::write;
use crate::stem_order::{EXAMPLE, filled};
use crate::support::TestStudio;

const BOTH: &str = "event=1&event=2";

/// Every field of a page's placing form, as a browser would send it.
fn fields(page: &str) -> Vec<(String, String)> {
    let page = Html::parse_document(page);
    let inputs = Selector::parse("form[action^='/stem-order/placing'] input").unwrap();
    let sent = |input: &scraper::ElementRef<'_>| {
        input.value().attr("type") != Some("checkbox") || input.value().attr("checked").is_some()
    };
    let field = |input: scraper::ElementRef<'_>| {
        let value = |name| input.value().attr(name).unwrap_or_default().to_owned();
        (value("name"), value("value"))
    };
    page.select(&inputs).filter(sent).map(field).collect()
}

/// Places what the page of an order proposes, as it stands; the answer.
async fn place(studio: &TestStudio, query: &str) -> crate::support::Page {
    let path = format!("/stem-order/placing?{query}");
    let asked = studio.get(&path).await;
    asked.is(StatusCode::OK);
    let fields = fields(&asked.text());
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    studio.post(&path, &fields).await
}

async fn rows(studio: &TestStudio, sql: &'static str) -> Vec<String> {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar(sql).fetch_all(&mut *connection).await.unwrap()
}

const LINES: &str = "SELECT o.number || ': ' || l.packs || ' × ' || l.pack_size || ' ' || l.name || ' at ' || l.price
    FROM placed_line l JOIN placed_delivery d ON d.id = delivery_id JOIN placed_order o ON o.id = order_id ORDER BY l.id";

async fn ordered() -> TestStudio {
    let studio = filled(&EXAMPLE).await;
    place(&studio, BOTH).await.onward();
    studio
}

#[tokio::test]
async fn with_nothing_changed_what_was_ordered_covers_the_need() {
    let studio = filled(&EXAMPLE).await;
    studio.get(&format!("/stem-order?{BOTH}")).await.says_not("Ordered:").says("€359.20");
    place(&studio, BOTH).await.onward();
    let page = studio.get(&format!("/stem-order?{BOTH}")).await;
    page.is(StatusCode::OK)
        .says("Ordered: <a href=\"/orders/1\">N°&nbsp;1</a>")
        .says("Ordered stems cover the need.")
        .says("3 materials are as they were ordered")
        .says_not("What is bought")
        .says_not("May be taken back");
    // One of the two events: the other belongs to the same order.
    studio
        .get("/stem-order?event=1")
        .await
        .says("Saturday wedding</a> too")
        .says("Ordered stems cover the need.");
    studio.get(&format!("/stem-order/placing?{BOTH}")).await.says("nothing to place");
}

#[tokio::test]
async fn a_larger_count_is_topped_up_and_nothing_placed_is_rewritten() {
    let studio = ordered().await;
    let before = rows(&studio, LINES).await;
    // A second Friday table: 61 roses and 33 stocks more. Of roses 3 are over, of stocks 3; so 58 and 30 are short.
    write(&studio, "UPDATE piece SET count = 2000 WHERE event_id = 1").await;
    let page = studio.get(&format!("/stem-order?{BOTH}")).await;
    page.is(StatusCode::OK)
        .says("Ordered stems do not cover the need.")
        .says("Friday supper: needs 122 now, 61 ordered")
        .says("When ordered, N°\u{a0}1: 153 = need 153")
        .says("58 short")
        .says("30 short")
        // 5 × 12 roses, 3 × 10 stocks; the fee is paid: 75.00 + 35.70.
        .says("The cheapest top-up stands below: €110.70.")
        .says("None: it comes with what was ordered before for that day.");
    place(&studio, BOTH).await.onward();
    let after = rows(&studio, LINES).await;
    assert_eq!(after[..before.len()], before[..]);
    assert_eq!(after[before.len()..], ["2: 5 × 12 Rose at 1500", "2: 3 × 10 Stock at 1190"]);
    studio.get(&format!("/stem-order?{BOTH}")).await.says("N°&nbsp;2").says("Ordered stems cover the need.");
}

#[tokio::test]
async fn a_recipe_that_takes_more_is_topped_up() {
    let studio = ordered().await;
    write(&studio, "UPDATE recipe_line SET quantity = 66000 WHERE recipe_id = 1 AND material_id = 1").await;
    let page = studio.get(&format!("/stem-order?{BOTH}")).await;
    // Five roses more, three are over: one bunch of twelve at 15.00.
    page.says("Friday supper: needs 66 now, 61 ordered").says("The cheapest top-up stands below: €15.00.");
}

#[tokio::test]
async fn an_event_that_is_added_rides_along() {
    let studio = ordered().await;
    write(
        &studio,
        "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (3, 1, 'Lawn lunch', '2026-05-16', '2026-05-01');
        INSERT INTO place (id, event_id, name, position) VALUES (3, 3, 'Lawn', 1);
        INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count) VALUES (3, 3, 1, 1, 'number', 1000);",
    )
    .await;
    // By itself it is an order of its own, fee and least order in full; with the others it rides along.
    studio.get("/stem-order?event=3").await.says_not("id=\"change-title\"");
    let page = studio.get(&format!("/stem-order?{BOTH}&event=3")).await;
    page.says("Lawn lunch: needs 61 now, 0 ordered").says("The cheapest top-up stands below: €110.70.");
}

#[tokio::test]
async fn what_was_ordered_for_an_event_called_off_serves_the_other_and_the_rest_may_be_taken_back() {
    let studio = ordered().await;
    write(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 1").await;
    let page = studio.get(&format!("/stem-order?{BOTH}")).await;
    // Left to need: 92 roses of 156, 44 stocks of 80, 57 eucalyptus of 75: so 5 × 12, 3 × 10 and none of 25 may go back,
    // 75.00 + 35.70, and what stays, 233.50, is above the least order of 100.00.
    page.is(StatusCode::OK)
        .says("Friday supper was called off")
        .says("Friday supper, called off: 61 ordered, offered to the others")
        .says("Ordered stems cover the need.")
        .says("taking it back saves €110.70")
        .says("5 of 13 × Bunch of 12, Rose, from Brook Growers on Thu 14 May 2026")
        .says("3 of 8 × Bunch of 10, Stock")
        .says_not("And order instead");
    // What was ordered is not touched by looking.
    assert_eq!(rows(&studio, LINES).await.len(), 3);
}

#[tokio::test]
async fn one_material_is_topped_up_while_another_goes_back() {
    let studio = filled(&EXAMPLE).await;
    // With most packs an offer that was used is posed once more for what is left of it.
    write(&studio, "UPDATE offer SET most_packs = 40 WHERE id = 3").await;
    place(&studio, BOTH).await.onward();
    write(
        &studio,
        "UPDATE recipe_line SET quantity = 122000 WHERE recipe_id = 1 AND material_id = 1;
        UPDATE recipe_line SET quantity = 1000 WHERE recipe_id = 1 AND material_id = 2;",
    )
    .await;
    // Roses: 122 + 92 of 156, 58 short, 5 × 12 at 15.00. Stocks: 1 + 44 of 80, so 3 × 10 at 11.90 may go back.
    let page = studio.get(&format!("/stem-order?{BOTH}")).await;
    page.is(StatusCode::OK)
        .says("The cheapest top-up stands below: €75.00.")
        .says("3 of 8 × Bunch of 10, Stock")
        .says("€35.70")
        .says_not("And order instead");
}

#[tokio::test]
async fn what_was_counted_in_good_wants_no_spares_and_what_the_bench_lost_is_missed() {
    let studio = filled(&EXAMPLE).await;
    write(&studio, "UPDATE material SET loss = 50000").await;
    place(&studio, BOTH).await.onward();
    // Of the roses ordered for 153 and their spares no more than 153 came good: enough, and no top-up is proposed.
    write(
        &studio,
        "INSERT INTO receipt_line (line_id, good, lost, received_on, recorded_at)
        SELECT id, 153, packs * pack_size - 153, '2026-05-04', '2026-05-04T09:00:00Z' FROM placed_line WHERE name = 'Rose'",
    )
    .await;
    let page = studio.get(&format!("/stem-order?{BOTH}")).await;
    page.says("all of it was counted in good, so no spare is wanted").says("Ordered stems cover the need.");
    write(
        &studio,
        "INSERT INTO bench_loss (once_key, material_id, lost, lost_on, recorded_at)
        VALUES ('dropped', 1, 4, '2026-05-14', '2026-05-14T09:00:00Z')",
    )
    .await;
    let page = studio.get(&format!("/stem-order?{BOTH}")).await;
    page.says("for the 4 not yet counted in good").says("Ordered stems do not cover the need.");
}

#[tokio::test]
async fn after_the_cut_off_nothing_is_taken_back_and_what_is_short_is_named() {
    let studio = ordered().await;
    write(
        &studio,
        "UPDATE placed_delivery SET order_by_day = '2026-05-03'; UPDATE supplier SET cutoff_days = 20;
        UPDATE piece SET count = 2000 WHERE event_id = 1; UPDATE recipe_line SET quantity = 10000 WHERE material_id = 2;",
    )
    .await;
    let page = studio.get(&format!("/stem-order?{BOTH}")).await;
    page.says("no more can be had").says("its orders closed on").says_not("May be taken back");
}

#[tokio::test]
async fn choices_and_reasons_go_beside_a_change_too() {
    let studio = ordered().await;
    write(&studio, "UPDATE piece SET count = 2000 WHERE event_id = 1").await;
    // Without Brook: 58 roses as 3 × 25 and 30 stocks as 3 × 10 from Alder, with its fee.
    let page = studio.get(&format!("/stem-order?{BOTH}&pin=without:2")).await;
    page.says("The cheapest top-up stands below: €155.50.")
        .says("Your choices cost €44.80 more than the cheapest, €110.70.");
    let why = studio.get(&format!("/stem-order/why?{BOTH}&offer=3&on=2026-05-14")).await;
    why.is(StatusCode::OK).says("Why 5 × Bunch of 12, Rose").says("€110.70");
    studio.get("/stem-order?event=99").await.is(StatusCode::NOT_FOUND);
}
