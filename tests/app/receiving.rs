//! Counting in what came, on a tablet by one or by two; whom short stems touch; losses at the bench.

use axum::http::StatusCode;

use crate::support::{TestStudio, filled};

/// A dinner on Friday and a wedding on Saturday, both of low arrangements of six roses, in which ranunculus may stand in.
/// Today 180 roses and 20 ranunculus come; one delivery is overdue, one comes on Wednesday. Nothing is usually lost.
const PLACED: [&str; 16] = [
    "INSERT INTO client (id, name) VALUES (1, 'Ada North')",
    "INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
        VALUES (1, 'Alder Wholesale', 127, 2, '11:00', 0, 0), (2, 'Brook Growers', 127, 1, '11:00', 0, 0)",
    "INSERT INTO material (id, name, kind, unit, loss, holding_days, cautions) VALUES
        (1, 'Rose, ivory', 'flower', 'stem', 0, 9, 544), (2, 'Ranunculus, peach', 'flower', 'stem', 0, 9, 64),
        (3, 'Cylinder', 'vessel', 'each', NULL, NULL, 0)",
    "INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES (1, 1, 1, 'bunch', 10),
        (2, 1, 2, 'bunch', 10), (3, 2, 1, 'bunch', 20), (4, 2, 3, 'case', 12)",
    "INSERT INTO offer_price (offer_id, from_day, price, recorded_at)
        SELECT id, '2026-01-01', 1500, '2026-01-01T00:00:00Z' FROM offer",
    "INSERT INTO recipe (id, name, category, minutes, holding_hours) VALUES (1, 'Low arrangement', 'table', 1000, 24)",
    "INSERT INTO recipe_line (id, recipe_id, position, material_id, measure, quantity) VALUES (1, 1, 1, 1, 'count', 6000)",
    "INSERT INTO recipe_substitute (line_id, material_id) VALUES (1, 2)",
    "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (1, 1, 'Dinner', '2026-05-08', '2026-01-05'),
        (2, 1, 'Wedding', '2026-05-09', '2026-01-05')",
    "INSERT INTO place (id, event_id, name, position) VALUES (1, 1, 'Long room', 1), (2, 2, 'Barn', 1)",
    "INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count)
        VALUES (1, 1, 1, 1, 'number', 14000), (2, 2, 1, 1, 'number', 15000)",
    "INSERT INTO placed_order (id, number, once_key, supplier_id, supplier, placed_on, recorded_at) VALUES
        (1, 1, 'a', 1, 'Alder Wholesale', '2026-05-01', '2026-05-01T09:00:00Z'),
        (2, 2, 'b', 2, 'Brook Growers', '2026-04-27', '2026-04-27T09:00:00Z'),
        (3, 3, 'c', 2, 'Brook Growers', '2026-05-01', '2026-05-01T09:00:00Z')",
    "INSERT INTO placed_order_event (order_id, event_id) VALUES (1, 1), (1, 2), (3, 1)",
    "INSERT INTO placed_delivery (id, order_id, day, order_by_day, order_by_time, fee) VALUES
        (1, 1, '2026-05-04', '2026-05-02', '11:00', 0), (2, 2, '2026-04-30', '2026-04-28', '11:00', 0),
        (3, 3, '2026-05-06', '2026-05-05', '11:00', 0)",
    "INSERT INTO placed_line (id, delivery_id, position, offer_id, material_id, name, pack_name, pack_size, packs, price) VALUES
        (1, 1, 0, 1, 1, 'Rose, ivory', 'bunch', 10, 18, 1500), (2, 1, 1, 2, 2, 'Ranunculus, peach', 'bunch', 10, 2, 1500),
        (3, 2, 0, 3, 1, 'Rose, ivory', 'bunch', 20, 5, 1500), (4, 3, 0, 4, 3, 'Cylinder', 'case', 12, 2, 1500)",
    "INSERT INTO placed_share (line_id, event_id, stems, goods) VALUES (1, 1, 84, 12000), (1, 2, 90, 15000)",
];

async fn placed() -> TestStudio {
    filled(&PLACED).await
}

/// The form of today's delivery, as a fresh page has it: what was seen, then good and lost of the roses, then of the
/// ranunculus.
fn count<'a>(
    seen: [&'a str; 2],
    roses: (&'a str, &'a str),
    ranunculus: (&'a str, &'a str),
) -> Vec<(&'static str, &'a str)> {
    vec![
        ("line", "1"),
        ("seen", seen[0]),
        ("good", roses.0),
        ("lost", roses.1),
        ("line", "2"),
        ("seen", seen[1]),
        ("good", ranunculus.0),
        ("lost", ranunculus.1),
    ]
}

const FRESH: [&str; 2] = ["", ""];

async fn written(studio: &TestStudio, statements: &[&str]) {
    let mut tx = studio.book.write().await.unwrap();
    for statement in statements {
        sqlx::query(sqlx::AssertSqlSafe((*statement).to_owned())).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
}

async fn kept(studio: &TestStudio) -> Vec<(i64, i64, i64, i64)> {
    sqlx::query_as("SELECT line_id, version, good, lost FROM receipt_line ORDER BY line_id")
        .fetch_all(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap()
}

#[tokio::test]
async fn deliveries_stand_by_day_with_what_is_next() {
    let studio = placed().await;
    let page = studio.get("/receiving").await;
    page.is(StatusCode::OK).says("Should be here, not all counted").says("Thu 30 Apr 2026");
    page.says("Today").says("Mon 4 May 2026").says("The coming seven days").says("Wed 6 May 2026");
    page.says("Count in Brook Growers").says("Not counted").says_not("Counted in lately");
    TestStudio::new().await.get("/receiving").await.says("No deliveries");
}

#[tokio::test]
async fn what_came_is_counted_in_by_line() {
    let studio = placed().await;
    let page = studio.get("/receiving/1").await;
    page.is(StatusCode::OK).says("18 × bunch of 10").says("For Dinner 84; Wedding 90").says("Residues");
    let answer = studio.post("/receiving/1", &count(FRESH, ("172", "6"), ("", ""))).await;
    assert_eq!(answer.onward(), "/receiving/1#line-1");
    assert_eq!(kept(&studio).await, [(1, 1, 172, 6)]);
    studio
        .get("/receiving/1")
        .await
        .says("Partly in, 1 of 2 lines")
        .says("2 short")
        .says("value=\"1:172:6\"");
    studio.get("/receiving").await.says("Partly in, 1 of 2 lines");
    // More than expected is kept and said; only the lost ones typed, the rest is good.
    studio.post("/receiving/1", &count(["1:172:6", ""], ("190", "0"), ("", "3"))).await.onward();
    assert_eq!(kept(&studio).await, [(1, 2, 190, 0), (2, 1, 17, 3)]);
    studio.get("/receiving/1").await.says("10 more than expected").says("All in");
    studio.get("/losses/1").await.says("0 of 100 lost over 190 stems").says("Alder Wholesale");
    for wrong in ["/receiving/9", "/receiving/x", "/receiving/9/sheet"] {
        studio.get(wrong).await.is(StatusCode::NOT_FOUND);
    }
}

#[tokio::test]
async fn all_good_is_one_press_for_a_line_or_for_the_rest() {
    let studio = placed().await;
    let one = [&count(FRESH, ("", ""), ("", "2"))[..], &[("all_good", "1")]].concat();
    studio.post("/receiving/1", &one).await.onward();
    assert_eq!(
        kept(&studio).await,
        [(1, 1, 180, 0), (2, 1, 18, 2)],
        "what was typed elsewhere is saved with it"
    );
    studio.post("/receiving/3", &[("line", "4"), ("all_good", "rest")]).await.onward();
    assert_eq!(kept(&studio).await[2], (4, 1, 24, 0));
    let rest =
        [&count(["1:180:0", "1:18:2"], ("180", "0"), ("18", "2"))[..], &[("all_good", "rest")]].concat();
    studio.post("/receiving/1", &rest).await.onward();
    assert_eq!(kept(&studio).await[1], (2, 1, 18, 2), "what is counted stays");
}

#[tokio::test]
async fn what_is_short_is_said_as_one_types() {
    let studio = placed().await;
    let page = studio.post("/receiving/1/figures", &count(FRESH, ("170", "6"), ("x", ""))).await;
    page.is(StatusCode::OK)
        .says("id=\"said-1\"")
        .says("4 short, not saved yet")
        .says("id=\"said-2\" data-swap></span>");
    assert!(kept(&studio).await.is_empty());
    studio.post("/receiving/9/figures", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn nonsense_is_refused_kept_and_nothing_is_saved() {
    let studio = placed().await;
    for wrong in ["-1", "2.5", "1000000000", "many", "<script>"] {
        let page = studio.post("/receiving/1", &count(FRESH, (wrong, ""), ("12", "0"))).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY).says("1 thing to put right").says("href=\"#good-0\"");
        page.says("value=\"12\"").says_not("<script>\"");
    }
    let both = studio.post("/receiving/1", &count(FRESH, ("-1", "x"), ("", ""))).await;
    both.is(StatusCode::UNPROCESSABLE_ENTITY).says("2 things to put right");
    assert!(kept(&studio).await.is_empty());
    // Lines of other deliveries, and what nobody can have seen.
    studio.post("/receiving/1", &[("line", "4"), ("good", "1")]).await.is(StatusCode::NOT_FOUND);
    studio
        .post("/receiving/1", &[("line", "1"), ("seen", "x"), ("good", "1")])
        .await
        .is(StatusCode::NOT_FOUND);
    studio.post("/receiving/9", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn two_people_counting_at_once_lose_nothing() {
    let studio = placed().await;
    studio.post("/receiving/1", &count(FRESH, ("180", "0"), ("", ""))).await.onward();
    // The other one had the page open from before: the ranunculus are merged, the roses are not overwritten.
    let page = studio.post("/receiving/1", &count(FRESH, ("170", "10"), ("20", "0"))).await;
    page.is(StatusCode::CONFLICT).says("180 good, 0 lost").says("170 good, 10 lost").says("value=\"170\"");
    assert_eq!(kept(&studio).await, [(1, 1, 180, 0), (2, 1, 20, 0)]);
    // What is saved again knows of the other count.
    page.says("value=\"1:180:0\"");
    studio.post("/receiving/1", &count(["1:180:0", "1:20:0"], ("170", "10"), ("20", "0"))).await.onward();
    assert_eq!(kept(&studio).await, [(1, 2, 170, 10), (2, 1, 20, 0)]);
    // Both counted the same: nothing to say.
    studio.post("/receiving/1", &count(FRESH, ("170", "10"), ("20", "0"))).await.onward();
    assert_eq!(kept(&studio).await, [(1, 2, 170, 10), (2, 1, 20, 0)]);
}

#[tokio::test]
async fn a_count_can_be_taken_back_once() {
    let studio = placed().await;
    studio.post("/receiving/1", &count(FRESH, ("180", "0"), ("", ""))).await.onward();
    let answer = studio.post("/receiving/1", &count(["1:180:0", ""], ("170", "10"), ("20", "0"))).await;
    let undo = "/receiving/1/restoration?was=1_2:170:10_1:180:0&was=2_1:20:0_";
    studio
        .get_with("/receiving/1", &answer.cookie)
        .await
        .says(&undo.replace('&', "&#38;"))
        .says("2 lines counted.");
    studio.post(undo, &[]).await.onward();
    assert_eq!(kept(&studio).await, [(1, 3, 180, 0)]);
    studio.post("/receiving/1", &count(["3:180:0", ""], ("175", "5"), ("", ""))).await.onward();
    studio.post(undo, &[]).await.is(StatusCode::CONFLICT).says("Someone counted these lines again");
    studio.post("/receiving/1/restoration?was=4_1:1:1_", &[]).await.is(StatusCode::NOT_FOUND);
    // Emptied, a line is not counted any more.
    studio.post("/receiving/1", &count(["4:175:5", ""], ("", ""), ("", ""))).await.onward();
    assert!(kept(&studio).await.is_empty());
}

#[tokio::test]
async fn short_stems_are_carried_to_the_pieces_they_touch() {
    let studio = placed().await;
    studio.get("/receiving").await.says_not("Short, and whom it touches");
    studio.post("/receiving/1", &count(FRESH, ("162", "4"), ("20", "0"))).await.onward();
    let page = studio.get("/receiving/1").await;
    page.says("Low arrangement × 14, Long room: 6 of 84 short, about 1 piece");
    page.says("Low arrangement × 15, Barn: 6 of 90 short, about 1 piece");
    page.says("6 missing = need 84 − 78 good")
        .says("20 free, allowed instead")
        .says("20 over in whole packs");
    page.says("Rose, ivory from Brook Growers on").says("href=\"/stem-order?event=1&#38;event=2\"");
    studio.get("/receiving").await.says("Short, and whom it touches").says("6 stems of Rose, ivory short");
    studio
        .get("/events/1")
        .await
        .says("6 stems of Rose, ivory: Low arrangement × 14, Long room: 6 of 84 short");
    // Three more die at the bench of the wedding's roses.
    let lost = [("once_key", "k"), ("material", "Rose, ivory"), ("lost", "3"), ("event", "2")];
    studio.post("/bench-losses", &lost).await.onward();
    studio.get("/receiving").await.says("Low arrangement × 15, Barn: 9 of 90 short, about 2 pieces");
    // Corrected: nothing is short.
    studio.post("/receiving/1", &count(["1:162:4", "1:20:0"], ("180", "0"), ("20", "0"))).await.onward();
    studio.get("/receiving").await.says("3 of 90 short").says_not("Long room");
}

/// What was taken into stock or written off serves nobody as delivered any more; what is reserved of stock does.
#[tokio::test]
async fn stock_and_deliveries_count_each_stem_once() {
    let studio = placed().await;
    studio.post("/receiving/1", &count(FRESH, ("180", "0"), ("", ""))).await.onward();
    studio.get("/receiving").await.says_not("Short, and whom it touches");
    let taken_in = [
        "INSERT INTO stock_lot (id, material_id, arrived_on, on_hand, counted_on) VALUES (1, 1, '2026-05-04', 10, '2026-05-04')",
        "INSERT INTO left_over (line_id, taken_in, written_off, lot_id, decided_on, recorded_at)
            VALUES (1, 10, 0, 1, '2026-05-04', '2026-05-04T08:00:00Z')",
    ];
    written(&studio, &taken_in).await;
    studio.get("/receiving").await.says("2 stems of Rose, ivory short").says("10 on hand, as last counted");
    let reserved = "INSERT INTO stock_reservation (lot_id, event_id, count, once_key, recorded_at)
        VALUES (1, 1, 4, 'r', '2026-05-04T08:00:00Z'), (1, 2, 4, 'r', '2026-05-04T08:00:00Z')";
    written(&studio, &[reserved]).await;
    studio.get("/receiving").await.says_not("Short, and whom it touches");
}

#[tokio::test]
async fn the_goods_in_sheet_is_for_paper() {
    let studio = placed().await;
    let page = studio.get("/receiving/1/sheet").await;
    page.is(StatusCode::OK)
        .says("Goods in")
        .says("18 × bunch of 10")
        .says("write-in")
        .says("Into water at once");
    page.says("Toxic").says("Counted in by");
}

#[tokio::test]
async fn a_loss_at_the_bench_is_booked_once() {
    let studio = placed().await;
    studio.post("/receiving/1", &count(FRESH, ("180", "0"), ("", ""))).await.onward();
    let loss = [("once_key", "k1"), ("material", "rose, ivory"), ("lost", "3"), ("note", "Snapped")];
    let answer = studio.post("/bench-losses", &loss).await;
    studio.post("/bench-losses", &loss).await.onward();
    let page = studio.get_with(answer.onward(), &answer.cookie).await;
    // From whom it came is known, since only one sold it.
    page.says("Snapped").says("Alder Wholesale").says("action=\"/bench-losses/1/removal\"");
    assert_eq!(page.text().matches("data-label=\"Lost\">3<").count(), 1);
    studio.get("/losses/1").await.says("1.7 of 100 lost over 180 stems");
    studio.post("/bench-losses/1/removal", &[]).await.onward();
    studio.get("/bench-losses").await.says("No loss was booked");
    studio.post("/bench-losses/1/restoration", &[]).await.onward();
    studio.get("/bench-losses").await.says("Snapped");
    studio.post("/bench-losses/9/removal", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_loss_that_cannot_be_is_refused_and_kept() {
    let studio = placed().await;
    for lost in ["0", "-3", "2.5", "1000000000", ""] {
        let page = studio.post("/bench-losses", &[("material", "Rose, ivory"), ("lost", lost)]).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY).says("1 thing to put right").says("value=\"Rose, ivory\"");
    }
    let page = studio.post("/bench-losses", &[("material", "Rose, ivry"), ("lost", "2")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("Near to it: Rose, ivory");
    let wrong = [
        ("material", "Rose, ivory"),
        ("lost", "2"),
        ("event", "99"),
        ("supplier", "99"),
        ("lost_on", "2026-05-05"),
    ];
    studio
        .post("/bench-losses", &wrong)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("choose a day up to today");
    let unknown = &wrong[..4];
    studio
        .post("/bench-losses", unknown)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("2 things to put right");
    let script = studio.post("/bench-losses", &[("material", "<script>"), ("lost", "2")]).await;
    script.is(StatusCode::UNPROCESSABLE_ENTITY).says_not("<script>\"");
    studio.get("/bench-losses").await.says("No loss was booked");
}

#[tokio::test]
async fn the_goods_in_sheet_is_ticked_like_every_other() {
    let studio = placed().await;
    let page = studio.get("/receiving/1/sheet").await;
    page.says("Who ticks").says("0 of 2 in").says("value=\"- 0 180 line-1\"").says("#line-1\">Count</a>");
    let ticks = [
        ("back", "/receiving/1/sheet"),
        ("hand", "Ada"),
        ("seen", "- 0 180 line-1"),
        ("seen", "- 0 20 line-2"),
        ("tick", "line-1"),
    ];
    let answer = studio.post("/ticks/goods-in-1", &ticks).await;
    assert_eq!(answer.onward(), "/receiving/1/sheet");
    studio.post("/receiving/1", &count(FRESH, ("172", "6"), ("", ""))).await.onward();
    let page = studio.get("/receiving/1/sheet").await;
    page.says("1 of 2 in").says("ticked by Ada, ").says("172 good, 6 lost");
    // The supplier says later that less comes: what was ticked at 180 is open again.
    written(
        &studio,
        &["INSERT INTO placed_line_answer (line_id, kind, packs, price, note, recorded_at)
            VALUES (1, 'confirmed', 17, 1500, '', '2026-05-04T08:00:00Z')"],
    )
    .await;
    studio.get("/receiving/1/sheet").await.says("180 in, now 170 (Ada, ").says("0 of 2 in");
    studio.post("/ticks/goods-in-1", &[("seen", "- 0 180")]).await.is(StatusCode::NOT_FOUND);
}
