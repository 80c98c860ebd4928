//! An invented supper for the bench's and the shelf's tests: written straight into the book.

use crate::support::TestStudio;

/// Materials 1–6, recipes 1–3, event 1 with its places and pieces.
pub(crate) async fn supper(studio: &TestStudio) {
    write(
        studio,
        "INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
            VALUES (1, 'Meadow & Mill', 127, 1, '11:00', 1500, 0);
        INSERT INTO material (id, name, kind, unit, usable_length, inner_height, inner_diameter, loaned, owned, spare_per,
                conditioning_minutes, hydrate_hours, holding_days, cut_keeps_hours, cautions) VALUES
            (1, 'Cosmos, pink', 'flower', 'stem', NULL, NULL, NULL, 0, 0, 0, 6, 12, 5, NULL, 0),
            (2, 'Ivy', 'foliage', 'stem', 685800, NULL, NULL, 0, 0, 0, 4, 4, 7, 24, 64),
            (3, 'Stone bowl', 'vessel', 'each', NULL, 101600, 177800, 1, 12, 0, 0, 0, NULL, NULL, 0),
            (4, 'Pillar candle', 'candle', 'each', NULL, NULL, NULL, 0, 0, 20, 0, 0, NULL, NULL, 0),
            (5, 'Ribbon, linen', 'sundry', 'roll', 10000000, NULL, NULL, 0, 0, 0, 0, 0, NULL, NULL, 0),
            (6, 'Stem tape', 'mechanics', 'roll', NULL, NULL, NULL, 0, 0, 0, 0, 0, NULL, NULL, 0);
        INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES
            (1, 1, 1, 'bunch', 10), (2, 1, 2, 'bunch', 10);
        INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES
            (1, '2026-01-01', 900, '2026-01-01T00:00:00Z'), (2, '2026-01-01', 600, '2026-01-01T00:00:00Z');
        INSERT INTO recipe (id, name, category, minutes, holding_hours, steps) VALUES
            (1, 'Low bowl', 'table', 15000, 24, 'Line the bowl\nGreen the rim\nCosmos last'),
            (2, 'Candle row', 'table', 5000, 48, ''),
            (3, 'Buttonhole', 'personal', 8000, 6, 'Wire\nTape\nRibbon');
        INSERT INTO recipe_line (recipe_id, position, material_id, measure, quantity, piece_length, per_count) VALUES
            (1, 0, 1, 'count', 6500, NULL, NULL), (1, 1, 2, 'cut', 12000, 139700, NULL),
            (1, 2, 3, 'count', 1000, NULL, NULL), (1, 3, 6, 'one_per', 1000, NULL, 20),
            (2, 0, 4, 'count', 3000, NULL, NULL),
            (3, 0, 1, 'count', 1000, NULL, NULL), (3, 1, 5, 'cut', 1000, 300000, NULL);
        INSERT INTO client (id, name) VALUES (1, 'Ada North');
        INSERT INTO event (id, client_id, name, day, set_up_time, start_time, end_time, venue, guests, seats, enquired_on)
            VALUES (1, 1, 'Harvest supper', '2026-05-16', '14:00', '18:00', '23:00', 'Tithe mill', 90, 8, '2026-01-05');
        INSERT INTO place (id, event_id, name, position) VALUES (1, 1, 'Long room', 0), (2, 1, 'Porch', 1);
        INSERT INTO piece (id, event_id, place_id, recipe_id, position, count_rule, count) VALUES
            (1, 1, 1, 1, 0, 'per_table', 1000), (2, 1, 1, 2, 1, 'number', 7000),
            (3, 1, 2, 1, 2, 'number', 2000), (4, 1, 2, 3, 3, 'number', 5000);",
    )
    .await;
}

/// Writes to the book what no page is needed for.
pub(crate) async fn write(studio: &TestStudio, sql: &'static str) {
    let mut tx = studio.book.write().await.unwrap();
    sqlx::raw_sql(sql).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}
