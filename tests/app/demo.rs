use axum::http::StatusCode;
use trug::clock::Clock;
use trug::studio::visit::Section;

use crate::support::{TestStudio, own_folder};

#[tokio::test]
async fn every_page_of_the_menu_answers_in_the_demo() {
    let studio = TestStudio::demo().await;
    for section in Section::ALL {
        studio.get(section.path()).await.is(StatusCode::OK).says("Hob &#38; Teasel");
    }
}

#[tokio::test]
async fn every_record_of_the_demo_has_its_page() {
    let studio = TestStudio::demo().await;
    for (table, path) in [
        ("client", "/clients"),
        ("material", "/materials"),
        ("event", "/events"),
        ("recipe", "/recipes"),
        ("supplier", "/suppliers"),
        ("offer", "/offers"),
        ("quote_version", "/quote-versions"),
    ] {
        let sql = sqlx::AssertSqlSafe(format!("SELECT id FROM {table}"));
        let ids: Vec<i64> =
            sqlx::query_scalar(sql).fetch_all(&mut *studio.book.read().await.unwrap()).await.unwrap();
        assert!(ids.len() >= 5, "{table}");
        for id in ids {
            studio.get(&format!("{path}/{id}")).await.is(StatusCode::OK);
        }
    }
}

#[tokio::test]
async fn the_demo_has_a_busy_weekend_ahead() {
    let studio = TestStudio::demo().await;
    let mut connection = studio.book.read().await.unwrap();
    // The day of every test is Monday 4 May 2026.
    let weekend: Vec<String> = sqlx::query_scalar(
        "SELECT day FROM event WHERE day IN ('2026-05-09', '2026-05-10') AND ending IS NULL ORDER BY day",
    )
    .fetch_all(&mut *connection)
    .await
    .unwrap();
    assert_eq!(weekend, ["2026-05-09", "2026-05-09", "2026-05-10"]);
}

/// On whichever weekday it is made, nothing in it has happened in the future.
#[tokio::test]
async fn what_has_happened_lies_in_the_past() {
    for day in 4..=10 {
        let today = format!("2026-05-{day:02}");
        let clock = Clock::Fixed(format!("{today}T00:10:00Z").parse().unwrap());
        let folder = own_folder();
        std::fs::create_dir_all(&folder).unwrap();
        let book = trug::demo::make(&folder.join("studio.trug"), clock).await.unwrap();
        let later: Vec<String> = sqlx::query_scalar(
            "SELECT what || ' ' || day FROM (SELECT 'price' AS what, from_day AS day FROM offer_price
            UNION ALL SELECT 'count', counted_on FROM stock_lot UNION ALL SELECT 'enquiry', enquired_on FROM event
            UNION ALL SELECT 'receipt', received_on FROM receipt_line UNION ALL SELECT 'bench', lost_on FROM bench_loss
            UNION ALL SELECT 'end', ended_on FROM event UNION ALL SELECT 'quote', sent_on FROM quote_version
            UNION ALL SELECT 'prices', priced_on FROM quote UNION ALL SELECT 'yes', accepted_on FROM quote_acceptance
            UNION ALL SELECT 'closed', day FROM event WHERE ending = 'closed') WHERE day >= ?",
        )
        .bind(&today)
        .fetch_all(&mut *book.read().await.unwrap())
        .await
        .unwrap();
        assert_eq!(later, Vec::<String>::new(), "made on {today}");
        book.close().await;
        std::fs::remove_dir_all(&folder).unwrap();
    }
}

/// On the Monday before, the whole weekend can be ordered in time.
#[tokio::test]
async fn everything_for_the_weekend_can_still_be_ordered() {
    let studio = TestStudio::demo().await;
    let page = studio.get("/stem-order?event=3&event=4&event=5").await;
    page.is(StatusCode::OK)
        .says("Wendside Wholesale Flowers")
        .says_not("Not to be had")
        .says_not("orders closed on");
}

/// What the weekend needs can be bought in every month: each line has a material, its own or a substitute, that
/// somebody offers then, or one that the studio owns.
#[tokio::test]
async fn every_recipe_of_the_weekend_can_be_bought_all_year() {
    let studio = TestStudio::demo().await;
    let missing: Vec<String> = sqlx::query_scalar(
        "WITH RECURSIVE month(n) AS (VALUES (0) UNION ALL SELECT n + 1 FROM month WHERE n < 11),
        used(id) AS (
            SELECT recipe_id FROM piece JOIN event ON event.id = event_id WHERE day IN ('2026-05-09', '2026-05-10')
            UNION SELECT part_id FROM recipe_line JOIN used ON recipe_id = used.id WHERE part_id IS NOT NULL)
        SELECT month.n || ': ' || material.name FROM month, recipe_line
        JOIN material ON material.id = recipe_line.material_id
        WHERE recipe_id IN (SELECT id FROM used) AND material.owned = 0 AND NOT EXISTS (
            SELECT 1 FROM offer WHERE (season >> month.n) & 1 AND (offer.material_id = recipe_line.material_id
            OR offer.material_id IN (SELECT material_id FROM recipe_substitute WHERE line_id = recipe_line.id)))",
    )
    .fetch_all(&mut *studio.book.read().await.unwrap())
    .await
    .unwrap();
    assert_eq!(missing, Vec::<String>::new());
}

#[tokio::test]
async fn the_demo_has_quotes_at_every_stage() {
    let studio = TestStudio::demo().await;
    studio.get("/events/3/quote").await.is(StatusCode::OK).says("Bride&#39;s bouquet");
    let accepted: Vec<i64> = sqlx::query_scalar(
        "SELECT event_id FROM quote_acceptance JOIN quote_version ON quote_version.id = version_id
        JOIN quote ON quote.id = quote_id WHERE accepted_on <= '2026-05-04' AND sent_on <= accepted_on ORDER BY 1",
    )
    .fetch_all(&mut *studio.book.read().await.unwrap())
    .await
    .unwrap();
    assert_eq!(accepted, [1, 2, 3, 4, 5, 5, 10], "booked, one of them changed since");
    studio
        .get("/quote-versions/8/change-note")
        .await
        .is(StatusCode::OK)
        .says("Change note 1")
        .says("now 3 ×");
    studio.get("/quote-versions/8/change-note/document.html").await.is(StatusCode::OK).says("data:image/png");
    studio.get("/events/8/quote").await.says("Too much for the aisle").says("No answer yet");
    studio
        .get("/piece-sets")
        .await
        .says("Long tables by candlelight")
        .says("Low footed bowl, meadow, 1 a table, Tables");
    studio.get("/open-quotes").await.says("1 open quote leaves").says("Version 2 sent on");
    studio.get("/events/8").await.is(StatusCode::OK).says("Brindle–Tay");
    studio.get("/events/6/quote").await.is(StatusCode::OK).says("Marchpane");
}

#[tokio::test]
async fn every_event_of_the_demo_has_its_sheets() {
    let studio = TestStudio::demo().await;
    for event in 1..=10 {
        for sheet in ["edit", "pieces", "quote", "pull-list"] {
            studio.get(&format!("/events/{event}/{sheet}")).await.is(StatusCode::OK);
        }
    }
}

/// Earlier orders were counted in, and what was lost of them has taught the demo something.
#[tokio::test]
async fn the_demo_has_learned_from_its_losses() {
    let studio = TestStudio::demo().await;
    let page = studio.get("/losses").await;
    page.is(StatusCode::OK)
        .says("Learned")
        .says("Fixed by the studio")
        .says("Wendside Wholesale Flowers: 44 good, 6 lost");
    studio.get("/receiving").await.is(StatusCode::OK).says("Counted in lately").says("All in");
    studio.get("/bench-losses").await.is(StatusCode::OK).says("Snapped while stripping");
}

#[tokio::test]
async fn the_weekend_has_one_honest_warning_of_freshness() {
    let studio = TestStudio::demo().await;
    let hot = studio.get("/events/3/freshness").await;
    hot.is(StatusCode::OK)
        .says("1 ends early")
        .says("Smilax vine is estimated to be over about Sat")
        .says("out of the heat");
    for other in ["/events/4/freshness", "/events/5/freshness"] {
        studio.get(other).await.is(StatusCode::OK).says("fine</p>").says_not("does not last");
    }
}
