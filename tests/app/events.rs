use axum::http::StatusCode;

use crate::bench_supper::write;
use crate::support::{Page, TestStudio};

/// A day after the day of every test.
const SATURDAY: &str = "2026-05-16";

/// Writes recipes straight into the book: their own pages are tested in their own room.
async fn recipes(studio: &TestStudio, names: &[&str]) {
    let mut tx = studio.book.write().await.unwrap();
    for name in names {
        sqlx::query(
            "INSERT INTO recipe (name, category, minutes, holding_hours) VALUES (?, 'table', 15000, 24)",
        )
        .bind(name)
        .execute(&mut *tx)
        .await
        .unwrap();
    }
    tx.commit().await.unwrap();
}

async fn event(studio: &TestStudio, fields: &[(&str, &str)]) -> Page {
    let standard =
        [("client", "Ada North"), ("new_client", "yes"), ("name", "Spring supper"), ("day", SATURDAY)];
    let typed = |name: &str| fields.iter().any(|(other, _)| *other == name);
    let all: Vec<_> =
        standard.into_iter().filter(|(name, _)| !typed(name)).chain(fields.iter().copied()).collect();
    studio.post("/events", &all).await
}

/// The fingerprint that the grid carries.
async fn seen(studio: &TestStudio, path: &str) -> String {
    let page = studio.get(&format!("{path}/pieces")).await.text();
    let (_, rest) = page.split_once("name=\"seen\" value=\"").unwrap();
    rest.split('"').next().unwrap().to_owned()
}

/// Posts rows of place, recipe, count, rule.
async fn pieces(studio: &TestStudio, path: &str, rows: &[(&str, &str, &str, &str, &str)]) -> Page {
    let seen = seen(studio, path).await;
    let mut fields = vec![("seen", seen.as_str())];
    for (id, place, recipe, count, rule) in rows {
        fields.extend([("piece_id", *id), ("place", *place), ("recipe", *recipe)]);
        fields.extend([("count", *count), ("rule", *rule), ("note", "")]);
    }
    studio.post(&format!("{path}/pieces"), &fields).await
}

#[tokio::test]
async fn an_event_and_its_new_client_are_written_in_one_go() {
    let studio = TestStudio::new().await;
    let added = event(&studio, &[("guests", "90"), ("seats", "8"), ("client_phone", "01 23")]).await;
    let page = studio.get_with(added.onward(), &added.cookie).await;
    page.says("Spring supper is in the book.").says("Ada North").says("12 tables = 90 guests ÷ 8 seats");
    studio.get("/clients?q=01+23").await.says("Ada North");
    studio.get("/events").await.says("Spring supper").says("Sat 16 May 2026");
}

#[tokio::test]
async fn an_unknown_name_is_asked_about_once() {
    let studio = TestStudio::new().await;
    studio.post("/clients", &[("name", "Ada Norton")]).await.onward();
    let asked = studio.post("/events", &[("client", "Ada North"), ("day", SATURDAY)]).await;
    asked
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("No client is called “Ada North” yet.")
        .says("A new client called “Ada North”")
        .says("Ada Norton")
        .says("name=\"which_for\" value=\"Ada North\"");
    studio.get("/clients").await.says_not("Ada North<");
    let again = [("client", "Ada North"), ("which", "new"), ("which_for", "Ada North"), ("day", SATURDAY)];
    let added = studio.post("/events", &again).await;
    studio.get(added.onward()).await.says("<h1>Ada North</h1>");
}

#[tokio::test]
async fn a_choice_made_for_another_name_does_not_count() {
    let studio = TestStudio::new().await;
    studio.post("/clients", &[("name", "Ada")]).await.onward();
    let changed = [("client", "ada"), ("which", "new"), ("which_for", "Adda"), ("day", SATURDAY)];
    studio.post("/events", &changed).await.onward();
    let list = studio.get("/clients").await.text();
    assert_eq!(list.matches("<th scope=\"row\">").count(), 1, "{list}");
}

#[tokio::test]
async fn two_of_a_name_are_told_apart() {
    let studio = TestStudio::new().await;
    studio.post("/clients", &[("name", "Ada"), ("email", "one@example.org")]).await.onward();
    studio.post("/clients", &[("name", "Ada"), ("email", "two@example.org")]).await.onward();
    let asked = studio.post("/events", &[("client", "Ada"), ("day", SATURDAY)]).await;
    asked.is(StatusCode::UNPROCESSABLE_ENTITY).says("2 clients are called").says("one@example.org");
    let chosen = [("client", "Ada"), ("which", "2"), ("which_for", "Ada"), ("day", SATURDAY)];
    let path = studio.post("/events", &chosen).await.onward().to_owned();
    studio.get(&path).await.says("href=\"/clients/2\"");
}

#[tokio::test]
async fn every_wrong_field_is_named_and_kept() {
    let studio = TestStudio::new().await;
    let letters = "x".repeat(10_000);
    let wrong = [
        ("client", ""),
        ("day", "16 May"),
        ("start_time", "25:00"),
        ("guests", "0"),
        ("seats", "-8"),
        ("tables", "1000000000"),
        ("budget", "1.234"),
        ("venue", "<script>x</script>"),
        ("note", &letters),
    ];
    event(&studio, &wrong)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("8 things to put right")
        .says("Write a whole number from 1 to 10000.")
        .says("This is 10000 letters long")
        .says("value=\"25:00\"")
        .says(&letters)
        .says_not("<script>x");
    // What cannot be read is nothing to reckon with.
    event(&studio, &[("guests", "forty"), ("seats", "x8")]).await.says_not("1 guests ÷");
    studio.get("/events?when=all").await.says("No events yet");
}

#[tokio::test]
async fn a_past_day_must_be_meant() {
    let studio = TestStudio::new().await;
    let refused = event(&studio, &[("day", "2026-05-03")]).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Sun 3 May 2026 is before today.")
        .says("name=\"already\"");
    let added = event(&studio, &[("day", "2026-05-03"), ("already", "yes")]).await;
    studio.get(added.onward()).await.says("Past, not closed");
    studio.get("/events").await.says_not("Spring supper");
    studio.get("/events?when=past").await.says("Spring supper");
}

#[tokio::test]
async fn an_end_before_the_start_is_past_midnight_and_said_so() {
    let studio = TestStudio::new().await;
    let added = event(&studio, &[("start_time", "18:00"), ("end_time", "01:00")]).await;
    studio.get(added.onward()).await.says("End at 01:00 is past midnight, on Sun 17 May 2026.");
    let refused = event(&studio, &[("set_up_time", "19:00"), ("start_time", "18:00")]).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY).says("Set-up at 19:00 is after the start at 18:00.");
}

#[tokio::test]
async fn a_clash_is_named_and_not_refused() {
    let studio = TestStudio::new().await;
    let noon = [("name", "Noon lunch"), ("start_time", "12:00"), ("end_time", "15:00")];
    event(&studio, &noon).await.onward();
    let evening =
        [("client", "Bo"), ("name", "Evening ball"), ("set_up_time", "14:00"), ("start_time", "18:00")];
    let added = event(&studio, &evening).await.onward().to_owned();
    studio.get(&added).await.says("Same hours, 14:00 to 15:00").says("Noon lunch");
    let late = [("client", "Cy"), ("name", "Late show"), ("start_time", "20:00")];
    let late = event(&studio, &late).await.onward().to_owned();
    studio.get(&late).await.says("Same day").says_not("Same hours");
    studio.post(&format!("{added}/ending"), &[("ending", "lost")]).await.onward();
    studio.get(&late).await.says_not("Evening ball");
    let preview = studio.post("/events/preview", &[("day", SATURDAY), ("start_time", "12:30")]).await;
    preview.says("Same hours, 12:30 to 12:31").says("data-swap").says_not("<html");
}

#[tokio::test]
async fn a_stale_save_shows_both() {
    let studio = TestStudio::new().await;
    let path = event(&studio, &[]).await.onward().to_owned();
    let save = |version: &'static str, venue: &'static str| {
        let fields = [
            ("version", version),
            ("client", "Ada North"),
            ("name", "Supper"),
            ("day", SATURDAY),
            ("venue", venue),
        ];
        let (studio, path) = (&studio, &path);
        async move { studio.post(path, &fields).await }
    };
    save("1", "Tithe Barn").await.onward();
    let both = save("1", "Mill House").await;
    both.is(StatusCode::CONFLICT).says("Tithe Barn").says("Mill House").says("name=\"version\" value=\"2\"");
    save("2", "Mill House").await.onward();
    studio.get(&path).await.says("Mill House");
}

#[tokio::test]
async fn pieces_are_counted_by_number_table_and_guest() {
    let studio = TestStudio::new().await;
    recipes(&studio, &["Low centre", "Buttonhole", "Bar jug"]).await;
    let path = event(&studio, &[("guests", "91"), ("seats", "8")]).await.onward().to_owned();
    let rows = [
        ("", "Long room", "low CENTRE", "2", "per_table"),
        ("", "", "Buttonhole", "0.5", "per_guest"),
        ("", "Bar", "Bar jug", "3", "number"),
        ("", "", "", "", "number"),
    ];
    pieces(&studio, &path, &rows).await.onward();
    let page = studio.get(&path).await;
    page.says("<summary>24</summary>")
        .says("2 a table × 12 tables (12 tables = 91 guests ÷ 8 seats, rounded up)")
        .says("<summary>46</summary>")
        .says("0.5 a guest × 91 guests, rounded up")
        .says("<summary>3</summary>");
    let grid = studio.get(&format!("{path}/pieces")).await;
    grid.says("73 pieces in all").says("id=\"pieces-5-place\"").says_not("id=\"pieces-6-place\"");
}

#[tokio::test]
async fn a_count_that_cannot_be_made_is_open_and_said_so() {
    let studio = TestStudio::new().await;
    recipes(&studio, &["Buttonhole"]).await;
    let path = event(&studio, &[]).await.onward().to_owned();
    pieces(&studio, &path, &[("", "Door", "Buttonhole", "1", "per_guest")]).await.onward();
    studio.get(&path).await.says("Open: say how many guests.");
    studio.get(&format!("{path}/pieces")).await.says("1 count still open");
}

#[tokio::test]
async fn every_wrong_row_is_named_and_kept() {
    let studio = TestStudio::new().await;
    recipes(&studio, &["Low centre"]).await;
    let path = event(&studio, &[]).await.onward().to_owned();
    let rows = [
        ("", "", "Low center", "0", "number"),
        ("", "Bar", "Low centre", "-3", "number"),
        ("", "Bar", "", "1.5", "number"),
        ("", "Bar", "<script>", "1000000000", "per_moon"),
    ];
    let page = pieces(&studio, &path, &rows).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("No recipe is called “Low center”. Near to it: “Low centre”.")
        .says("Write where it stands")
        .says("Write which recipe.")
        .says("Pieces in all are a whole number")
        .says("href=\"#pieces-1-count\"")
        .says("id=\"pieces-3-rule\"")
        .says("value=\"-3\"")
        .says_not("<script>\"");
    studio.get(&path).await.says("None yet.");
}

#[tokio::test]
async fn pieces_keep_their_identity_and_places_go_when_empty() {
    let studio = TestStudio::new().await;
    recipes(&studio, &["Low centre", "Bar jug"]).await;
    let path = event(&studio, &[]).await.onward().to_owned();
    let rows = [("", "Bar", "Bar jug", "1", "number"), ("", "Long room", "Low centre", "9", "number")];
    pieces(&studio, &path, &rows).await.onward();
    // The second first, the first left out, a new one, and one that belongs to nobody here.
    let rows = [
        ("2", "Long room", "Low centre", "14", "number"),
        ("", "Hall", "Bar jug", "2", "number"),
        ("99", "Hall", "Low centre", "1", "number"),
    ];
    pieces(&studio, &path, &rows).await.onward();
    let mut connection = studio.book.read().await.unwrap();
    let kept: Vec<(i64, String, i64)> = sqlx::query_as(
        "SELECT piece.id, place.name, count FROM piece JOIN place ON place.id = place_id ORDER BY piece.position",
    )
    .fetch_all(&mut *connection)
    .await
    .unwrap();
    assert_eq!(kept[0], (2, "Long room".into(), 14_000));
    assert_eq!(kept.len(), 3);
    assert!(kept[1].0 > 2 && kept[2].0 > 2 && kept[2].0 != 99);
    let places: Vec<String> = sqlx::query_scalar("SELECT name FROM place ORDER BY position")
        .fetch_all(&mut *connection)
        .await
        .unwrap();
    assert_eq!(places, ["Long room", "Hall"]);
}

#[tokio::test]
async fn stale_pieces_show_both() {
    let studio = TestStudio::new().await;
    recipes(&studio, &["Low centre"]).await;
    let path = event(&studio, &[]).await.onward().to_owned();
    let old = seen(&studio, &path).await;
    pieces(&studio, &path, &[("", "Bar", "Low centre", "3", "number")]).await.onward();
    let fields = [("seen", old.as_str()), ("place", "Hall"), ("recipe", "Low centre"), ("count", "5")];
    let both = studio.post(&format!("{path}/pieces"), &fields).await;
    both.is(StatusCode::CONFLICT).says("Bar: Low centre, 3 in all").says("Hall: Low centre, 5 in all");
    let new = seen(&studio, &path).await;
    both.says(&new);
}

#[tokio::test]
async fn the_grid_counts_as_one_types_and_keeps_nothing() {
    let studio = TestStudio::new().await;
    let path = event(&studio, &[("tables", "12")]).await.onward().to_owned();
    let fields = [
        ("place", ""),
        ("recipe", ""),
        ("count", ""),
        ("rule", "number"),
        ("place", "Hall"),
        ("recipe", "not yet known"),
        ("count", "2"),
        ("rule", "per_table"),
    ];
    let preview = studio.post(&format!("{path}/pieces/preview"), &fields).await;
    preview
        .is(StatusCode::OK)
        .says("id=\"pieces-1-made\"")
        .says("2 a table × 12 tables")
        .says("24 pieces in all");
    studio.get(&path).await.says("None yet.");
}

#[tokio::test]
async fn an_event_ends_and_is_opened_again() {
    let studio = TestStudio::new().await;
    let path = event(&studio, &[]).await.onward().to_owned();
    studio.post(&format!("{path}/ending"), &[("ending", "gone")]).await.is(StatusCode::CONFLICT);
    studio
        .post(&format!("{path}/ending"), &[("ending", "closed")])
        .await
        .is(StatusCode::CONFLICT)
        .says("still to come");
    let ended = studio.post(&format!("{path}/ending"), &[("ending", "cancelled")]).await;
    studio.get_with(ended.onward(), &ended.cookie).await.says("Cancelled").says("/reopening");
    studio.post(&format!("{path}/ending"), &[("ending", "lost")]).await.is(StatusCode::CONFLICT);
    studio.get("/events").await.says_not("Spring supper");
    studio.post(&format!("{path}/reopening"), &[]).await.onward();
    studio.get("/events").await.says("Spring supper");
}

#[tokio::test]
async fn a_removed_event_can_be_brought_back() {
    let studio = TestStudio::new().await;
    let path = event(&studio, &[]).await.onward().to_owned();
    let removed = studio.post(&format!("{path}/removal"), &[]).await;
    studio.get_with(removed.onward(), &removed.cookie).await.says("Spring supper removed.");
    for gone in [path.clone(), format!("{path}/edit"), format!("{path}/pieces"), "/events/x".into()] {
        let status = studio.get(&gone).await.status;
        assert!(status.is_client_error(), "{gone}: {status}");
    }
    studio.post(&format!("{path}/restoration"), &[]).await.onward();
    studio.get(&path).await.is(StatusCode::OK);
    studio.post("/events/99/restoration", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_event_whose_quote_was_accepted_is_called_off_not_removed() {
    let studio = TestStudio::new().await;
    let path = event(&studio, &[]).await.onward().to_owned();
    studio.get(&path).await.says("Remove it from the book");
    write(
        &studio,
        "INSERT INTO quote (id, event_id, priced_on, prices_include_tax) VALUES (1, 1, '2026-05-01', 0);
        INSERT INTO quote_version (id, quote_id, number, once_key, sent_on, total, document)
            VALUES (1, 1, 1, 'k', '2026-05-01', 90000, '{}');
        INSERT INTO quote_acceptance (version_id, accepted_on, accepted_by, recorded_at)
            VALUES (1, '2026-05-04', 'Ada', '2026-05-04T08:00:00Z')",
    )
    .await;
    let refused = studio.post(&format!("{path}/removal"), &[]).await;
    refused.is(StatusCode::CONFLICT).says("was not removed. Its quote was accepted.").says("called it off");
}

#[tokio::test]
async fn a_new_event_takes_another_ones_pieces_along() {
    let studio = TestStudio::new().await;
    recipes(&studio, &["Low centre"]).await;
    let path = event(&studio, &[("tables", "12")]).await.onward().to_owned();
    pieces(&studio, &path, &[("", "Hall", "Low centre", "2", "per_table")]).await.onward();
    studio.get(&format!("{path}/copies")).await.says("Spring supper</a> come along");
    let copies = format!("{path}/copies");
    studio.post(&copies, &[("client", "")]).await.is(StatusCode::UNPROCESSABLE_ENTITY).says("come along");
    let fields = [("client", "Bo"), ("new_client", "yes"), ("day", "2026-06-06"), ("tables", "5")];
    let other = studio.post(&copies, &fields).await.onward().to_owned();
    studio.get(&other).await.says("<summary>10</summary>");
    studio.get(&path).await.says("<summary>24</summary>");
}

#[tokio::test]
async fn clients_are_offered_by_name() {
    let studio = TestStudio::new().await;
    studio.post("/clients", &[("name", "Ada \"A\" North"), ("email", "a@example.org")]).await.onward();
    let offered = studio.get("/clients/names?q=nort").await;
    assert_eq!(offered.media_type, "application/json");
    assert_eq!(offered.text(), r#"[{"name":"Ada \"A\" North","note":"a@example.org"}]"#);
    assert_eq!(studio.get("/clients/names?q=nobody").await.text(), "[]");
}

#[tokio::test]
async fn an_event_outlives_its_clients_removal() {
    let studio = TestStudio::new().await;
    let path = event(&studio, &[]).await.onward().to_owned();
    studio.post("/clients/1/removal", &[]).await.onward();
    let fields = [
        ("version", "1"),
        ("client", "Ada North"),
        ("which", "1"),
        ("which_for", "Ada North"),
        ("day", SATURDAY),
        ("venue", "Mill House"),
    ];
    studio.post(&path, &fields).await.onward();
    studio.get(&path).await.says("Mill House").says("Ada North");
    let other = [("client", "Ada North"), ("which", "1"), ("which_for", "Ada North"), ("day", SATURDAY)];
    studio.post("/events", &other).await.is(StatusCode::UNPROCESSABLE_ENTITY).says("No client is called");
}

#[tokio::test]
async fn a_removed_recipe_stays_where_it_is_used_and_nowhere_else() {
    let studio = TestStudio::new().await;
    recipes(&studio, &["Low centre"]).await;
    let path = event(&studio, &[]).await.onward().to_owned();
    let rows = [("", "Hall", "Low centre", "3", "number")];
    pieces(&studio, &path, &rows).await.onward();
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query("UPDATE recipe SET removed_at = '2026-05-04T09:00:00Z'").execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
    pieces(&studio, &path, &[("1", "Hall", "Low centre", "4", "number")]).await.onward();
    studio.get(&path).await.says("<summary>4</summary>");
    let other = event(&studio, &[("client", "Bo")]).await.onward().to_owned();
    pieces(&studio, &other, &rows).await.is(StatusCode::UNPROCESSABLE_ENTITY).says("No recipe is called");
}

#[tokio::test]
async fn what_is_sent_twice_is_kept_once() {
    let studio = TestStudio::new().await;
    recipes(&studio, &["Low centre"]).await;
    let path = event(&studio, &[]).await.onward().to_owned();
    let old = seen(&studio, &path).await;
    let fields = [
        ("seen", old.as_str()),
        ("place", "Hall"),
        ("recipe", "Low centre"),
        ("count", "5"),
        ("rule", "number"),
    ];
    studio.post(&format!("{path}/pieces"), &fields).await.onward();
    studio.post(&format!("{path}/pieces"), &fields).await.onward();
    let mut connection = studio.book.read().await.unwrap();
    let ids: Vec<i64> = sqlx::query_scalar("SELECT id FROM piece").fetch_all(&mut *connection).await.unwrap();
    assert_eq!(ids, [1]);
}
