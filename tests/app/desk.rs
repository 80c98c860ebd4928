use axum::http::StatusCode;

use crate::support::TestStudio;

/// A grower who delivers on Monday, Tuesday and Thursday (orders close the day before at eleven), a rose that stands
/// in water overnight and keeps four days, and a centre of six roses: fifteen minutes, holds a day.
const MARKET: &str = "
    INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
        VALUES (1, 'Polder', 11, 1, '11:00', 0, 0);
    INSERT INTO material (id, name, kind, unit, hydrate_hours, holding_days) VALUES (1, 'Rose', 'flower', 'stem', 12, 4);
    INSERT INTO material (id, name, kind, unit) VALUES (2, 'Moss', 'foliage', 'stem');
    INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES (1, 1, 1, 'bunch', 10);
    INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES (1, '2026-01-01', 900, '2026-01-01T00:00:00Z');
    INSERT INTO recipe (id, name, category, minutes, holding_hours, cautions)
        VALUES (1, 'Low centre', 'table', 15000, 24, 1), (2, 'Mossy ring', 'table', 5000, 24, 0);
    INSERT INTO recipe_line (recipe_id, position, material_id, measure, quantity)
        VALUES (1, 0, 1, 'count', 6000), (2, 0, 2, 'count', 1000);
";

async fn write(studio: &TestStudio, statements: &'static str) {
    let mut tx = studio.book.write().await.unwrap();
    sqlx::raw_sql(statements).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

/// An event on Saturday the 16th with twelve tables, and its address.
async fn event(studio: &TestStudio) -> String {
    let fields = [
        ("client", "Ada North"),
        ("new_client", "yes"),
        ("client_phone", "01 23"),
        ("name", "Spring supper"),
        ("day", "2026-05-16"),
        ("start_time", "18:00"),
        ("strike_time", "01:00"),
        ("venue", "<script>Barn"),
        ("tables", "12"),
    ];
    studio.post("/events", &fields).await.onward().to_owned()
}

/// One piece of a recipe, so many a table, in a grid that was empty.
async fn pieces(studio: &TestStudio, path: &str, recipe: &str, rule: &str) {
    let grid = studio.get(&format!("{path}/pieces")).await.text();
    let (_, rest) = grid.split_once("name=\"seen\" value=\"").unwrap();
    let seen = rest.split('"').next().unwrap();
    let fields = [("seen", seen), ("place", "Hall"), ("recipe", recipe), ("count", "1"), ("rule", rule)];
    studio.post(&format!("{path}/pieces"), &fields).await.onward();
}

#[tokio::test]
async fn an_empty_studio_is_told_where_to_begin() {
    let studio = TestStudio::new().await;
    let page = studio.get("/").await;
    page.is(StatusCode::OK)
        .says("Begin here")
        .says("<a class=\"button main\" href=\"/settings\">Say who you are</a>")
        .says("Write the price list");
    write(&studio, MARKET).await;
    let page = studio.get("/").await.text();
    assert_eq!(page.matches("standing done").count(), 2, "{page}");
    let path = event(&studio).await;
    studio.get("/").await.says(&format!("href=\"{path}/quote\""));
}

#[tokio::test]
async fn the_week_shows_events_deadlines_and_bench_days() {
    let studio = TestStudio::new().await;
    write(&studio, MARKET).await;
    let path = event(&studio).await;
    pieces(&studio, &path, "Low centre", "per_table").await;
    let week = studio.get("/?week=2026-05-16").await;
    week.says("Mon 11 May 2026 to Sun 17 May 2026")
        .says("datetime=\"2026-05-13T11:00\">by 11:00</time>")
        .says("Order from Polder for Thu 14: Spring supper")
        .says("Stems due from Polder: Spring supper")
        .says("Make pieces, 3 h: Spring supper")
        .says("href=\"/prep?from=2026-05-16&#38;to=2026-05-16\"")
        .says("datetime=\"2026-05-16T18:00\"")
        .says("datetime=\"2026-05-17T01:00\">01:00</time><a href=\"/events/1\">Strike: Spring supper")
        .says("href=\"/?week=2026-05-18\"")
        .says_not("<script>Barn");
    let page = studio.get("/").await;
    page.says("Mon 4 May 2026 to Sun 10 May 2026").says("4</span>");
    let text = page.text();
    let (this_week, later) = text.split_once("No event is left this week").unwrap();
    assert!(!this_week.contains("by 11:00") && later.contains("by 11:00"), "{text}");
    studio.get("/?week=nonsense").await.is(StatusCode::OK).says("Mon 4 May 2026");
    studio.get("/?week=9999-12-31").await.is(StatusCode::OK).says("Mon 4 May 2026");
}

#[tokio::test]
async fn a_cancelled_event_leaves_the_week() {
    let studio = TestStudio::new().await;
    write(&studio, MARKET).await;
    let path = event(&studio).await;
    pieces(&studio, &path, "Low centre", "per_table").await;
    studio.post(&format!("{path}/ending"), &[("ending", "cancelled")]).await.onward();
    studio.get("/?week=2026-05-16").await.says_not("Spring supper");
    studio.get(&path).await.says_not("next-title").says("Open it again");
}

#[tokio::test]
async fn an_event_says_what_is_next() {
    let studio = TestStudio::new().await;
    write(&studio, MARKET).await;
    let path = event(&studio).await;
    studio.get(&path).await.says("Say which pieces stand where");
    pieces(&studio, &path, "Low centre", "per_guest").await;
    studio
        .get(&path)
        .await
        .says("Settle 1 open count")
        .says("Orders close on Wed 13 May 2026, 11:00 (Polder).")
        .says_not("Send the quote");
    let other = event_named(&studio, "Other supper").await;
    pieces(&studio, &other, "Low centre", "per_table").await;
    studio
        .get(&other)
        .await
        .says("Send the quote")
        .says("Wed 13 May 2026, 11:00")
        .says("Polder, delivery of Thu 14 May 2026")
        .says("Open flame")
        .says("01 23");
}

async fn event_named(studio: &TestStudio, name: &str) -> String {
    let fields = [("client", "Ada North"), ("name", name), ("day", "2026-05-16"), ("tables", "12")];
    studio.post("/events", &fields).await.onward().to_owned()
}

#[tokio::test]
async fn stems_that_no_delivery_brings_are_named() {
    let studio = TestStudio::new().await;
    write(&studio, MARKET).await;
    let path = event(&studio).await;
    pieces(&studio, &path, "Mossy ring", "per_table").await;
    studio.get(&path).await.says("No delivery in time").says("Moss");
}

#[tokio::test]
async fn search_finds_what_the_book_holds() {
    let studio = TestStudio::new().await;
    write(&studio, MARKET).await;
    event(&studio).await;
    studio.get("/search?q=barn+spring").await.says("Spring supper").says_not("<script>Barn");
    studio.get("/search?q=ada").await.says("href=\"/clients/1\"").says("href=\"/events/1\"");
    studio.get("/search?q=rose").await.says("href=\"/materials/1\"").says_not("/recipes/1");
    studio.get("/search?q=LOW").await.says("href=\"/recipes/1\"");
    studio.get("/search?q=%3Cscript%3E1").await.says("Nothing in the book holds").says_not("<script>1");
    studio.get("/search").await.is(StatusCode::OK).says("Type a name");
    let long = "x".repeat(10_000);
    studio.get(&format!("/search?q={long}")).await.is(StatusCode::OK).says("Nothing in the book holds");
}

#[tokio::test]
async fn what_is_named_so_is_found_before_what_is_described_so() {
    let studio = TestStudio::new().await;
    write(
        &studio,
        "INSERT INTO recipe (id, name, category, minutes, holding_hours, client_words)
            VALUES (1, 'Arch', 'ceremony', 0, 24, 'with roses'), (2, 'Ring of roses', 'table', 0, 24, '')",
    )
    .await;
    let page = studio.get("/search?q=roses").await.text();
    let at = |path: &str| page.find(path).unwrap();
    assert!(at("/recipes/2") < at("/recipes/1"), "{page}");
}

#[tokio::test]
async fn search_shows_at_most_twenty_of_a_kind() {
    let studio = TestStudio::new().await;
    write(
        &studio,
        "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 60)
        INSERT INTO recipe (name, category, minutes, holding_hours) SELECT 'Ring ' || i, 'table', 0, 24 FROM n",
    )
    .await;
    let page = studio.get("/search?q=ring").await.text();
    assert_eq!(page.matches("href=\"/recipes/").count(), 20);
    assert!(page.contains("the first 20; more words find fewer"));
}

#[tokio::test]
async fn a_long_list_of_events_is_paged() {
    let studio = TestStudio::new().await;
    write(
        &studio,
        "INSERT INTO client (id, name) VALUES (1, 'Ada');
        WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 60)
        INSERT INTO event (client_id, name, day, enquired_on)
            SELECT 1, 'Supper ' || i, date('2026-05-04', i || ' days'), '2026-05-01' FROM n",
    )
    .await;
    studio.get("/events").await.says("Supper 50<").says_not("Supper 51<").says("page=2");
    studio.get("/events?page=2").await.says("Supper 51<").says_not("Supper 50<");
    studio.get("/events?q=supper+59").await.says("Supper 59<").says_not("Supper 58<");
    studio.get("/events?q=nothing").await.says("No event has");
    studio.get("/events?when=past").await.says("No past events");
    studio.get("/events?when=all&page=99999999999999999999").await.is(StatusCode::OK);
}

#[tokio::test]
async fn a_quote_once_begun_ends_the_first_steps() {
    let studio = TestStudio::new().await;
    event(&studio).await;
    write(&studio, "INSERT INTO quote (event_id, priced_on, prices_include_tax) VALUES (1, '2026-05-04', 0)")
        .await;
    studio.get("/").await.says_not("Begin here").says("What is next").says("Say which pieces stand where");
}

#[tokio::test]
async fn what_was_sent_and_accepted_decides_how_far_an_event_is() {
    let studio = TestStudio::new().await;
    write(&studio, MARKET).await;
    let path = event(&studio).await;
    pieces(&studio, &path, "Low centre", "per_table").await;
    studio.get(&path).await.says("Asked for");
    write(
        &studio,
        r#"INSERT INTO quote (id, event_id, priced_on, prices_include_tax) VALUES (1, 1, '2026-05-01', 0);
        INSERT INTO quote_version (quote_id, number, once_key, sent_on, total, document)
            VALUES (1, 1, 'a', '2026-05-02', 123450, '{"document":{"valid_until":"2026-05-09"}}');"#,
    )
    .await;
    studio
        .get(&path)
        .await
        .says("<p class=\"standing asked\">Quoted 2 May 2026</p>")
        .says("It holds until Sat 9 May 2026.")
        .says("€1,234.50, version 1, Sat 2 May 2026")
        .says("They went elsewhere");
    studio.get("/events").await.says("Quoted 2 May 2026");
    write(
        &studio,
        "INSERT INTO quote_acceptance (version_id, accepted_on, accepted_by, recorded_at)
            VALUES (1, '2026-05-03', 'Ada North', '2026-05-03T10:00:00Z')",
    )
    .await;
    studio
        .get(&path)
        .await
        .says("<p class=\"standing done\">Booked 3 May 2026</p>")
        .says("Order by Wed 13 May 2026, 11:00")
        .says("Sun 3 May 2026, by Ada North")
        .says_not("They went elsewhere");
    studio.get("/").await.says("Order by Wed 13 May 2026, 11:00").says("To the stem order");
}

#[tokio::test]
async fn a_week_without_events_left_leads_on_to_the_next_with_some() {
    let studio = TestStudio::new().await;
    studio.get("/").await.says_not("No event is left this week");
    write(&studio, MARKET).await;
    event(&studio).await;
    studio
        .get("/")
        .await
        .says("No event is left this week: on to the week of Mon 11 May 2026, 1 event")
        .says("href=\"/?week=2026-05-11\"")
        .says("datetime=\"2026-05-16T18:00\"");
    studio.get("/?week=2026-05-11").await.says_not("No event is left");
    write(&studio, "UPDATE event SET day = '2026-05-04'").await;
    studio.get("/").await.says_not("No event is left");
}

#[tokio::test]
async fn an_event_lists_what_is_to_be_settled_in_one_list_and_what_is_left_after_it() {
    let studio = TestStudio::new().await;
    write(&studio, MARKET).await;
    let path = event(&studio).await;
    studio.get(&path).await.says_not("To settle");
    pieces(&studio, &path, "Mossy ring", "per_table").await;
    let page = studio.get(&path).await.text();
    assert_eq!(page.matches("class=\"conflict").count(), 1, "{page}");
    assert!(page.contains("To settle") && page.contains("No delivery in time"), "{page}");
    write(&studio, "UPDATE event SET day = '2026-05-03'").await;
    studio
        .get(&path)
        .await
        .says("crates, cans and tools are not counted back yet")
        .says("href=\"/events/1/strike\"")
        .says_not("what was lent is not counted");
    let page = studio.get("/events/1/strike").await;
    page.says("All done: close it");
    write(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'closed'").await;
    studio.get(&path).await.says_not("not counted back");
}
