//! The stem order through its pages. Materials, recipes and events are written straight into the book: their own
//! pages are tested in their own rooms.

use axum::http::StatusCode;

use crate::support::TestStudio;

/// What a book is filled with, as SQL.
pub(crate) async fn filled(statements: &[&str]) -> TestStudio {
    let studio = TestStudio::new().await;
    let mut tx = studio.book.write().await.unwrap();
    for statement in statements {
        sqlx::query(sqlx::AssertSqlSafe((*statement).to_owned())).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
    studio
}

/// The worked example of the buying plan: two suppliers, two events, one delivery day, nothing lost.
pub(crate) const EXAMPLE: [&str; 10] = [
    "INSERT INTO client (id, name) VALUES (1, 'Ada North')",
    "INSERT INTO supplier (id, name, account, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
        VALUES (1, 'Alder Wholesale', 'A-17', 127, 2, '11:00', 2500, 0),
            (2, 'Brook Growers', 'B-9', 127, 2, '11:00', 1500, 10000)",
    "INSERT INTO material (id, name, kind, unit, loss, holding_days, cautions) VALUES (1, 'Rose', 'flower', 'stem', 0, 6, 512),
        (2, 'Stock', 'flower', 'stem', 0, 6, 0), (3, 'Eucalyptus', 'foliage', 'stem', 0, 6, 0)",
    "INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES (1, 1, 1, 'Bunch', 25), (2, 1, 1, 'Box', 100),
        (3, 2, 1, 'Bunch', 12), (4, 1, 2, 'Bunch', 10), (5, 2, 2, 'Bunch', 10), (6, 1, 3, 'Bunch', 10), (7, 2, 3, 'Bunch', 25)",
    "INSERT INTO offer_price (offer_id, from_day, price, recorded_at)
        SELECT id, '2026-01-01', CASE id WHEN 1 THEN 3100 WHEN 2 THEN 11500 WHEN 3 THEN 1500 WHEN 4 THEN 1250
            WHEN 5 THEN 1190 WHEN 6 THEN 900 ELSE 1800 END, '2026-01-01T00:00:00Z' FROM offer",
    "INSERT INTO recipe (id, name, category, minutes, holding_hours) VALUES (1, 'Friday table', 'table', 1000, 24),
        (2, 'Saturday table', 'table', 1000, 24)",
    "INSERT INTO recipe_line (recipe_id, position, material_id, measure, quantity) VALUES (1, 1, 1, 'count', 61000),
        (1, 2, 2, 'count', 33000), (2, 1, 1, 'count', 92000), (2, 2, 2, 'count', 44000), (2, 3, 3, 'count', 57000)",
    "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (1, 1, 'Friday supper', '2026-05-15', '2026-01-05'),
        (2, 1, 'Saturday wedding', '2026-05-16', '2026-01-05')",
    "INSERT INTO place (id, event_id, name, position) VALUES (1, 1, 'Hall', 1), (2, 2, 'Hall', 1)",
    "INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count) VALUES (1, 1, 1, 1, 'number', 1000),
        (2, 2, 2, 1, 'number', 1000)",
];

pub(crate) const BOTH: &str = "/stem-order?event=1&event=2&day=2026-05-14";

#[tokio::test]
async fn the_coming_weekend_is_offered_to_tick() {
    let studio = filled(&EXAMPLE).await;
    let page = studio.get("/stem-order").await;
    page.is(StatusCode::OK)
        .says("Week of 11 May 2026")
        .says("value=\"1\" checked")
        .says("value=\"2\" checked");
    TestStudio::new().await.get("/stem-order").await.says("No events to order for");
}

#[tokio::test]
async fn the_worked_example_is_planned_split_and_compared() {
    let studio = filled(&EXAMPLE).await;
    let page = studio.get(BOTH).await;
    page.is(StatusCode::OK)
        .says("€359.20")
        .says("Proven cheapest")
        .says("Brook Growers, Thu 14 May 2026")
        .says("order by Tue 12 May 2026 11:00")
        .says_not("Alder Wholesale, ");
    // Shares by stems and spend; by itself; in proportion to that.
    page.says("€123.72").says("€235.48").says("€152.60").says("€248.50").says("€136.66").says("€222.54");
    page.says("saves €41.90").says("All from one supplier, Brook Growers: nothing is cheaper.");
    page.says("Residues");
}

#[tokio::test]
async fn by_the_calendar_the_latest_safe_days_are_used() {
    let studio = filled(&EXAMPLE).await;
    let page = studio.get("/stem-order?event=1&event=2").await;
    // One delivery for both, on the last day before Friday's pieces are made.
    page.is(StatusCode::OK).says("€359.20").says("Brook Growers, Thu 14 May 2026");
}

#[tokio::test]
async fn a_supplier_has_a_paper_and_a_file() {
    let studio = filled(&EXAMPLE).await;
    let paper = studio.get("/stem-order/suppliers/2?event=1&event=2&day=2026-05-14").await;
    paper
        .is(StatusCode::OK)
        .says("Draft of an order to Brook Growers, not placed")
        .says("B-9")
        .says("€359.20")
        .says("Thu 14 May 2026");
    let file = studio.get("/stem-order/suppliers/2.csv?event=1&event=2&day=2026-05-14").await;
    assert!(file.media_type.starts_with("text/csv"));
    file.says("Brook Growers,B-9,2026-05-14,2026-05-12 11:00,Rose,,,Bunch,12,13,156,stem,15.00,195.00\r\n")
        .says(",Delivery fee,,,,,,,,,15.00\r\n");
    let whole = studio.get("/stem-order.csv?event=1&event=2&day=2026-05-14").await.text();
    let amounts: f64 =
        whole.lines().skip(1).map(|row| row.rsplit(',').next().unwrap().parse::<f64>().unwrap()).sum();
    assert!((amounts - 359.20).abs() < 0.001, "{whole}");
    studio.get("/stem-order/suppliers/1?event=1&event=2&day=2026-05-14").await.says("Nothing of this order");
    studio.get("/stem-order/suppliers/9?event=1").await.is(StatusCode::NOT_FOUND);
    studio.get("/stem-order/suppliers/2").await.is(StatusCode::CONFLICT).says("Choose events");
}

#[tokio::test]
async fn what_lies_on_hand_is_taken_off() {
    let studio = filled(&EXAMPLE).await;
    let counted = [("lot", ""), ("version", ""), ("material", "Rose"), ("arrived_on", ""), ("count", "20")];
    studio.post("/stock/count", &counted).await.onward();
    let page = studio.get(BOTH).await;
    // Eleven days before Friday: roses that keep six days are of no use, those that keep twelve are.
    page.says("20 on hand since Mon 4 May 2026, keeps until Sun 10 May 2026, too old for these events")
        .says("It does not keep for these events")
        .says("€359.20");
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query("UPDATE material SET holding_days = 12").execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    studio.get(BOTH).await.says("20 Rose on hand").says("What is taken from stock").says_not("€359.20");
}

#[tokio::test]
async fn what_cannot_be_had_is_named_with_what_would_mend_it() {
    let studio = filled(&EXAMPLE).await;
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query("UPDATE offer SET season = 32 WHERE material_id = 3").execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    let page = studio.get(BOTH).await;
    page.is(StatusCode::OK)
        .says("Not to be had")
        .says("Eucalyptus: no offer in season then. Alder Wholesale: Jun; Brook Growers: Jun.")
        .says("Allow a substitute that is in season")
        .says("Rose");
}

#[tokio::test]
async fn passed_cutoffs_are_not_planned_with_unless_the_day_is_chosen() {
    let studio = filled(&EXAMPLE).await;
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query("UPDATE supplier SET cutoff_days = 20").execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    let late = studio.get("/stem-order?event=1").await;
    late.is(StatusCode::OK).says("but its orders closed on").says("Ring them");
    studio.get(BOTH).await.says("€359.20").says("Ring before you count on it");
}

#[tokio::test]
async fn bad_addresses_are_answered_plainly() {
    let studio = filled(&EXAMPLE).await;
    studio.get("/stem-order?event=99").await.is(StatusCode::NOT_FOUND);
    studio.get("/stem-order?event=%3Cscript%3E").await.is(StatusCode::NOT_FOUND).says_not("<script>alert");
    studio.get("/stem-order?event=1&day=soon").await.is(StatusCode::OK).says("Write a day as year-month-day");
    let many = (0..200).map(|id| format!("event={id}")).collect::<Vec<_>>().join("&");
    studio.get(&format!("/stem-order?{many}")).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_event_that_was_called_off_is_left_out_and_said() {
    let studio = filled(&EXAMPLE).await;
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query("UPDATE event SET ended_on = '2026-05-01', ending = 'cancelled' WHERE id = 1")
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    studio.get(BOTH).await.says("Friday supper was called off").says("€248.50");
}
