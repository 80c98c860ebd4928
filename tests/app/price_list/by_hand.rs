use axum::http::StatusCode;

use crate::support::{Page, TestStudio};

type Fields = Vec<(&'static str, &'static str)>;

fn with(standard: &[(&'static str, &'static str)], changes: &[(&'static str, &'static str)]) -> Fields {
    let typed = |name: &str| changes.iter().any(|(other, _)| *other == name);
    standard.iter().filter(|(name, _)| !typed(name)).chain(changes).copied().collect()
}

fn material(changes: &[(&'static str, &'static str)]) -> Fields {
    let standard = [
        ("name", "Rose, ivory"),
        ("kind", "flower"),
        ("colour", "ivory"),
        ("unit", "stem"),
        ("loaned", "no"),
        ("spare_per", "20"),
        ("care_source", "own"),
    ];
    with(&standard, changes)
}

fn supplier(changes: &[(&'static str, &'static str)]) -> Fields {
    let standard = [
        ("name", "Marsh Lane Growers"),
        ("weekday", "0"),
        ("weekday", "3"),
        ("cutoff_days", "1"),
        ("cutoff_time", "11:00"),
        ("delivery_fee", "25"),
        ("fee_waived_over", "150"),
    ];
    with(&standard, changes)
}

fn offer(changes: &[(&'static str, &'static str)]) -> Fields {
    let standard = [
        ("material", "rose, IVORY"),
        ("supplier", "1"),
        ("pack_name", "Bunch"),
        ("pack_size", "25"),
        ("least_packs", "1"),
        ("month", "4"),
        ("price", "31.00"),
        ("from_day", "2026-05-01"),
    ];
    with(&standard, changes)
}

async fn stocked() -> TestStudio {
    let studio = TestStudio::new().await;
    studio.post("/materials", &material(&[])).await.onward();
    studio.post("/suppliers", &supplier(&[])).await.onward();
    studio.post("/offers", &offer(&[])).await.onward();
    studio
}

fn refused(page: &Page, message: &str) {
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("Not saved").says(message);
}

#[tokio::test]
async fn a_material_is_bought_at_a_price_with_its_working() {
    let studio = TestStudio::new().await;
    studio.get("/materials").await.is(StatusCode::OK).says("No materials yet");
    studio.post("/materials", &material(&[])).await.onward();
    studio.get("/materials").await.says("Rose, ivory").says("Nobody sells it");
    studio.post("/suppliers", &supplier(&[])).await.onward();
    let added = studio.post("/offers", &offer(&[])).await;
    assert_eq!(added.onward(), "/materials/1");
    // 31.00 ÷ 25 ÷ 0.95
    let page = studio.get("/materials/1").await;
    page.says("€1.3053").says("€31.00 a pack ÷ 25 in it ÷ (1 − 5\u{a0}% lost = 95\u{a0}% kept) = €1.3053");
    studio.get("/materials").await.says("Marsh Lane Growers").says("€1.3053").says_not("Nobody sells it");
    studio
        .get("/suppliers/1")
        .await
        .says("Mon, Thu")
        .says("11:00 the day before")
        .says("€25.00, none from €150.00");
}

#[tokio::test]
async fn every_slip_in_a_material_is_named() {
    let studio = TestStudio::new().await;
    let long = "x".repeat(10_000);
    let mut slips = material(&[
        ("name", ""),
        ("kind", "animal"),
        ("usable_length", "-3"),
        ("loss", "95"),
        ("loaned", "yes"),
        ("owned", "1000000000"),
        ("spare_per", "2.5"),
        ("storage_celsius", "99"),
        ("cautions", "Dragons"),
        ("preferred_supplier", "77"),
        ("grade", "<script>x</script>"),
    ]);
    slips.push(("note", Box::leak(long.into_boxed_str())));
    let page = studio.post("/materials", &slips).await;
    refused(&page, "Not saved: 10 things to put right");
    page.says("Write the material&#39;s name.")
        .says("at most 90 %")
        .says("10000 letters")
        .says_not("<script>x");
    studio.get("/materials").await.says("No materials yet");
}

#[tokio::test]
async fn a_second_material_of_a_name_is_refused_and_the_first_named() {
    let studio = stocked().await;
    let page = studio.post("/materials", &material(&[("name", "ROSE, ivory")])).await;
    refused(&page, "“Rose, ivory” is in the price list already");
    let page = studio.post("/materials", &material(&[("name", "Stock"), ("preferred_supplier", "9")])).await;
    refused(&page, "no longer in the list");
    studio.post("/materials", &material(&[("name", "Stock"), ("preferred_supplier", "1")])).await.onward();
}

#[tokio::test]
async fn a_loan_fee_needs_something_that_comes_back() {
    let studio = TestStudio::new().await;
    let bowl =
        [("name", "Glass bowl"), ("kind", "vessel"), ("unit", "each"), ("loan_fee", "4.50"), ("owned", "40")];
    refused(&studio.post("/materials", &material(&bowl)).await, "Only what comes back has a loan fee");
    let mut bowl = material(&bowl);
    bowl.retain(|(name, _)| *name != "loaned");
    bowl.push(("loaned", "yes"));
    let path = studio.post("/materials", &bowl).await.onward().to_owned();
    studio.get(&path).await.says("40 owned, loan fee €4.50");
    studio.get("/materials").await.says("ours to lend, 40 owned");
    let ribbon = material(&[("name", "Ribbon"), ("kind", "sundry"), ("loaned", "yes")]);
    refused(&studio.post("/materials", &ribbon).await, "Only a vessel, a stand, a candle or mechanics");
}

#[tokio::test]
async fn a_supplier_on_no_weekday_is_one_to_fetch_from() {
    let studio = TestStudio::new().await;
    let mut field = supplier(&[("name", "Our own garden")]);
    field.retain(|(name, _)| *name != "weekday");
    let path = studio.post("/suppliers", &field).await.onward().to_owned();
    studio.get(&path).await.says("Delivers on no day").says("fetch what you need yourself");
    let page = studio
        .post(
            "/suppliers",
            &supplier(&[("cutoff_days", "soon"), ("cutoff_time", "26:00"), ("least_order", "-1")]),
        )
        .await;
    refused(&page, "3 things");
    refused(
        &studio.post("/suppliers", &supplier(&[("name", "our OWN garden")])).await,
        "“Our own garden” is in the list",
    );
}

#[tokio::test]
async fn each_slip_in_an_offer_is_named() {
    let studio = stocked().await;
    for (changes, message) in [
        (&[("pack_size", "0")][..], "A pack must hold at least one."),
        (&[("pack_size", "12"), ("price", "3.125")], "EUR has 2 decimals"),
        (&[("least_packs", "5"), ("most_packs", "4")], "At most 4 is under the least of 5"),
        (&[("month", "12")], "Choose at least one month"),
        (&[("until_day", "2026-04-30")], "The last day lies before the first"),
        (&[("from_day", "")], "Write a day"),
        (&[("material", "Rose, ivoy")], "Near it: “Rose, ivory”"),
        (&[("material", "Wire")], "Write it into the price list first"),
        (&[("supplier", "9")], "no longer in the list"),
        (&[("supplier", "")], "Choose a supplier."),
        (&[("price", "1000000000")], "The largest amount"),
        (&[("pack_name", "BUNCH")], "of 25 of this material already"),
    ] {
        refused(&studio.post("/offers", &offer(changes)).await, message);
    }
    studio.post("/offers", &offer(&[("pack_size", "100"), ("price", "0")])).await.onward();
}

#[tokio::test]
async fn prices_are_added_and_their_history_shown() {
    let studio = stocked().await;
    let price = |price, from| [("price", price), ("from_day", from), ("until_day", "")];
    studio.post("/offers/1/prices", &price("33", "2026-05-10")).await.onward();
    studio.get("/offers/1").await.says("€31.00 a pack").says("€33.00").says("From then on");
    studio.post("/offers/1/prices", &price("30", "2026-05-01")).await.onward();
    studio.get("/offers/1").await.says("€30.00 a pack").says("Corrected");
    studio.get("/materials/1").await.says("Price history").says("€31.00").says("€33.00");
    let ended = [("price", "29"), ("from_day", "2026-05-02"), ("until_day", "2026-05-03")];
    studio.post("/offers/1/prices", &ended).await.onward();
    studio.get("/offers/1").await.says("No price today");
    refused(&studio.post("/offers/1/prices", &price("", "2026-05-10")).await, "Write a number here");
    studio.post("/offers/9/prices", &price("1", "2026-05-10")).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_stale_save_shows_both() {
    let studio = stocked().await;
    studio.post("/materials/1", &material(&[("version", "1"), ("colour", "cream")])).await.onward();
    let page = studio.post("/materials/1", &material(&[("version", "1"), ("colour", "white")])).await;
    page.is(StatusCode::CONFLICT).says("cream").says("value=\"white\"").says("name=\"version\" value=\"2\"");
    studio.post("/suppliers/1", &supplier(&[("version", "1"), ("phone", "1")])).await.onward();
    studio
        .post("/suppliers/1", &supplier(&[("version", "1"), ("phone", "2")]))
        .await
        .is(StatusCode::CONFLICT);
    studio.post("/offers/1", &offer(&[("version", "1"), ("most_packs", "7")])).await.onward();
    let page = studio.post("/offers/1", &offer(&[("version", "1"), ("most_packs", "8")])).await;
    page.is(StatusCode::CONFLICT).says("Most packs");
    studio.get("/materials/1").await.says("1 to 7").says("cream");
}

#[tokio::test]
async fn what_is_removed_can_be_brought_back() {
    let studio = stocked().await;
    for (path, there) in
        [("/offers/1", "/materials/1"), ("/suppliers/1", "/suppliers"), ("/materials/1", "/materials")]
    {
        let removed = studio.post(&format!("{path}/removal"), &[]).await;
        assert_eq!(removed.onward(), there);
        let list = studio.get_with(there, &removed.cookie).await;
        list.says("removed").says(&format!("{path}/restoration"));
        studio.get("/materials").await.says_not("€1.3053");
        studio.post(&format!("{path}/removal"), &[]).await.is(StatusCode::NOT_FOUND);
        studio.post(&format!("{path}/restoration"), &[]).await.onward();
        studio.get("/materials").await.says("€1.3053");
    }
    studio.post("/materials/9/restoration", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_removed_material_keeps_its_page_and_its_name_may_be_taken() {
    let studio = stocked().await;
    studio.post("/materials/1/removal", &[]).await.onward();
    studio
        .get("/materials/1")
        .await
        .is(StatusCode::OK)
        .says("Not in the list")
        .says("Recipes that use it keep it");
    studio.get("/materials/1/edit").await.is(StatusCode::NOT_FOUND);
    studio.post("/materials", &material(&[])).await.onward();
    let page = studio.post("/materials/1/restoration", &[]).await;
    page.is(StatusCode::CONFLICT).says("meanwhile another material with the same name");
}

#[tokio::test]
async fn the_list_is_searched_by_all_that_tells_a_material() {
    let studio = stocked().await;
    studio
        .post("/materials", &material(&[("name", "Ivy"), ("kind", "foliage"), ("colour", "green")]))
        .await
        .onward();
    for (query, rose, ivy) in [
        ("q=ivory+ROSE", true, false),
        ("q=foliage", false, true),
        ("q=marsh", true, false),
        ("q=iv", true, true),
        ("kind=flower", true, false),
        ("supplier=1", true, false),
        ("supplier=none", false, true),
        ("q=rose&kind=foliage", false, false),
    ] {
        let page = studio.get(&format!("/materials?{query}")).await;
        page.is(StatusCode::OK);
        assert_eq!(page.text().contains(">Rose, ivory</a>"), rose, "{query}");
        assert_eq!(page.text().contains(">Ivy</a>"), ivy, "{query}");
    }
    studio.get("/materials?q=nothing").await.says("No material fits “nothing”");
    studio.get("/materials?page=7").await.says("The list has no page 7");
    studio.get("/materials?page=-1&supplier=x&kind=y").await.is(StatusCode::OK);
}

#[tokio::test]
async fn names_for_type_ahead_begin_with_what_was_typed() {
    let studio = TestStudio::new().await;
    for number in 0..25 {
        let name: &str = Box::leak(format!("Garden rose {number}").into_boxed_str());
        studio.post("/materials", &material(&[("name", name)])).await.onward();
    }
    studio
        .post("/materials", &material(&[("name", "Rosemary"), ("kind", "foliage"), ("colour", "")]))
        .await
        .onward();
    let answer = studio.get("/materials/names?q=ROSE").await;
    assert_eq!(answer.media_type, "application/json");
    let names: Vec<serde_json::Value> = serde_json::from_slice(&answer.body).unwrap();
    assert_eq!(names.len(), 20);
    assert_eq!(names[0]["name"], "Rosemary");
    assert_eq!(names[0]["note"], "foliage, by the stem");
    let none = studio.get("/materials/names?q=%3Cscript%3E").await;
    assert_eq!(none.text(), "[]");
}

#[tokio::test]
async fn what_is_not_there_is_not_found() {
    let studio = TestStudio::new().await;
    for path in ["/materials/7", "/materials/7/edit", "/suppliers/7", "/suppliers/7/edit", "/offers/7"] {
        studio.get(path).await.is(StatusCode::NOT_FOUND);
    }
    studio.get("/offers/new?material=7&supplier=7").await.is(StatusCode::OK);
    studio.get("/materials/new").await.is(StatusCode::OK);
    studio.get("/suppliers/new").await.is(StatusCode::OK);
}

#[tokio::test]
async fn care_is_filled_in_from_the_table_and_marked_where_recalled() {
    let studio = TestStudio::new().await;
    studio.get("/materials/new").await.says("rose: 0-4 °C, 4-14 d").says("From memory, please check");
    let rose = material(&[("care_row", "published: rose"), ("colour", "kept as typed")]);
    let page = studio.post("/materials/care", &rose).await;
    page.is(StatusCode::OK).says("not saved yet").says("kept as typed").says("value=\"published\" selected");
    assert!(
        page.text().contains("name=\"holding_days\"")
            && page.text().contains("value=\"4\" id=\"holding_days\"")
    );
    studio.get("/materials").await.says("No materials yet");
    let recalled = studio.post("/materials/care", &material(&[("care_row", "memory: Dahlia")])).await;
    recalled.says("recalled, not read in a source").says("value=\"memory\" selected");
    let dahlia = material(&[("name", "Dahlia"), ("care_source", "memory"), ("holding_days", "3")]);
    let path = studio.post("/materials", &dahlia).await.onward().to_owned();
    studio.get(&path).await.says("From memory, please check").says("3 d");
    refused(
        &studio.post("/materials/care", &material(&[("care_row", "x")])).await,
        "Choose a flower or green",
    );
}
