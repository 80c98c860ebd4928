//! `trug check` beyond the file: what does not tie is found and named. Each damage is done by hand, past Trug.

use axum::http::StatusCode;
use sqlx::AssertSqlSafe;
use sqlx::sqlite::SqliteConnection;
use trug::book_check::{Weight, check, findings};

use crate::support::TestStudio;

/// What is done to the demo's book, and what must be said of it.
const DAMAGES: &[(&str, &str)] = &[
    ("UPDATE invoice SET number = number + 100 WHERE number = (SELECT max(number) FROM invoice)", "Invoice numbers have a gap after: no. "),
    ("UPDATE invoice SET total = total + 1 WHERE id = (SELECT min(id) FROM invoice)", "An invoice does not add up: no. "),
    ("UPDATE invoice SET document = '{}' WHERE id = (SELECT min(id) FROM invoice)", "An invoice cannot be read any more: no. "),
    (
        "UPDATE invoice SET document = json_set(document, '$.figures.lines[0].amount', 1) WHERE id = (SELECT min(id) FROM invoice)",
        "An invoice does not add up: no. ",
    ),
    (
        "INSERT INTO invoice (number, kind, client_id, event_id, credits_id, issued_on, due_on, total, document, once_key, recorded_at)
            SELECT (SELECT max(number) + 1 FROM invoice), 'credit', client_id, event_id, id, issued_on, due_on, total * 2, document, 'x', recorded_at
            FROM invoice WHERE credits_id IS NULL LIMIT 1",
        "More is credited than was invoiced: no. ",
    ),
    (
        "INSERT INTO payment (kind, client_id, reverses_id, paid_on, amount, once_key, recorded_at)
            SELECT kind, client_id, id, paid_on, amount + 1, 'x', recorded_at FROM payment LIMIT 1",
        "A reversal is not what it reverses: payment ",
    ),
    (
        "UPDATE payment SET invoice_id = (SELECT id FROM invoice WHERE invoice.client_id <> payment.client_id LIMIT 1)
            WHERE id = (SELECT min(id) FROM payment)",
        "A payment is for another client's invoice: payment ",
    ),
    ("UPDATE quote_version SET number = 7 WHERE id = 1", "Versions of a quote have a gap: quote of "),
    ("UPDATE quote_version SET total = total + 1 WHERE id = 1", "A quote that was sent does not add up: version 1 of "),
    ("UPDATE quote_version SET document = '{\"document\":3}' WHERE id = 1", "A quote that was sent cannot be read any more: version 1 of "),
    (
        "UPDATE quote_version SET document = json_set(document, '$.document.lines', 5) WHERE id = 1",
        "A quote that was sent does not add up: version 1 of ",
    ),
    (
        "UPDATE quote_version SET document = json_set(document, '$.document.places[0].lines[0].picture', 9999) WHERE id = 1",
        "A paper that was sent shows a picture that is not there: picture 9999",
    ),
    (
        "UPDATE piece SET place_id = (SELECT id FROM place WHERE event_id <> piece.event_id LIMIT 1) WHERE id = 1",
        "A piece stands at another event's place: piece 1 of ",
    ),
    (
        "UPDATE quote_line SET piece_id = (SELECT piece.id FROM piece JOIN quote ON quote.id = quote_line.quote_id
            WHERE piece.event_id <> quote.event_id AND piece.id NOT IN (SELECT piece_id FROM quote_line WHERE piece_id IS NOT NULL) LIMIT 1)
            WHERE id = (SELECT min(id) FROM quote_line WHERE piece_id IS NOT NULL)",
        "A line of a quote prices another event's piece: line ",
    ),
    (
        "INSERT INTO recipe_line (recipe_id, position, part_id, measure, quantity) VALUES (1, 90, 2, 'count', 1000), (2, 90, 1, 'count', 1000)",
        "A recipe is part of itself: ",
    ),
    ("UPDATE placed_share SET stems = 1000000 WHERE id = (SELECT min(id) FROM placed_share)", "More of an ordered line is shared out than was ordered: order no. "),
    ("DELETE FROM placed_order_event", "An ordered line is shared with an event that the order is not for: order no. "),
    ("DELETE FROM placed_line", "An order without a line: order no. "),
    ("UPDATE stock_lot SET on_hand = on_hand + 3 WHERE removed_at IS NULL", "A lot in stock is not what was counted less what was written off since: "),
    ("UPDATE tick SET sheet = 'nowhere'", "A tick stands on a sheet that is none: nowhere"),
    ("UPDATE tick SET sheet = 'pull-9999'", "A tick stands on the sheet of an event or a delivery that never was: pull-9999"),
    ("UPDATE picture SET full = x'00'", "A picture cannot be read, or is not as large as it says: picture "),
    ("UPDATE picture SET width = 1", "A picture cannot be read, or is not as large as it says: picture "),
    ("UPDATE recipe SET picture_id = NULL", "A picture that no recipe shows now; it is kept for an undo: picture "),
    ("INSERT INTO place (event_id, name, position) VALUES (1, 'Empty corner', 99)", "A place at which nothing stands: Empty corner, "),
    ("UPDATE person SET removed_at = '2026-05-04T09:00:00Z'", "A session is open of somebody who was removed: Wilma"),
    ("INSERT INTO act (id, done_at) VALUES (900, '2026-05-04T09:00:00Z')", "An act of the history changed nothing: 900"),
    ("UPDATE client SET name = 'Past Trug' WHERE id = 1", "A row is otherwise than its history ends: it was changed past Trug: client, row 1"),
    ("DELETE FROM client WHERE id = 1", "A row is otherwise than its history ends: it was changed past Trug: client, row 1"),
];

/// A picture of two pixels by one.
const PICTURE: &str = "89504e470d0a1a0a0000000d49484452000000020000000108020000007b40e8dd0000000d49444154789c63f8cfc000440008fe01ffc69e79f70000000049454e44ae426082";

async fn said(connection: &mut SqliteConnection) -> Vec<String> {
    findings(connection).await.unwrap().iter().map(ToString::to_string).collect()
}

#[tokio::test]
async fn every_damage_is_found_and_named() {
    let studio = TestStudio::demo().await;
    studio
        .post("/clients/1", &[("version", "1"), ("name", "Otherwise called")])
        .await
        .is(StatusCode::SEE_OTHER);
    let mut connection = studio.by_hand().await;
    let picture = format!(
        "INSERT INTO picture (id, width, height, full, small) VALUES (1, 2, 1, x'{PICTURE}', x'{PICTURE}');
        UPDATE recipe SET picture_id = 1 WHERE id = 1"
    );
    sqlx::raw_sql(AssertSqlSafe(picture)).execute(&mut connection).await.unwrap();
    let guest = "INSERT INTO person (id, name, name_key, role) VALUES (1, 'Wilma', 'wilma', 'bench');
        INSERT INTO session (token_hash, person_id, device, begun_at, seen_at, ends_at)
            VALUES ('x', 1, '', '2026-05-04T09:00:00Z', '2026-05-04T09:00:00Z', '2026-05-04T09:00:00Z')";
    sqlx::raw_sql(guest).execute(&mut connection).await.unwrap();
    let sound = said(&mut connection).await;
    for (damage, expected) in DAMAGES {
        sqlx::query("BEGIN").execute(&mut connection).await.unwrap();
        let done = sqlx::query(*damage).execute(&mut connection).await.unwrap();
        assert!(done.rows_affected() > 0, "nothing was damaged by {damage}");
        let found = said(&mut connection).await;
        assert!(
            found.iter().any(|sentence| sentence.starts_with(expected) && !sound.contains(sentence)),
            "{damage}\nwants “{expected}”, got {found:#?}"
        );
        sqlx::query("ROLLBACK").execute(&mut connection).await.unwrap();
    }
}

#[tokio::test]
async fn a_sound_book_has_nothing_wrong_whatever_was_done_with_it() {
    let studio = TestStudio::demo().await;
    studio.post("/clients/1", &[("version", "1"), ("name", "Otherwise called")]).await.onward();
    studio.post("/clients/2/removal", &[]).await.onward();
    let undone = sqlx::query_scalar::<_, i64>("SELECT min(id) FROM act")
        .fetch_one(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap();
    studio.post(&format!("/history/acts/{undone}/undoing"), &[]).await.onward();
    let found = check(studio.book.path()).await.unwrap();
    let wrong: Vec<_> = found.iter().filter(|finding| finding.weight == Weight::Wrong).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(check(TestStudio::new().await.book.path()).await.unwrap().is_empty(), "an empty book");
}
