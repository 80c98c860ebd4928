//! What prep plans, open quotes and loans are computed from is remembered while nothing of it changes: whatever changes is seen
//! at once, on every page, as in a book opened for the first time.

use crate::bench_supper::{supper, write};
use crate::support::TestStudio;

const PAGES: [&str; 7] = [
    "/",
    "/events/1",
    "/events/1/freshness",
    "/prep/plan?week=2026-05-11",
    "/prep/sheets?from=2026-05-16&to=2026-05-17",
    "/calendar.ics?from=2026-05-11&to=2026-05-17",
    "/stem-order?event=1",
];

/// A lunch of the same client the day before, with six bowls.
const ANOTHER_EVENT: &str =
    "INSERT INTO event (id, client_id, name, day, start_time, end_time, venue, guests, seats, enquired_on)
            VALUES (2, 1, 'Chapel lunch', '2026-05-15', '12:00', '16:00', 'Chapel', 40, 8, '2026-01-06');
        INSERT INTO place (id, event_id, name, position) VALUES (3, 2, 'Nave', 0);
        INSERT INTO piece (id, event_id, place_id, recipe_id, position, count_rule, count)
            VALUES (5, 2, 3, 1, 0, 'number', 6000)";

/// One change each, of every kind of thing that a plan is computed from.
const CHANGES: [(&str, &str); 18] = [
    (
        "a shift",
        "INSERT INTO shift (weekday, begin_time, people, minutes) VALUES (3, '08:00', 1, 240), (4, '08:00', 1, 120)",
    ),
    (
        "a pin",
        "INSERT INTO bench_pin (event_id, task, day, count, pinned_at)
            VALUES (1, 'make-1', '2026-05-15', 3, '2026-05-04T09:00:00Z')",
    ),
    ("care of a material", "UPDATE material SET vase_days = 3, storage_celsius = 4, holding_days = 14 WHERE id = 1"),
    ("a name", "UPDATE material SET name = 'Cosmos, rosy' WHERE id = 1"),
    ("a recipe's minutes", "UPDATE recipe SET minutes = 30000 WHERE id = 1"),
    ("a recipe's line", "UPDATE recipe_line SET quantity = 9000 WHERE recipe_id = 1 AND position = 0"),
    ("a count", "UPDATE piece SET count = 9000 WHERE id = 2"),
    ("an event's hours", "UPDATE event SET start_time = '19:30', guests = 120 WHERE id = 1"),
    ("a pack", "UPDATE offer SET pack_size = 12 WHERE id = 1"),
    (
        "a dearer price, and another supplier",
        "INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
            VALUES (2, 'Bracken Hollow', 4, 1, '15:00', 0, 0);
        INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES (3, 2, 1, 'box', 25);
        INSERT INTO offer_price (offer_id, from_day, price, recorded_at)
            VALUES (3, '2026-01-01', 500, '2026-01-01T00:00:00Z')",
    ),
    (
        "a price that ends before the delivery",
        "UPDATE offer_price SET until_day = '2026-05-06' WHERE offer_id = 3",
    ),
    (
        "a lot on hand",
        "INSERT INTO stock_lot (material_id, arrived_on, on_hand, counted_on)
            VALUES (1, '2026-05-04', 20, '2026-05-04')",
    ),
    (
        "temperatures",
        "INSERT INTO temperature_path (id, cooler, bench, finished, van, venue, q10) VALUES (1, 6, 20, 6, 18, 27, 3000)",
    ),
    (
        "a venue's temperature",
        "INSERT INTO venue_temperature (event_id, celsius) VALUES (1, 33)",
    ),
    ("an event beside it", ANOTHER_EVENT),
    (
        "a placed order",
        "INSERT INTO placed_order (id, number, once_key, supplier_id, supplier, placed_on, recorded_at)
            VALUES (1, 1, 'a', 1, 'Meadow & Mill', '2026-05-04', '2026-05-04T07:00:00Z');
        INSERT INTO placed_order_event (order_id, event_id) VALUES (1, 1);
        INSERT INTO placed_delivery (id, order_id, day, order_by_day, order_by_time, fee)
            VALUES (1, 1, '2026-05-13', '2026-05-12', '11:00', 1500);
        INSERT INTO placed_line (id, delivery_id, position, offer_id, material_id, name, pack_name, pack_size, packs, price)
            VALUES (1, 1, 0, 1, 1, 'Cosmos, rosy', 'bunch', 12, 13, 900);
        INSERT INTO placed_share (line_id, event_id, stems, goods) VALUES (1, 1, 125, 11700)",
    ),
    ("the client's name", "UPDATE client SET name = 'Ada Northwood' WHERE id = 1"),
    ("a lost event", "UPDATE event SET ending = 'lost', ended_on = '2026-05-04' WHERE id = 2"),
];

/// What open quotes and loans stand on.
const OTHER_PAGES: [&str; 6] =
    ["/", "/open-quotes", "/loans", "/loans?from=2026-05-14&to=2026-05-20", "/events/1/loans", "/events/1"];

/// One change each, of every kind of thing that an open quote or a loan is computed from.
const OTHER_CHANGES: [(&str, &str); 17] = [
    ("an open quote", "INSERT INTO quote (id, event_id, priced_on, prices_include_tax) VALUES (1, 1, '2026-02-01', 0)"),
    (
        "its lines",
        "INSERT INTO tax_rate (id, name, rate, position) VALUES (1, 'Standard', 200000, 0);
        INSERT INTO quote_line (quote_id, position, piece_id, typed_price, tax_rate_id) VALUES (1, 0, 1, 9000, 1)",
    ),
    (
        "a price of what had none",
        "INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES (3, 1, 6, 'roll', 1), (4, 1, 3, 'each', 1);
        INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES
            (3, '2026-01-01', 300, '2026-01-01T00:00:00Z'), (4, '2026-01-01', 900, '2026-01-01T00:00:00Z')",
    ),
    (
        "a price of today",
        "INSERT INTO offer_price (offer_id, from_day, price, recorded_at)
            VALUES (1, '2026-05-01', 1900, '2026-05-01T00:00:00Z')",
    ),
    ("a typed price", "UPDATE quote_line SET typed_price = 12000 WHERE quote_id = 1"),
    ("a count", "UPDATE piece SET count = 2000 WHERE id = 1"),
    ("a recipe's line", "UPDATE recipe_line SET quantity = 9000 WHERE recipe_id = 1 AND position = 0"),
    ("a recipe's name", "UPDATE recipe SET name = 'Wide bowl' WHERE id = 1"),
    (
        "a version sent",
        "INSERT INTO quote_version (id, quote_id, number, once_key, sent_on, total, document)
            VALUES (1, 1, 1, 'k', '2026-05-01', 90000, '{}')",
    ),
    (
        "the version declined",
        "INSERT INTO quote_decline (version_id, declined_on, declined_by, recorded_at)
            VALUES (1, '2026-05-03', 'Ada', '2026-05-03T08:00:00Z')",
    ),
    ("another event that borrows", ANOTHER_EVENT),
    ("how many are owned", "UPDATE material SET owned = 7 WHERE id = 3"),
    (
        "how long it keeps what it is lent",
        "INSERT INTO loan_period (event_id, leaves_before, returns_after) VALUES (2, 1, 4)",
    ),
    (
        "what came back",
        "INSERT INTO loan_count (event_id, counted_on, charged) VALUES (2, '2026-05-15', 0);
        INSERT INTO loan_return (event_id, material_id, taken, back, broken, missing) VALUES (2, 3, 6, 2, 0, 0)",
    ),
    ("the client's name", "UPDATE client SET name = 'Ada Northwood' WHERE id = 1"),
    ("the event's day", "UPDATE event SET day = '2026-05-17' WHERE id = 1"),
    ("a lost event", "UPDATE event SET ending = 'lost', ended_on = '2026-05-04' WHERE id = 2"),
];

async fn texts(studio: &TestStudio, paths: &[&str]) -> Vec<String> {
    let mut texts = Vec::new();
    for path in paths {
        texts.push(studio.get(path).await.text());
    }
    texts
}

/// After each change some page is another, and all are as in a book opened for the first time.
async fn each_is_seen(paths: &[&str], changes: &[(&str, &'static str)]) {
    let studio = TestStudio::new().await;
    supper(&studio).await;
    let mut before = texts(&studio, paths).await;
    for (what, change) in changes {
        write(&studio, change).await;
        let now = texts(&studio, paths).await;
        assert!(now != before, "{what} changes something");
        let anew = texts(&studio.copied().await, paths).await;
        for ((path, remembered), anew) in paths.iter().zip(&now).zip(&anew) {
            let other = remembered.lines().zip(anew.lines()).find(|(one, other)| one != other);
            assert!(remembered == anew, "{what}: {path}: {other:?}");
        }
        before = now;
    }
}

#[tokio::test]
async fn whatever_a_plan_is_computed_from_is_seen_at_once_when_it_changes() {
    each_is_seen(&PAGES, &CHANGES).await;
}

#[tokio::test]
async fn whatever_an_open_quote_or_a_loan_is_computed_from_is_seen_at_once_when_it_changes() {
    each_is_seen(&OTHER_PAGES, &OTHER_CHANGES).await;
}
