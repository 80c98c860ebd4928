//! All SQL of the close-out: what was typed, what was closed, and what it reads of other rooms' rows where they offer no read.

mod gathered;
pub mod season;

pub use gathered::{Gathered, gather};

use std::collections::HashMap;

use serde::Serialize;
use sqlx::SqliteConnection;

use super::figures::Figures;
use super::materials::{Became, FromStock};
use super::{Closing, CostFor, Hours, OtherCost, Task, Typed};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, MaterialId, PlacedLineId, RecipeId, json_list};
use crate::ground::money::Money;

/// What was typed about an event: its latest save.
pub async fn typed(connection: &mut SqliteConnection, event: EventId) -> Result<Typed, sqlx::Error> {
    let version = sqlx::query_scalar!(
        r#"SELECT coalesce(max(version), 0) AS "version!: i64" FROM close_out_save WHERE event_id = ?"#,
        event
    )
    .fetch_one(&mut *connection)
    .await?;
    typed_at(connection, event, version).await
}

/// What was typed about an event at one of its saves; nothing at save 0.
pub async fn typed_at(
    connection: &mut SqliteConnection,
    event: EventId,
    version: i64,
) -> Result<Typed, sqlx::Error> {
    let hours = sqlx::query_as!(
        Hours,
        r#"SELECT task AS "task: Task", recipe_id AS "recipe: RecipeId", who, minutes, rate AS "rate: Money"
        FROM close_out_hours JOIN close_out_save s ON s.id = save_id WHERE event_id = ? AND version = ? ORDER BY position"#,
        event,
        version
    )
    .fetch_all(&mut *connection)
    .await?;
    let costs = sqlx::query_as!(
        OtherCost,
        r#"SELECT what, kind AS "kind: CostFor", planned AS "planned: Money", amount AS "amount: Money"
        FROM close_out_cost JOIN close_out_save s ON s.id = save_id WHERE event_id = ? AND version = ? ORDER BY position"#,
        event,
        version
    )
    .fetch_all(connection)
    .await?;
    Ok(Typed { version, hours, costs })
}

#[derive(Serialize)]
struct HoursRow<'a> {
    task: Task,
    recipe: Option<RecipeId>,
    who: &'a str,
    minutes: i64,
    rate: Option<Money>,
}

#[derive(Serialize)]
struct CostRow<'a> {
    what: &'a str,
    kind: CostFor,
    planned: Money,
    amount: Money,
}

/// Keeps what was typed as a save of its own, after the one with its version.
pub async fn save(
    connection: &mut SqliteConnection,
    event: EventId,
    typed: &Typed,
    now: Moment,
) -> Result<(), sqlx::Error> {
    let version = typed.version + 1;
    let id = sqlx::query!(
        "INSERT INTO close_out_save (event_id, version, recorded_at) VALUES (?, ?, ?)",
        event,
        version,
        now
    )
    .execute(&mut *connection)
    .await?
    .last_insert_rowid();
    let hours = typed.hours.iter().map(|row| HoursRow {
        task: row.task,
        recipe: row.recipe,
        who: &row.who,
        minutes: row.minutes,
        rate: row.rate,
    });
    let hours = json_list(&hours.collect::<Vec<_>>());
    sqlx::query!(
        "INSERT INTO close_out_hours (save_id, position, task, recipe_id, who, minutes, rate)
        SELECT ?, key, value ->> 'task', value ->> 'recipe', value ->> 'who', value ->> 'minutes', value ->> 'rate'
        FROM json_each(?)",
        id,
        hours
    )
    .execute(&mut *connection)
    .await?;
    let costs = typed.costs.iter().map(|row| CostRow {
        what: &row.what,
        kind: row.kind,
        planned: row.planned,
        amount: row.amount,
    });
    let costs = json_list(&costs.collect::<Vec<_>>());
    sqlx::query!(
        "INSERT INTO close_out_cost (save_id, position, what, kind, planned, amount)
        SELECT ?, key, value ->> 'what', value ->> 'kind', value ->> 'planned', value ->> 'amount' FROM json_each(?)",
        id,
        costs
    )
    .execute(connection)
    .await
    .map(drop)
}

/// The latest closing or reopening of an event.
pub async fn closing(
    connection: &mut SqliteConnection,
    event: EventId,
) -> Result<Option<Closing>, sqlx::Error> {
    let row = sqlx::query!(
        r#"SELECT id, closed_on AS "on: Day", figures FROM close_out WHERE event_id = ? ORDER BY id DESC LIMIT 1"#,
        event
    )
    .fetch_optional(connection)
    .await?;
    let Some(row) = row else { return Ok(None) };
    let figures = serde_json::from_str(&row.figures).map_err(|error| sqlx::Error::Decode(error.into()))?;
    Ok(Some(Closing { id: row.id, on: row.on, figures }))
}

/// Whether a row with this key is kept.
pub async fn has_key(connection: &mut SqliteConnection, key: &str) -> Result<bool, sqlx::Error> {
    sqlx::query_scalar!(r#"SELECT EXISTS (SELECT 1 FROM close_out WHERE once_key = ?) AS "known: bool""#, key)
        .fetch_one(connection)
        .await
}

/// Keeps that an event was closed with these figures, or without any that it was opened again.
pub async fn add_closing(
    connection: &mut SqliteConnection,
    event: EventId,
    figures: Option<&Figures>,
    once_key: &str,
    (today, now): (Day, Moment),
) -> Result<(), sqlx::Error> {
    let json = serde_json::to_string(&figures).map_err(|error| sqlx::Error::Encode(error.into()))?;
    let kind = if figures.is_some() { "closed" } else { "reopened" };
    let income = figures.map(|figures| figures.income.actual()).unwrap_or_default();
    let cost = figures.map(|figures| figures.sum().actual).unwrap_or_default();
    sqlx::query!(
        "INSERT INTO close_out (event_id, kind, once_key, closed_on, income, cost, figures, recorded_at)
        VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        event,
        kind,
        once_key,
        today,
        income,
        cost,
        json,
        now
    )
    .execute(connection)
    .await
    .map(drop)
}

/// The other events of an event's orders: those with whom it makes a weekend.
pub async fn ordered_with(
    connection: &mut SqliteConnection,
    event: EventId,
) -> Result<Vec<EventId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT DISTINCT other.event_id AS "id: EventId" FROM placed_order_event own
        JOIN placed_order_event other ON other.order_id = own.order_id JOIN event ON event.id = other.event_id
        WHERE own.event_id = ? AND other.event_id <> own.event_id AND removed_at IS NULL ORDER BY other.event_id"#,
        event
    )
    .fetch_all(connection)
    .await
}

/// What became of placed lines: counted in, left over.
async fn became(
    connection: &mut SqliteConnection,
    lines: &[PlacedLineId],
) -> Result<HashMap<PlacedLineId, Became>, sqlx::Error> {
    let lines = json_list(lines);
    let rows = sqlx::query!(
        r#"SELECT l.id AS "id: PlacedLineId", good AS "good?", lost AS "lost?", taken_in AS "taken_in?",
            written_off AS "written_off?"
        FROM placed_line l LEFT JOIN receipt_line r ON r.line_id = l.id
        LEFT JOIN left_over o ON o.line_id = l.id AND o.removed_at IS NULL
        WHERE l.id IN (SELECT value FROM json_each(?))"#,
        lines
    )
    .fetch_all(connection)
    .await?;
    let became = rows.into_iter().map(|row| {
        let became = Became { counted: row.good.zip(row.lost), left: row.taken_in.zip(row.written_off) };
        (row.id, became)
    });
    Ok(became.collect())
}

/// Stems of an event lost at the bench, by material.
async fn bench_losses(
    connection: &mut SqliteConnection,
    event: EventId,
) -> Result<HashMap<MaterialId, i64>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT material_id AS "material: MaterialId", sum(lost) AS "lost!: i64" FROM bench_loss
        WHERE event_id = ? AND removed_at IS NULL GROUP BY material_id"#,
        event
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.material, row.lost)).collect())
}

/// What an event took from stock, each with what was paid for it where it was left over from an order.
async fn from_stock(
    connection: &mut SqliteConnection,
    event: EventId,
) -> Result<Vec<FromStock>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT stock_lot.material_id AS "material: MaterialId", r.count,
            coalesce((SELECT a.price FROM placed_line_answer a WHERE a.line_id = l.id AND a.kind <> 'placed'
                ORDER BY a.id DESC LIMIT 1), l.price) AS "price?: Money", l.pack_size AS "pack_size?"
        FROM stock_reservation r JOIN stock_lot ON stock_lot.id = r.lot_id
        LEFT JOIN left_over o ON o.lot_id = stock_lot.id AND o.removed_at IS NULL
        LEFT JOIN placed_line l ON l.id = o.line_id
        WHERE r.event_id = ? AND released_at IS NULL AND stock_lot.removed_at IS NULL GROUP BY r.id"#,
        event
    )
    .fetch_all(connection)
    .await?;
    let used = rows.into_iter().map(|row| FromStock {
        material: row.material,
        count: row.count,
        paid: row.price.zip(row.pack_size),
    });
    Ok(used.collect())
}
