//! The table of ticks: a row for each tick set or taken back, the latest of a line counts.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::settle::{Verdict, settle};
use super::{Tick, Ticks, Wish};
use crate::ground::dates::Moment;
use crate::ground::ids::json_list;

/// The ticks of one sheet.
pub async fn ticks(connection: &mut SqliteConnection, sheet: &str) -> Result<Ticks, sqlx::Error> {
    Ok(ticks_of(connection, &[sheet.to_owned()]).await?.remove(sheet).unwrap_or_default())
}

/// The ticks of several sheets; those on which nothing was ever ticked are left out.
pub async fn ticks_of(
    connection: &mut SqliteConnection,
    sheets: &[String],
) -> Result<HashMap<String, Ticks>, sqlx::Error> {
    let sheets = json_list(sheets);
    let rows = sqlx::query!(
        r#"SELECT id, sheet, line, mark, done AS "done: bool", shown, hand, ticked_at AS "ticked_at: Moment" FROM tick
        WHERE id IN (SELECT max(id) FROM tick WHERE sheet IN (SELECT value FROM json_each(?)) GROUP BY sheet, line)"#,
        sheets
    )
    .fetch_all(connection)
    .await?;
    let mut found: HashMap<String, Ticks> = HashMap::new();
    for row in rows {
        let ticks = found.entry(row.sheet).or_default();
        ticks.version = ticks.version.max(row.id);
        if row.done {
            let tick = Tick { mark: row.mark, shown: row.shown, hand: row.hand, at: row.ticked_at };
            ticks.lines.insert(row.line, tick);
        }
    }
    Ok(found)
}

/// Settles each wish and keeps what is to be kept; what became of each.
pub async fn take(
    connection: &mut SqliteConnection,
    sheet: &str,
    wishes: &[Wish],
    by: (&str, Moment),
) -> Result<Vec<Verdict>, sqlx::Error> {
    let present = ticks(connection, sheet).await?;
    let mut verdicts = Vec::with_capacity(wishes.len());
    for wish in wishes {
        let verdict = match &wish.mark {
            Some(mark) if is_kept(connection, mark).await? => Verdict::AsItIs,
            _ => settle(present.of(&wish.line), wish),
        };
        if verdict == Verdict::Keep {
            add(connection, sheet, wish, by).await?;
        }
        verdicts.push(verdict);
    }
    Ok(verdicts)
}

async fn is_kept(connection: &mut SqliteConnection, mark: &str) -> Result<bool, sqlx::Error> {
    let kept =
        sqlx::query_scalar!("SELECT id FROM tick WHERE mark = ?", mark).fetch_optional(connection).await?;
    Ok(kept.is_some())
}

/// A tick without a mark of its own (set without a script) gets one here.
async fn add(
    connection: &mut SqliteConnection,
    sheet: &str,
    wish: &Wish,
    (hand, at): (&str, Moment),
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO tick (mark, sheet, line, done, shown, hand, ticked_at)
        VALUES (coalesce(?, 'here-' || (SELECT coalesce(max(id), 0) + 1 FROM tick)), ?, ?, ?, ?, ?, ?)",
        wish.mark,
        sheet,
        wish.line,
        wish.done,
        wish.shown,
        hand,
        at
    )
    .execute(connection)
    .await
    .map(drop)
}

/// The latest row, to say later from where on something was taken back.
pub async fn latest(connection: &mut SqliteConnection) -> Result<i64, sqlx::Error> {
    sqlx::query_scalar!(r#"SELECT coalesce(max(id), 0) AS "id!: i64" FROM tick"#).fetch_one(connection).await
}

/// Sets again what the rows after `first`, to `last`, took back, as it was; what was ticked since stays. How many.
pub async fn restore(
    connection: &mut SqliteConnection,
    sheet: &str,
    (first, last): (i64, i64),
) -> Result<u64, sqlx::Error> {
    let done = sqlx::query!(
        "INSERT INTO tick (mark, sheet, line, done, shown, hand, ticked_at)
        SELECT 'again-' || taken.id, taken.sheet, taken.line, 1, before.shown, before.hand, before.ticked_at
        FROM tick AS taken JOIN tick AS before ON before.id =
            (SELECT max(id) FROM tick WHERE sheet = taken.sheet AND line = taken.line AND id < taken.id)
        WHERE taken.sheet = ? AND taken.id > ? AND taken.id <= ? AND taken.done = 0 AND before.done = 1
            AND taken.id = (SELECT max(id) FROM tick WHERE sheet = taken.sheet AND line = taken.line)",
        sheet,
        first,
        last
    )
    .execute(connection)
    .await?;
    Ok(done.rows_affected())
}
