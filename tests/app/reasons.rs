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
