//! All SQL for what was received and what the bench lost, and the loading of whom it touches.

mod bench;
mod troubles;

pub use bench::{add_loss, bench_losses, known_from, loss_of_key, names_on_the_bench, set_loss_removed};
pub use troubles::{open_troubles, troubles};

use sqlx::SqliteConnection;

use super::Receipt;
use super::forms::count::{Row, Values};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{PlacedLineId, json_list};

/// What came of these lines, as far as they are counted.
pub async fn receipts(
    connection: &mut SqliteConnection,
    lines: &[PlacedLineId],
) -> Result<Vec<Receipt>, sqlx::Error> {
    let lines = json_list(lines);
    sqlx::query_as!(
        Receipt,
        r#"SELECT line_id AS "line: PlacedLineId", version, good, lost, received_on AS "received_on: Day"
        FROM receipt_line WHERE line_id IN (SELECT value FROM json_each(?))"#,
        lines
    )
    .fetch_all(connection)
    .await
}

/// Keeps counted rows: a new one is received on this day; a corrected one keeps its day and counts the save; a row
/// without values is not counted any more.
pub async fn keep(
    connection: &mut SqliteConnection,
    rows: &[Row],
    today: Day,
    now: Moment,
) -> Result<(), sqlx::Error> {
    let counted: Vec<(PlacedLineId, i64, i64)> =
        rows.iter().filter_map(|row| row.typed.map(|Values { good, lost }| (row.line, good, lost))).collect();
    let counted = json_list(&counted);
    sqlx::query!(
        "INSERT INTO receipt_line (line_id, good, lost, received_on, recorded_at)
        SELECT json_extract(value, '$[0]'), json_extract(value, '$[1]'), json_extract(value, '$[2]'), ?, ?
        FROM json_each(?) WHERE true
        ON CONFLICT (line_id) DO UPDATE SET version = version + 1, good = excluded.good, lost = excluded.lost,
            recorded_at = excluded.recorded_at",
        today,
        now,
        counted
    )
    .execute(&mut *connection)
    .await?;
    let cleared: Vec<PlacedLineId> =
        rows.iter().filter(|row| row.typed.is_none()).map(|row| row.line).collect();
    let cleared = json_list(&cleared);
    sqlx::query!("DELETE FROM receipt_line WHERE line_id IN (SELECT value FROM json_each(?))", cleared)
        .execute(connection)
        .await
        .map(drop)
}
