//! A quote from its grid to its acceptance.

use axum::http::StatusCode;

use crate::support::{Page, TestStudio};

pub(crate) const QUOTE: &str = "/events/1/quote";

pub(crate) async fn write(studio: &TestStudio, sql: &'static str) {
    let mut tx = studio.book.write().await.unwrap();
    sqlx::raw_sql(sql).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

/// One rose at 1.20 (ten for 12.00), nothing lost; a bowl at 4.00. A low bowl is ten roses, a bowl and 20 minutes:
/// 12.00 × 3.5 + 4.00 × 2.5 + 10.00 = 62.00, for a cost of 26.00. The event has 14 of it in the long room.
pub(crate) async fn wedding() -> TestStudio {
    let studio = TestStudio::new().await;
    write(
        &studio,
        "INSERT INTO tax_rate (name, rate, position) VALUES ('Standard', 200000, 0), ('Reduced', 50000, 1);
        INSERT INTO supplier (name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
            VALUES ('Harbour Flowers', 127, 1, '11:00', 0, 0);
        INSERT INTO material (name, kind, unit, loss) VALUES ('Rose, white', 'flower', 'stem', 0);
        INSERT INTO material (name, kind, unit) VALUES ('Stone bowl', 'vessel', 'each'), ('Moss', 'sundry', 'each');
        INSERT INTO offer (supplier_id, material_id, pack_name, pack_size) VALUES (1, 1, 'bunch', 10), (1, 2, 'each', 1);
        INSERT INTO offer_price (offer_id, from_day, price, recorded_at)
            VALUES (1, '2026-01-01', 1200, '2026-01-01T00:00:00Z'), (2, '2026-01-01', 400, '2026-01-01T00:00:00Z');
        INSERT INTO recipe (name, category, minutes, holding_hours, client_words)
            VALUES ('Low bowl', 'table', 20000, 24, 'White roses in stone'), ('Moss ring', 'table', 0, 24, '');
        INSERT INTO recipe_line (recipe_id, position, material_id, measure, quantity)
            VALUES (1, 0, 1, 'count', 10000), (1, 1, 2, 'count', 1000), (2, 0, 3, 'count', 1000);
        INSERT INTO client (name, email) VALUES ('Ada North', 'ada@example.org');
        INSERT INTO event (client_id, name, day, enquired_on) VALUES (1, 'North wedding', '2026-06-13', '2026-05-01');
        INSERT INTO place (event_id, name, position) VALUES (1, 'Long room', 0);
        INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count)
            VALUES (1, 1, 1, 0, 'number', 14000);",
    )
    .await;
    studio
}

/// The grid with one row of fourteen low bowls; fields that are given replace it.
pub(crate) async fn saved(studio: &TestStudio, changes: &[(&str, &str)]) -> Page {
    let page = studio.get(QUOTE).await;
    let (version, seen) = (page.hidden("version"), page.hidden("seen"));
    let standard = [
        ("version", version.as_str()),
        ("seen", seen.as_str()),
        ("piece_id", "1"),
        ("place", "Long room"),
        ("recipe", "Low bowl"),
        ("count", "14"),
        ("rule", "number"),
        ("price", ""),
        ("discount", ""),
        ("inclusive", "no"),
        ("valid_until", "2026-05-18"),
    ];
    let typed = |name: &str| changes.iter().any(|(other, _)| *other == name);
    let fields: Vec<(&str, &str)> =
        standard.into_iter().filter(|(name, _)| !typed(name)).chain(changes.iter().copied()).collect();
    studio.post(QUOTE, &fields).await
}

pub(crate) async fn sent(studio: &TestStudio) -> String {
    let page = studio.get(&format!("{QUOTE}/document")).await;
    let key = page.hidden("once_key");
    studio.post(&format!("{QUOTE}/versions"), &[("once_key", &key)]).await.onward().to_owned()
}

#[tokio::test]
async fn pieces_have_computed_prices_and_sums_that_tie() {
    let studio = wedding().await;
    let page = studio.get(QUOTE).await;
    page.is(StatusCode::OK)
        .says("<summary>€62.00</summary>")
        .says("flowers €12.00 × 3.5 + hard goods €4.00 × 2.5 + labour 20 min")
        .says("<summary>€868.00</summary>")
        .says("14 × €62.00 = €868.00")
        // 868.00 at 20 % is 173.60.
        .says("<summary>€173.60</summary>")
        .says("€1,041.60")
        // (868 − 364) ÷ 868.
        .says("margin 58.1\u{a0}%, cost €364.00");
    studio.get("/events/9/quote").await.is(StatusCode::NOT_FOUND).says("no such event");
}

#[tokio::test]
async fn without_a_tax_rate_the_way_to_one_is_shown() {
    let studio = wedding().await;
    write(&studio, "DELETE FROM tax_rate").await;
    studio.get(QUOTE).await.is(StatusCode::OK).says("No tax rate yet").says("/settings#taxes");
    studio.post(QUOTE, &[("version", "0")]).await.is(StatusCode::CONFLICT).says("needs a tax rate");
    studio.get(&format!("{QUOTE}/document")).await.is(StatusCode::CONFLICT);
}

#[tokio::test]
async fn a_typed_price_is_kept_and_emptying_it_returns_to_the_computed_one() {
    let studio = wedding().await;
    saved(&studio, &[("price", "70")]).await.onward();
    let page = studio.get(QUOTE).await;
    page.says("typed over").says("value=\"70.00\"").says("€980.00").says("margin 62.9\u{a0}%");
    saved(&studio, &[("price", "")]).await.onward();
    studio.get(QUOTE).await.says_not("<span class=\"tag\">typed over").says("€868.00");
}

#[tokio::test]
async fn the_grid_changes_the_events_own_pieces() {
    let studio = wedding().await;
    let rows = [
        ("piece_id", "1"),
        ("place", "Long room"),
        ("recipe", "Low bowl"),
        ("count", "12"),
        ("rule", "number"),
        ("price", ""),
        ("discount", "10 %"),
        ("tax", "1"),
        ("piece_id", ""),
        ("place", "Porch"),
        ("recipe", "low bowl"),
        ("count", "2"),
        ("rule", "number"),
        ("price", "55.50"),
        ("discount", ""),
        ("tax", "2"),
        ("own_place", ""),
        ("own_words", "Hire of an arch"),
        ("own_count", ""),
        ("own_price", "90"),
        ("own_discount", ""),
        ("own_tax", "1"),
        ("charge", ""),
        ("charge", "80"),
        ("charge", "10 %"),
        ("charge", ""),
        ("charge_tax", "1"),
        ("charge_tax", "2"),
        ("charge_tax", "1"),
        ("charge_tax", "1"),
        ("part_label", "On accepting"),
        ("part_share", "30"),
        ("part_due", ""),
        ("part_label", "A week before"),
        ("part_share", "70"),
        ("part_due", "2026-06-06"),
    ];
    saved(&studio, &rows).await.onward();
    studio.get("/events/1/pieces").await.says("value=\"Porch\"").says("value=\"12\"");
    let page = studio.get(QUOTE).await;
    // 744.00 − 74.40 = 669.60; 111.00; 90.00: lines 870.60. Delivery 80.00, set-up 87.06.
    page.says("€669.60")
        .says("less €74.40")
        .says("€870.60")
        .says("€87.06")
        // Standard: 669.60 + 90.00 + 87.06 = 846.66, tax 169.33(2). Reduced: 111.00 + 80.00 = 191.00, tax 9.55.
        .says("€169.33")
        .says("€9.55")
        .says("€1,216.54")
        // 30 % is 364.962: 364.96, and the rest.
        .says("€364.96")
        .says("€851.58");
}

#[tokio::test]
async fn every_wrong_cell_is_named_and_nothing_is_lost() {
    let studio = wedding().await;
    let wrong = [
        ("recipe", "Low bol"),
        ("count", "none"),
        ("price", "-5"),
        ("discount", "150 %"),
        ("own_words", "<script>x</script>"),
        ("own_price", "1000000000"),
        ("part_label", "On accepting"),
        ("part_share", "30"),
        ("part_due", "soon"),
        ("charge", "x"),
    ];
    let page = saved(&studio, &wrong).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("href=\"#pieces-0-recipe\"")
        .says("Near to it: “Low bowl”.")
        .says("href=\"#pieces-0-count\"")
        .says("href=\"#charge-0\"")
        .says("href=\"#own-0-price\"")
        .says("The parts make up 30 %; together they must be 100 %.")
        .says("value=\"Low bol\"")
        .says_not("<script>x");
    studio.get(QUOTE).await.says("€868.00");
}

#[tokio::test]
async fn figures_follow_the_typing_and_nothing_is_kept() {
    let studio = wedding().await;
    let typed = [
        ("piece_id", "1"),
        ("place", "Long room"),
        ("recipe", "Low bowl"),
        ("count", "2"),
        ("rule", "number"),
        ("price", "50"),
        ("whole_discount", "half"),
    ];
    let part = studio.post(&format!("{QUOTE}/preview"), &typed).await;
    part.is(StatusCode::OK)
        .says("id=\"pieces-0-total\" data-cell=\"total\" data-swap")
        .says("2 × €50.00 = €100.00")
        .says("id=\"quote-sums\"")
        .says("€120.00")
        .says_not("<html");
    studio.get(QUOTE).await.says("€868.00");
    studio.post("/events/9/quote/preview", &typed).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_stale_save_shows_both() {
    let studio = wedding().await;
    saved(&studio, &[("price", "70")]).await.onward();
    let page = saved(&studio, &[("version", "0"), ("price", "75")]).await;
    page.is(StatusCode::CONFLICT).says("Someone else saved this").says("70.00").says("75");
    // The pieces were changed on their own page meanwhile.
    let old = studio.get(QUOTE).await.hidden("seen");
    write(&studio, "UPDATE piece SET count = 16000").await;
    let page = saved(&studio, &[("seen", &old)]).await;
    page.is(StatusCode::CONFLICT).says("16").says("14");
}

#[tokio::test]
async fn a_material_without_a_price_is_named_and_a_price_may_be_typed() {
    let studio = wedding().await;
    saved(&studio, &[("recipe", "Moss ring"), ("count", "3")]).await.onward();
    let page = studio.get(QUOTE).await;
    page.says("Moss has no price that day: nobody offers it.").says("1 line without a price").says("€0.00");
    let document = studio.get(&format!("{QUOTE}/document")).await;
    document.says("It cannot be sent yet").says("Moss ring has no price.").says_not("once_key");
    saved(&studio, &[("recipe", "Moss ring"), ("count", "3"), ("price", "20")]).await.onward();
    studio.get(QUOTE).await.says("€72.00");
    studio.get(&format!("{QUOTE}/document")).await.says("once_key");
}

#[tokio::test]
async fn an_open_count_is_said_and_left_out() {
    let studio = wedding().await;
    saved(&studio, &[("count", "1"), ("rule", "per_guest")]).await.onward();
    studio
        .get(QUOTE)
        .await
        .says("Open: say how many guests.")
        .says("Not in the total: 1 line whose count is open.");
    let document = studio.get(&format!("{QUOTE}/document")).await;
    document.says("One count is still open").says("to be agreed").says("not in the total").says("once_key");
}

#[tokio::test]
async fn the_clients_document_tells_prices_and_no_costs() {
    let studio = wedding().await;
    let parts = [("part_label", "On accepting"), ("part_share", "100"), ("part_due", "")];
    let words = [("words", "Dear Ada,\nthank you."), ("terms", "Vessels stay ours.")];
    saved(&studio, &[parts.as_slice(), &words].concat()).await.onward();
    let page = studio.get(&format!("{QUOTE}/document")).await;
    page.says("<article class=\"document\">")
        .says("Long room")
        .says("White roses in stone")
        .says("€868.00")
        .says("Standard, 20\u{a0}% of €868.00")
        .says("€1,041.60")
        .says("Dear Ada,<br>thank you.")
        .says("Vessels stay ours.")
        .says("18 May 2026")
        .says("On accepting");
    for private in ["margin", "Margin", "cost", "€26.00", "€12.00", "mark-up"] {
        page.says_not(private);
    }
}

#[tokio::test]
async fn what_was_sent_stays_as_it_was_sent() {
    let studio = wedding().await;
    saved(&studio, &[]).await.onward();
    let first = sent(&studio).await;
    studio.get(&first).await.is(StatusCode::OK).says("version 1").says("€1,041.60");
    write(
        &studio,
        "INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES (1, '2026-05-04', 2400, '2026-05-04T09:00:00Z');
        UPDATE recipe SET name = 'Lower bowl' WHERE id = 1;
        UPDATE client SET name = 'Somebody else';",
    )
    .await;
    studio.get(&first).await.says("€1,041.60").says("Low bowl").says("Ada North");
    studio.get("/quote-versions/99").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn sending_twice_makes_one_version_and_a_changed_quote_is_not_sent_unseen() {
    let studio = wedding().await;
    saved(&studio, &[]).await.onward();
    let key = studio.get(&format!("{QUOTE}/document")).await.hidden("once_key");
    let send =
        async || studio.post(&format!("{QUOTE}/versions"), &[("once_key", &key), ("sent_to", "Ada")]).await;
    let first = send().await.onward().to_owned();
    assert_eq!(send().await.onward(), first);
    let seen = studio.get(&format!("{QUOTE}/document")).await.hidden("once_key");
    saved(&studio, &[("count", "12")]).await.onward();
    let stale = studio.post(&format!("{QUOTE}/versions"), &[("once_key", &seen)]).await;
    stale.is(StatusCode::CONFLICT).says("has changed since this page was made");
    let page = studio.get(QUOTE).await;
    page.says("Not sent yet: what differs from version 1").says("Low bowl, Long room: 14 became 12");
    sent(&studio).await;
    let page = studio.get(QUOTE).await;
    page.says("Version 2").says("Total: €1,041.60 became €892.80 (−€148.80)").says("Replaced by version 2");
}

#[tokio::test]
async fn a_version_is_accepted_once_and_a_later_acceptance_supersedes() {
    let studio = wedding().await;
    saved(&studio, &[]).await.onward();
    let first = sent(&studio).await;
    let accept = format!("{first}/acceptance");
    studio.get(&accept).await.is(StatusCode::OK).says("Was version 1 accepted?").says("value=\"Ada North\"");
    let early = [("accepted_by", ""), ("accepted_on", "2026-05-01")];
    let page = studio.post(&accept, &early).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("2 things to put right")
        .says("cannot have been accepted before");
    let late = [("accepted_by", "Ada"), ("accepted_on", "2026-05-05")];
    studio.post(&accept, &late).await.is(StatusCode::UNPROCESSABLE_ENTITY).says("still to come");
    let yes = [("accepted_by", "Ada North"), ("accepted_on", "2026-05-04"), ("how", "by email")];
    studio.post(&accept, &yes).await.onward();
    studio.get(QUOTE).await.says("Accepted on 4 May 2026 by Ada North, by email");
    studio.post(&accept, &yes).await.is(StatusCode::CONFLICT).says("it is answered");
    saved(&studio, &[("count", "12")]).await.onward();
    assert_eq!(sent(&studio).await, "/quote-versions/2/change-note");
    let second = "/quote-versions/2/acceptance";
    studio.get(second).await.says("Version 1 is accepted already.");
    studio.post(second, &yes).await.onward();
    studio.get(QUOTE).await.says("superseded by version 2");
    let mut connection = studio.book.read().await.unwrap();
    let id = trug::ground::ids::EventId(1);
    let standing = trug::quotes::store::standing(&mut connection, &[id]).await.unwrap().remove(&id).unwrap();
    assert_eq!((standing.number, standing.accepted.unwrap().number), (2, 2));
    assert_eq!(standing.total, trug::ground::money::Money::from_minor(89_280));
    assert_eq!(standing.valid_until.unwrap().to_string(), "2026-05-18");
}

#[tokio::test]
async fn a_quote_keeps_its_day_until_it_is_priced_anew() {
    let studio = wedding().await;
    saved(&studio, &[("price", "")]).await.onward();
    write(
        &studio,
        "UPDATE quote SET priced_on = '2026-05-01';
        INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES (1, '2026-05-03', 1400, '2026-05-03T09:00:00Z');",
    )
    .await;
    // At 1.40 a rose: 49.00 + 10.00 + 10.00 = 69.00; 14 of it with tax 1,159.20.
    let page = studio.get(QUOTE).await;
    page.says("Priced on 1 May 2026").says("Today’s prices would make it €1,159.20.").says("€1,041.60");
    let priced = studio.post(&format!("{QUOTE}/pricing"), &[]).await;
    let page = studio.get_with(priced.onward(), &priced.cookie).await;
    page.says("Priced on 4 May 2026").says("€1,159.20").says("/events/1/quote/pricing/2026-05-01");
    studio.post("/events/1/quote/pricing/2026-05-01", &[]).await.onward();
    studio.get(QUOTE).await.says("€1,041.60");
    studio.post("/events/1/quote/pricing/2027-01-01", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn prices_may_include_tax() {
    let studio = wedding().await;
    saved(&studio, &[("inclusive", "yes")]).await.onward();
    // 868.00 with 20 % in it: 144.67 of tax.
    studio.get(QUOTE).await.says("€144.67").says("In it: Standard, 20\u{a0}%");
    studio
        .get(&format!("{QUOTE}/document"))
        .await
        .says("In it: Standard, 20\u{a0}% on €723.33")
        .says("€868.00");
}

#[tokio::test]
async fn a_retired_tax_rate_stays_with_the_quote_that_uses_it() {
    let studio = wedding().await;
    saved(&studio, &[("tax", "2")]).await.onward();
    write(&studio, "UPDATE tax_rate SET removed_at = '2026-05-04T09:00:00Z' WHERE id = 2").await;
    // 868.00 at 5 %.
    studio.get(QUOTE).await.says("€43.40").says("Reduced");
    studio.get("/events/1/quote").await.says("value=\"2\" selected");
}

#[tokio::test]
async fn stems_are_said_to_the_client_only_where_the_studio_wishes() {
    let studio = wedding().await;
    let document = format!("{QUOTE}/document");
    let page = studio.get(&document).await;
    page.says("How many stems are in each piece")
        .says_not("value=\"yes\" checked> How many")
        .says_not("In each:");
    let first = sent(&studio).await;
    studio.get(&first).await.is(StatusCode::OK).says_not("In each:");
    saved(&studio, &[("count", "15")]).await.onward();
    let key = studio.get(&document).await.hidden("once_key");
    let send = [("once_key", key.as_str()), ("stems", "yes")];
    let second = studio.post(&format!("{QUOTE}/versions"), &send).await.onward().to_owned();
    studio.get(&second).await.says("In each: 10 Rose, white").says_not("Stone bowl");
    studio.get(&format!("{second}/document.html")).await.says("In each: 10 Rose, white");
    // What was said once and is another now is told.
    write(&studio, "UPDATE recipe_line SET quantity = 11000 WHERE material_id = 1").await;
    studio.get(QUOTE).await.says("other: how many stems are in a piece");
    studio.post("/settings", &crate::settings::filled(&[("stems_on_paper", "yes")])).await.onward();
    studio.get("/settings").await.says("value=\"yes\" checked> said under each piece");
    studio.get(&document).await.says("value=\"yes\" checked> How many").says("In each: 11 Rose, white");
}

#[tokio::test]
async fn a_part_of_the_payment_is_not_due_on_a_day_that_is_past_unless_it_stands_already() {
    let studio = wedding().await;
    let part = |due: &'static str| [("part_label", "Deposit"), ("part_share", "100"), ("part_due", due)];
    saved(&studio, &part("2020-01-01"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("id=\"parts-0-due-error\"")
        .says("That day is past")
        .says("value=\"2020-01-01\"");
    saved(&studio, &part("2026-06-06")).await.onward();
    write(&studio, "UPDATE quote_instalment SET due_on = '2026-01-01'").await;
    saved(&studio, &part("2026-01-01")).await.onward();
    saved(&studio, &part("2026-01-02")).await.is(StatusCode::UNPROCESSABLE_ENTITY);
    let document = studio.get("/events/1/quote/document").await;
    document.says("“Deposit” would be due on 1 Jan 2026, which is past");
}

#[tokio::test]
async fn a_new_quote_begins_with_the_parts_in_which_the_studio_invoices() {
    let studio = wedding().await;
    studio.get("/events/1/quote").await.says_not("value=\"Deposit\"");
    write(
        &studio,
        "INSERT INTO usual_instalment (position, label, share, due, due_days)
            VALUES (0, 'Deposit', 300000, 'acceptance', 0), (1, 'Rest', 700000, 'before', 14)",
    )
    .await;
    let quote = studio.get("/events/1/quote").await;
    quote.says("value=\"Deposit\"").says("value=\"30\"").says("value=\"Rest\"").says("value=\"2026-05-30\"");
    studio.get("/events/1/quote/document").await.says("Deposit").says("30 May 2026");
    saved(&studio, &[]).await.onward();
    studio.get("/events/1/quote").await.says_not("value=\"Deposit\"");
}
