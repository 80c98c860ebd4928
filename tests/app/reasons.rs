//! What cannot be had, why, and what would mend it: every cause through the order's page.

use axum::http::StatusCode;

use crate::bench_supper::write;
use crate::stem_order::{EXAMPLE, filled};

const FRIDAY: &str = "/stem-order?event=1";

#[tokio::test]
async fn with_part_of_it_on_hand_a_passed_cut_off_is_still_named() {
    let studio = filled(&EXAMPLE).await;
    write(
        &studio,
        "UPDATE supplier SET cutoff_days = 20; UPDATE material SET holding_days = 12;
        INSERT INTO stock_lot (material_id, arrived_on, on_hand, counted_on) VALUES (1, '2026-05-04', 20, '2026-05-04');",
    )
    .await;
    let page = studio.get(FRIDAY).await;
    page.is(StatusCode::OK).says("would do, but its orders closed on").says_not("allow no more packs");
}

#[tokio::test]
async fn a_cut_off_passed_for_one_of_two_windows_is_named() {
    let studio = filled(&EXAMPLE).await;
    // Friday's roses could only come on Monday the 11th, for which orders have closed; Saturday's come later.
    write(
        &studio,
        "UPDATE supplier SET cutoff_days = 8, delivery_weekdays = 33; UPDATE material SET holding_days = 4;
        INSERT INTO stock_lot (material_id, arrived_on, on_hand, counted_on) VALUES (1, '2026-05-11', 20, '2026-05-11');",
    )
    .await;
    let page = studio.get("/stem-order?event=1&event=2").await;
    page.is(StatusCode::OK).says("its orders closed on").says_not("allow no more packs");
}

#[tokio::test]
async fn most_packs_that_are_too_few_name_the_delivery_that_has_closed() {
    let studio = filled(&EXAMPLE).await;
    // Alder's orders have closed; Brook has no more than two bunches of roses.
    write(
        &studio,
        "UPDATE supplier SET cutoff_days = 20 WHERE id = 1; UPDATE offer SET most_packs = 2 WHERE id = 3;
        UPDATE supplier SET delivery_weekdays = 8; DELETE FROM recipe_line WHERE material_id = 2;",
    )
    .await;
    let page = studio.get(FRIDAY).await;
    page.is(StatusCode::OK)
        .says("of 61 can be had from what is still open; Alder Wholesale&#39;s delivery of Thu 14 May 2026 would do")
        .says("Ring them");
}

#[tokio::test]
async fn a_price_that_does_not_hold_yet_is_said() {
    let studio = filled(&EXAMPLE).await;
    write(&studio, "UPDATE offer_price SET from_day = '2026-06-01' WHERE offer_id IN (1, 2, 3);").await;
    studio
        .get(FRIDAY)
        .await
        .says("No price of Rose holds")
        .says("Enter the present price in the price list.");
}

#[tokio::test]
async fn what_nobody_sells_and_what_nobody_delivers_then_are_told_apart() {
    let studio = filled(&EXAMPLE).await;
    write(
        &studio,
        "UPDATE offer SET removed_at = '2026-05-01T00:00:00Z' WHERE material_id = 1; UPDATE supplier SET delivery_weekdays = 1;
        UPDATE material SET holding_days = 3;",
    )
    .await;
    let page = studio.get(FRIDAY).await;
    page.says("Nobody on the price list sells Rose.")
        .says("nobody who sells it delivers then. Alder Wholesale: Mon; Brook Growers: Mon.");
}
