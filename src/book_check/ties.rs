//! What ties row by row: each tie is a question to SQLite that names the rows which do not keep it.

use sqlx::SqliteConnection;

use super::{Finding, Weight};

/// A tie: what to say of the rows that its question names.
struct Tie {
    weight: Weight,
    what: &'static str,
    sql: &'static str,
}

const fn wrong(what: &'static str, sql: &'static str) -> Tie {
    Tie { weight: Weight::Wrong, what, sql }
}

/// Money and papers.
const ACCOUNTS: &[Tie] = &[
    wrong(
        "Invoice numbers have a gap after",
        "SELECT 'no. ' || number FROM invoice WHERE number < (SELECT max(number) FROM invoice)
            AND number + 1 NOT IN (SELECT number FROM invoice)",
    ),
    wrong(
        "More is credited than was invoiced",
        "SELECT 'no. ' || number FROM invoice WHERE credits_id IS NULL
            AND total < (SELECT sum(credit.total) FROM invoice AS credit WHERE credit.credits_id = invoice.id)",
    ),
    wrong(
        "A credit note is another client's than its invoice",
        "SELECT 'no. ' || credit.number FROM invoice AS credit JOIN invoice ON invoice.id = credit.credits_id
            WHERE credit.client_id <> invoice.client_id OR credit.event_id IS NOT invoice.event_id",
    ),
    wrong(
        "A reversal is not what it reverses",
        "SELECT 'payment ' || back.id FROM payment AS back JOIN payment ON payment.id = back.reverses_id
            WHERE back.amount <> payment.amount OR back.client_id <> payment.client_id OR back.kind <> payment.kind",
    ),
    wrong(
        "A payment is for another client's invoice",
        "SELECT 'payment ' || payment.id FROM payment JOIN invoice ON invoice.id = invoice_id
            WHERE payment.client_id <> invoice.client_id",
    ),
    wrong(
        "Versions of a quote have a gap",
        "SELECT 'quote of ' || event.name FROM quote_version JOIN quote ON quote.id = quote_id
            JOIN event ON event.id = event_id GROUP BY quote_id HAVING max(number) <> count(*)",
    ),
    wrong(
        "A line of a quote prices another event's piece",
        "SELECT 'line ' || quote_line.id || ' of ' || event.name FROM quote_line JOIN quote ON quote.id = quote_id
            JOIN event ON event.id = quote.event_id JOIN piece ON piece.id = piece_id
            WHERE piece.event_id <> quote.event_id",
    ),
];

/// Events, recipes, orders, stock, sheets.
const WORK: &[Tie] = &[
    wrong(
        "A piece stands at another event's place",
        "SELECT 'piece ' || piece.id || ' of ' || event.name FROM piece JOIN place ON place.id = place_id
            JOIN event ON event.id = piece.event_id WHERE place.event_id <> piece.event_id",
    ),
    wrong(
        "A recipe is part of itself",
        "WITH RECURSIVE within (recipe_id, part_id) AS (
            SELECT recipe_id, part_id FROM recipe_line WHERE part_id IS NOT NULL
            UNION SELECT within.recipe_id, line.part_id FROM within
                JOIN recipe_line AS line ON line.recipe_id = within.part_id WHERE line.part_id IS NOT NULL)
        SELECT name FROM within JOIN recipe ON recipe.id = recipe_id WHERE within.recipe_id = within.part_id",
    ),
    wrong(
        "An order without a line",
        "SELECT 'order no. ' || number FROM placed_order WHERE NOT EXISTS (SELECT 1 FROM placed_line
            JOIN placed_delivery ON placed_delivery.id = delivery_id WHERE order_id = placed_order.id)",
    ),
    wrong(
        "More of an ordered line is shared out than was ordered",
        "SELECT 'order no. ' || number || ', ' || name FROM placed_line JOIN placed_delivery ON placed_delivery.id = delivery_id
            JOIN placed_order ON placed_order.id = order_id
            WHERE (SELECT sum(goods) FROM placed_share WHERE line_id = placed_line.id) > packs * price
            OR (SELECT sum(stems) FROM placed_share WHERE line_id = placed_line.id) > packs * pack_size",
    ),
    wrong(
        "An ordered line is shared with an event that the order is not for",
        "SELECT 'order no. ' || number || ', ' || name FROM placed_share JOIN placed_line ON placed_line.id = line_id
            JOIN placed_delivery ON placed_delivery.id = delivery_id JOIN placed_order ON placed_order.id = order_id
            WHERE placed_share.event_id NOT IN (SELECT event_id FROM placed_order_event WHERE order_id = placed_order.id)",
    ),
    wrong(
        "A lot in stock is not what was counted less what was written off since",
        "SELECT material.name || ', lot ' || lot.id FROM stock_lot AS lot JOIN material ON material.id = material_id
            JOIN stock_change AS counted ON counted.id = (SELECT max(id) FROM stock_change
                WHERE lot_id = lot.id AND kind <> 'written_off' AND undone_at IS NULL)
            WHERE lot.removed_at IS NULL AND on_hand <> counted.count - (SELECT coalesce(sum(off.count), 0)
                FROM stock_change AS off WHERE off.lot_id = lot.id AND off.kind = 'written_off'
                AND off.undone_at IS NULL AND off.id > counted.id)",
    ),
    wrong(
        "A tick stands on a sheet that is none",
        "SELECT DISTINCT sheet FROM tick WHERE sheet NOT GLOB 'prep-[0-9]*' AND sheet NOT GLOB 'load-[0-9]*'
            AND sheet NOT GLOB 'run-[0-9]*' AND sheet NOT GLOB 'pull-[0-9]*' AND sheet NOT GLOB 'goods-in-[0-9]*'",
    ),
    wrong(
        "A tick stands on the sheet of an event or a delivery that never was",
        "SELECT DISTINCT sheet FROM tick
            WHERE sheet GLOB 'pull-[0-9]*' AND CAST(substr(sheet, 6) AS INTEGER) NOT IN (SELECT id FROM event)
            OR sheet GLOB 'goods-in-[0-9]*' AND CAST(substr(sheet, 10) AS INTEGER) NOT IN (SELECT id FROM placed_delivery)",
    ),
    wrong(
        "A session is open of somebody who was removed",
        "SELECT person.name FROM session JOIN person ON person.id = person_id WHERE removed_at IS NOT NULL",
    ),
    Tie {
        weight: Weight::Note,
        what: "A place at which nothing stands",
        sql: "SELECT place.name || ', ' || event.name FROM place JOIN event ON event.id = event_id
            WHERE place.id NOT IN (SELECT place_id FROM piece)",
    },
];

/// The rows that do not tie.
pub(super) async fn findings(connection: &mut SqliteConnection) -> Result<Vec<Finding>, sqlx::Error> {
    let mut found = Vec::new();
    for tie in ACCOUNTS.iter().chain(WORK) {
        let which: Vec<String> = sqlx::query_scalar(tie.sql).fetch_all(&mut *connection).await?;
        found.extend(Finding::of(tie.weight, tie.what, which));
    }
    Ok(found)
}
