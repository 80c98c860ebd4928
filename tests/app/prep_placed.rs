//! Once orders are placed, the bench awaits what comes of them: their days, their packs, what their suppliers answered, what
//! was counted in; and says what nobody has ordered yet.

use axum::http::StatusCode;

use crate::bench_supper::{supper, write};
use crate::support::TestStudio;

const WEEKEND: &str = "from=2026-05-16&to=2026-05-17";

/// The harvest supper, its cosmos and ivy ordered for Wednesday, a day earlier than the plan by itself would have them.
async fn placed() -> TestStudio {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    write(
        &studio,
        "INSERT INTO placed_order (id, number, once_key, supplier_id, supplier, placed_on, recorded_at)
            VALUES (1, 1, 'a', 1, 'Meadow & Mill', '2026-05-04', '2026-05-04T07:00:00Z');
        INSERT INTO placed_order_event (order_id, event_id) VALUES (1, 1);
        INSERT INTO placed_delivery (id, order_id, day, order_by_day, order_by_time, fee)
            VALUES (1, 1, '2026-05-13', '2026-05-12', '11:00', 1500);
        INSERT INTO placed_line (id, delivery_id, position, offer_id, material_id, name, pack_name, pack_size, packs, price)
            VALUES (1, 1, 0, 1, 1, 'Cosmos, pink', 'bunch', 10, 13, 900), (2, 1, 1, 2, 2, 'Ivy', 'bunch', 10, 7, 600);
        INSERT INTO placed_share (line_id, event_id, stems, goods) VALUES (1, 1, 125, 11700), (2, 1, 65, 4200);",
    )
    .await;
    studio
}

async fn sheet(studio: &TestStudio, day: &str) -> crate::support::Page {
    let page = studio.get(&format!("/prep/{day}?{WEEKEND}")).await;
    page.is(StatusCode::OK);
    page
}

#[tokio::test]
async fn a_placed_order_moves_the_conditioning_day() {
    let studio = placed().await;
    sheet(&studio, "2026-05-13")
        .await
        .says("data-tick=\"condition-1-2026-05-13-10-1\"")
        .says("from Meadow")
        .says("Ordered, N°\u{a0}1")
        .says("12 hours in water: not used before Wed 22:00")
        .says_not("not ordered yet");
    let overview = studio.get(&format!("/prep?{WEEKEND}")).await;
    overview.is(StatusCode::OK).says_not("What does not fit").says("Wed 13 May 2026");
    // Pails stand from Wednesday on: 130 cosmos at 30 a pail are 5, 70 ivy 3.
    overview.says("130 Cosmos, pink at 30 a pail: 5").says("70 Ivy at 30 a pail: 3");
}

#[tokio::test]
async fn without_an_order_the_plan_stands_as_before() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    sheet(&studio, "2026-05-14")
        .await
        .says("data-tick=\"condition-1-2026-05-14-10-1\"")
        .says_not("N°\u{a0}1");
    studio.get(&format!("/prep/2026-05-13?{WEEKEND}")).await.says_not("data-tick=\"condition-1");
}

#[tokio::test]
async fn a_short_answer_lowers_it_and_is_said_with_the_way_to_the_order() {
    let studio = placed().await;
    write(
        &studio,
        "INSERT INTO placed_line_answer (line_id, kind, packs, price, recorded_at)
            VALUES (1, 'confirmed', 8, 900, '2026-05-04T09:00:00Z')",
    )
    .await;
    sheet(&studio, "2026-05-13").await.says("80 stems, 10 to a bunch").says("N°\u{a0}1: 80 of 125 come");
    let overview = studio.get(&format!("/prep?{WEEKEND}")).await;
    overview
        .says("What does not fit")
        .says("Cosmos, pink are not ordered yet")
        .says("Ordered before: N°\u{a0}1: 80 of 125 come.")
        .says("<a href=\"/stem-order?event=1\">Stem order</a>");
}

#[tokio::test]
async fn what_was_counted_in_is_what_is_conditioned() {
    let studio = placed().await;
    // Enough for the need, though not for the spares: those are not wanted once the stems were seen to be good.
    write(
        &studio,
        "INSERT INTO receipt_line (line_id, good, lost, received_on, recorded_at)
            VALUES (1, 118, 12, '2026-05-13', '2026-05-13T09:00:00Z')",
    )
    .await;
    sheet(&studio, "2026-05-13")
        .await
        .says("118 stems, 10 to a bunch")
        .says("N°\u{a0}1: 118 of 125 came good")
        .says_not("not ordered yet");
    write(&studio, "UPDATE receipt_line SET good = 60").await;
    studio.get(&format!("/prep?{WEEKEND}")).await.says("not ordered yet").says("60 of 125 came good");
}

#[tokio::test]
async fn an_event_of_another_week_on_the_same_order_is_not_prepared_with_this_one() {
    let studio = placed().await;
    write(
        &studio,
        "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (2, 1, 'Later lunch', '2026-05-23', '2026-01-05');
        INSERT INTO place (id, event_id, name, position) VALUES (3, 2, 'Hall', 0);
        INSERT INTO piece (id, event_id, place_id, recipe_id, position, count_rule, count) VALUES (5, 2, 3, 1, 0, 'number', 3000);
        INSERT INTO placed_order_event (order_id, event_id) VALUES (1, 2);",
    )
    .await;
    let page = studio.get(&format!("/prep?{WEEKEND}")).await;
    page.is(StatusCode::OK).says("Wed 13 May 2026").says_not("Later lunch").says_not("not ordered yet");
    let later = studio.get("/prep?from=2026-05-23&to=2026-05-24").await;
    later.is(StatusCode::OK).says("Later lunch").says("not ordered yet").says_not("Wed 13 May 2026");
}

#[tokio::test]
async fn the_cooler_holds_what_lies_there_and_what_comes_for_other_weeks() {
    let studio = placed().await;
    write(
        &studio,
        "INSERT INTO material (id, name, kind, unit, head_class, holding_days) VALUES
            (7, 'Statice', 'flower', 'stem', 'small', 20);
        INSERT INTO stock_lot (id, material_id, arrived_on, on_hand, counted_on) VALUES (1, 7, '2026-05-02', 60, '2026-05-03');
        INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (2, 1, 'Later lunch', '2026-05-19', '2026-01-05');
        INSERT INTO placed_order (id, number, once_key, supplier_id, supplier, placed_on, recorded_at)
            VALUES (2, 2, 'b', 1, 'Meadow & Mill', '2026-05-04', '2026-05-04T07:00:00Z');
        INSERT INTO placed_order_event (order_id, event_id) VALUES (2, 2);
        INSERT INTO placed_delivery (id, order_id, day, order_by_day, order_by_time, fee)
            VALUES (2, 2, '2026-05-15', '2026-05-14', '11:00', 1500);
        INSERT INTO placed_line (id, delivery_id, position, offer_id, material_id, name, pack_name, pack_size, packs, price)
            VALUES (3, 2, 0, 1, 1, 'Cosmos, pink', 'bunch', 10, 4, 900);
        INSERT INTO placed_share (line_id, event_id, stems, goods) VALUES (3, 2, 40, 3600);",
    )
    .await;
    let page = studio.get(&format!("/prep?{WEEKEND}")).await;
    page.is(StatusCode::OK)
        .says("60 Statice (on hand, not for these events) at 50 a pail: 2")
        .says("40 Cosmos, pink (for other weeks) at 30 a pail: 2")
        // Of 130 cosmos and 70 ivy some came with whole packs: they stand on once the pieces are made.
        .says("(left over) at 30 a pail: 1");
}

#[tokio::test]
async fn a_planned_flower_stands_in_only_where_the_plan_has_it_so() {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    // Ivy may stand in for cosmos, yet it is dear and none of it is left over: each is bought for its own.
    write(
        &studio,
        "UPDATE material SET usable_length = 685800 WHERE id = 1;
        INSERT INTO recipe_substitute (line_id, material_id) SELECT id, 2 FROM recipe_line WHERE material_id = 1;
        UPDATE offer SET pack_size = 1 WHERE id = 2;",
    )
    .await;
    let sheets = studio.get(&format!("/prep/sheets?{WEEKEND}")).await;
    sheets.says("Cosmos, pink").says_not("Stands in for");
}
