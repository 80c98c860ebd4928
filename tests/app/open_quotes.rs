//! Open quotes at today's prices.

use axum::http::StatusCode;

use crate::quotes::{QUOTE, saved, sent, wedding, write};
use crate::support::TestStudio;

#[tokio::test]
async fn a_dearer_rose_is_told_with_what_it_takes_from_the_margin() {
    let studio = wedding().await;
    saved(&studio, &[("price", "")]).await.onward();
    studio.get("/open-quotes").await.is(StatusCode::OK).says("No open quote loses margin");
    write(
        &studio,
        "UPDATE quote SET priced_on = '2026-05-01';
        INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES (1, '2026-05-03', 1400, '2026-05-03T09:00:00Z');",
    )
    .await;
    // Fourteen bowls of ten roses at 1.20, then 1.40: 28.00 more; of 868.00 the margin was 504.00, 58.1 %.
    studio
        .get("/open-quotes")
        .await
        .says("1 open quote leaves €28.00 less at today’s prices")
        .says("Draft, not sent")
        .says("€504.00, 58.1\u{a0}%")
        .says("€476.00, 54.8\u{a0}%")
        .says("−€28.00, −3.2 points")
        .says("140 × (€1.40 − €1.20) = +€28.00 of cost");
    studio.get("/").await.says("1 open quote leaves €28.00 less").says("/open-quotes");
    studio.get("/materials").await.says("/open-quotes");
    let version = sent(&studio).await;
    studio.get("/open-quotes").await.says("Version 1 sent on 4 May 2026, no answer");
    let yes = [("accepted_by", "Ada North"), ("accepted_on", "2026-05-04")];
    studio.post(&format!("{version}/acceptance"), &yes).await.onward();
    studio.get("/open-quotes").await.says("No open quote loses margin").says_not(QUOTE);
}

#[tokio::test]
async fn an_empty_book_has_no_open_quotes() {
    TestStudio::new().await.get("/open-quotes").await.is(StatusCode::OK).says("No open quote loses margin");
}
