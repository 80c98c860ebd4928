//! Closed and feast days: their pages, and what the stem order makes of them.

use axum::http::StatusCode;

use crate::support::TestStudio;

async fn sql(studio: &TestStudio, statement: &'static str) {
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query(statement).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

fn day(changes: &[(&'static str, &'static str)]) -> Vec<(&'static str, &'static str)> {
    let standard = [
        ("version", "1"),
        ("name", "Ascension Day"),
        ("kind", "closed"),
        ("first_day", "2026-05-14"),
        ("last_day", ""),
        ("supplier", ""),
    ];
    let typed = |name: &str| changes.iter().any(|(other, _)| *other == name);
    standard.into_iter().filter(|(name, _)| !typed(name)).chain(changes.iter().copied()).collect()
}

#[tokio::test]
async fn a_closed_day_is_added_changed_removed_and_brought_back() {
    let studio = TestStudio::new().await;
    studio.get("/closed-days").await.is(StatusCode::OK).says("No day ahead is entered");
    let added = studio.post("/closed-days", &day(&[])).await;
    studio
        .get_with(added.onward(), &added.cookie)
        .await
        .says("Ascension Day is in the calendar.")
        .says("Thu 14 May 2026")
        .says("Every supplier");
    let changed = day(&[("name", "Holidays"), ("last_day", "2026-05-20"), ("kind", "closed_feast")]);
    studio.post("/closed-days/1", &changed).await.onward();
    studio.get("/closed-days").await.says("Thu 14 May 2026 to Wed 20 May 2026").says("Feast day, closed");
    let stale = studio.post("/closed-days/1", &day(&[("name", "Ascension")])).await;
    stale.is(StatusCode::CONFLICT).says("Holidays").says("Ascension").says("name=\"version\" value=\"2\"");
    let removed = studio.post("/closed-days/1/removal", &[]).await;
    studio.get_with(removed.onward(), &removed.cookie).await.says("/closed-days/1/restoration");
    studio.get("/closed-days/1").await.is(StatusCode::NOT_FOUND);
    studio.post("/closed-days/1/restoration", &[]).await.onward();
    studio.get("/closed-days/1").await.is(StatusCode::OK).says("value=\"Holidays\"");
    studio.post("/closed-days/9/removal", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn what_cannot_be_a_day_is_refused_with_everything_typed() {
    let studio = TestStudio::new().await;
    let wrong = day(&[("name", ""), ("first_day", "soon"), ("kind", "late"), ("supplier", "7")]);
    let page = studio.post("/closed-days", &wrong).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("4 things to put right").says("value=\"soon\"");
    let before = day(&[("last_day", "2026-05-13")]);
    studio
        .post("/closed-days", &before)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The last day lies before the first.")
        .says("value=\"2026-05-13\"");
    let long = day(&[("last_day", "2027-05-15"), ("name", "<script>")]);
    studio
        .post("/closed-days", &long)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("366 days")
        .says_not("<script>\"");
    studio.get("/closed-days").await.says("No day ahead is entered");
}

#[tokio::test]
async fn reckoned_days_are_ticked_once() {
    let studio = TestStudio::new().await;
    studio
        .get("/closed-days")
        .await
        .says("Sun 10 May 2026, Mother&#39;s Day")
        .says("Sun 28 Mar 2027, Easter Sunday");
    let ticks = [
        ("tick", "2026-05-14 Ascension Day"),
        ("tick", "2027-03-28 Easter Sunday"),
        ("tick", "2026-01-01 Nothing"),
    ];
    let answer = studio.post("/closed-days/ticked", &ticks).await;
    studio.get_with(answer.onward(), &answer.cookie).await.says("2 days are in the calendar.");
    let again = studio.post("/closed-days/ticked", &ticks).await;
    studio
        .get_with(again.onward(), &again.cookie)
        .await
        .says("Nothing was ticked that is not in the calendar already.")
        .says_not("value=\"2027-03-28 Easter Sunday\"")
        .says("value=\"2026-05-10 Mother&#39;s Day\"");
}

/// One supplier that delivers on Wednesday and Thursday until two days before at eleven; roses for Saturday.
async fn order() -> TestStudio {
    let studio = TestStudio::new().await;
    for statement in [
        "INSERT INTO client (id, name) VALUES (1, 'Ada North')",
        "INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
            VALUES (1, 'Alder Wholesale', 12, 2, '11:00', 2500, 0)",
        "INSERT INTO material (id, name, kind, unit, loss, holding_days, cautions) VALUES (1, 'Rose', 'flower', 'stem', 0, 6, 0)",
        "INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES (1, 1, 1, 'Bunch', 25)",
        "INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES (1, '2026-01-01', 3100, '2026-01-01T00:00:00Z')",
        "INSERT INTO recipe (id, name, category, minutes, holding_hours) VALUES (1, 'Table', 'table', 1000, 24)",
        "INSERT INTO recipe_line (recipe_id, position, material_id, measure, quantity) VALUES (1, 1, 1, 'count', 61000)",
        "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (1, 1, 'Wedding', '2026-05-16', '2026-01-05')",
        "INSERT INTO place (id, event_id, name, position) VALUES (1, 1, 'Hall', 1)",
        "INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count) VALUES (1, 1, 1, 1, 'number', 1000)",
    ] {
        sql(&studio, statement).await;
    }
    studio
}

const ORDER: &str = "/stem-order?event=1";

#[tokio::test]
async fn the_order_goes_round_closed_days() {
    let studio = order().await;
    studio.get(ORDER).await.says("Alder Wholesale, Thu 14 May 2026").says("order by Tue 12 May 2026 11:00");
    studio.post("/closed-days", &day(&[])).await.onward();
    studio
        .get(ORDER)
        .await
        .says("Alder Wholesale, Wed 13 May 2026")
        .says("order by Mon 11 May 2026 11:00")
        .says("Alder Wholesale does not deliver on Thu 14 May 2026: closed, Ascension Day.");
    // Their own stocktaking takes Monday: the cut-off moves over the weekend's edge to Sunday.
    let stocktaking = day(&[
        ("name", "Stocktaking"),
        ("first_day", "2026-05-11"),
        ("last_day", "2026-05-11"),
        ("supplier", "1"),
    ]);
    studio.post("/closed-days", &stocktaking).await.onward();
    studio
        .get(ORDER)
        .await
        .says("order by Sun 10 May 2026 11:00")
        .says("earlier than usual, closed Mon 11 May 2026: Stocktaking");
    // The desk's deadline is the same.
    studio.get("/events/1").await.says("Sun 10 May 2026, 11:00");
    studio
        .post(
            "/closed-days",
            &day(&[("name", "Holidays"), ("first_day", "2026-05-09"), ("last_day", "2026-05-16")]),
        )
        .await
        .onward();
    studio
        .get(ORDER)
        .await
        .is(StatusCode::OK)
        .says("Not to be had")
        .says("Alder Wholesale does not deliver on Wed 13 May 2026 (closed: Holidays)");
    // A chosen day on which they are closed brings nothing either.
    studio.get("/stem-order?event=1&day=2026-05-14").await.says("Not to be had").says("(closed: Holidays)");
}

#[tokio::test]
async fn before_a_feast_the_order_warns_of_prices() {
    let studio = order().await;
    studio.get(ORDER).await.says_not("prices and supply are tight");
    let feast = day(&[("name", "Mother's Day"), ("kind", "feast"), ("first_day", "2026-05-17")]);
    studio.post("/closed-days", &feast).await.onward();
    studio
        .get(ORDER)
        .await
        .says("Alder Wholesale, Thu 14 May 2026")
        .says("Mother&#39;s Day is on Sun 17 May 2026: prices and supply are tight in the week before.")
        .says("Confirm the prices with Alder Wholesale.");
}

#[tokio::test]
async fn settings_and_suppliers_lead_to_the_calendar() {
    let studio = order().await;
    for path in ["/settings", "/suppliers", "/suppliers/1"] {
        studio.get(path).await.is(StatusCode::OK).says("href=\"/closed-days");
    }
    studio.get("/closed-days/new?supplier=1").await.says("<option value=\"1\" selected>Alder Wholesale");
    studio.get("/closed-days/new?supplier=%3Cx").await.is(StatusCode::OK);
}
