//! All SQL for loan periods, counts, returns and charges; reads all that bookings are computed from.

use std::collections::HashMap;
use std::sync::Arc;

use sqlx::SqliteConnection;
use thiserror::Error;

use super::bookings::{Bookings, Borrower, LoanInputs, Span, bookings};
use super::forms::{NewCharge, NewCount};
use super::{Count, CountedLine, Period};
use crate::db::remembered::{Remembered, State};
use crate::events;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, MaterialId, RecipeId, json_list};
use crate::ground::money::Money;
use crate::price_list;
use crate::recipes;
use crate::recipes::explosion::ExplosionError;

/// No loan leaves, or is back, more days than this from its event.
pub const MOST_DAYS: i64 = 60;

/// Why it is not known what is lent.
#[derive(Debug, Error)]
pub enum LoansError {
    /// The book cannot be read.
    #[error("the book cannot be read")]
    Book(#[from] sqlx::Error),
    /// The recipes do not make sense; the sentence may stand on a page.
    #[error(transparent)]
    Recipes(#[from] ExplosionError),
}

/// From what it was reckoned what is lent.
#[derive(PartialEq)]
struct Key {
    state: State,
    span: Span,
    events: Vec<EventId>,
}

/// What is lent in some days. Reckoned once while nothing that it is reckoned from changes.
pub async fn booked(
    connection: &mut SqliteConnection,
    span: Span,
    formats: &Formats,
) -> Result<Arc<Bookings>, LoansError> {
    static BOOKED: Remembered<Key, Bookings> =
        Remembered::new(8, |new, old| new.state.of_one_book(&old.state) && new.span == old.span);
    let events = near(connection, span).await?;
    let state = events::store::state(connection, &events, events::store::BEYOND_PIECES).await?;
    let key = state.map(|state| Key { state, span, events: events.clone() });
    let reckoned = async { Ok(bookings(load(connection, span, &events).await?, formats)?) };
    BOOKED.or_read(key, reckoned).await
}

/// The events that may hold something in some days: those of these days and not far from them, and whatever is still out.
async fn near(connection: &mut SqliteConnection, span: Span) -> Result<Vec<EventId>, sqlx::Error> {
    let (from, to) = (span.from.plus(-MOST_DAYS), span.to.plus(MOST_DAYS));
    sqlx::query_scalar!(
        r#"SELECT id AS "id!: EventId" FROM event
        WHERE day BETWEEN ? AND ? AND removed_at IS NULL AND (ending IS NULL OR ending = 'closed')
        UNION SELECT event_id FROM loan_return WHERE back + broken + missing < taken"#,
        from,
        to
    )
    .fetch_all(connection)
    .await
}

/// Everything of these events that bookings are computed from.
async fn load(
    connection: &mut SqliteConnection,
    span: Span,
    events: &[EventId],
) -> Result<LoanInputs, sqlx::Error> {
    let periods = periods(connection, events).await?;
    let mut counts = counts(connection, events).await?;
    let events = events::store::events(connection, events).await?;
    let mut borrowers: Vec<Borrower> = events
        .into_iter()
        .map(|event| Borrower {
            period: periods.get(&event.id).copied().unwrap_or(Period::USUAL),
            count: counts.remove(&event.id),
            pieces: Vec::new(),
            event,
        })
        .filter(|borrower| holds_within(borrower, span))
        .collect();
    let roots = add_pieces(connection, &mut borrowers).await?;
    let book = recipes::store::recipe_book(connection, &roots).await?;
    let materials = price_list::store::lent_materials(connection).await?;
    let lent: Vec<MaterialId> = materials.keys().copied().collect();
    let costs = price_list::store::unit_costs(connection, &lent, span.from).await?;
    Ok(LoanInputs { span, borrowers, book, materials, costs })
}

fn holds_within(borrower: &Borrower, span: Span) -> bool {
    let Borrower { event, period, count, .. } = borrower;
    let still_out = count.iter().flat_map(|count| &count.lines).any(|line| line.still_out() > 0);
    let counted = count.as_ref().map_or(event.day, |count| count.on);
    let held_until = period.returns(event.day).max(counted);
    period.leaves(event.day) <= span.to && (still_out || held_until >= span.from)
}

/// Gives the borrowers their pieces; what those are made of is to be looked up.
async fn add_pieces(
    connection: &mut SqliteConnection,
    borrowers: &mut [Borrower],
) -> Result<Vec<RecipeId>, sqlx::Error> {
    let ids: Vec<EventId> = borrowers.iter().map(|borrower| borrower.event.id).collect();
    let mut by_event: HashMap<EventId, Vec<events::Piece>> = HashMap::new();
    let mut roots = Vec::new();
    for piece in events::store::pieces(connection, &ids).await? {
        roots.push(piece.recipe_id);
        by_event.entry(piece.event_id).or_default().push(piece);
    }
    for borrower in borrowers {
        borrower.pieces = by_event.remove(&borrower.event.id).unwrap_or_default();
    }
    roots.sort_unstable();
    roots.dedup();
    Ok(roots)
}

async fn periods(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<HashMap<EventId, Period>, sqlx::Error> {
    let events = json_list(events);
    let rows = sqlx::query!(
        r#"SELECT event_id AS "event_id: EventId", version, leaves_before, returns_after FROM loan_period
        WHERE event_id IN (SELECT value FROM json_each(?))"#,
        events
    )
    .fetch_all(connection)
    .await?;
    let period = |version, leaves_before, returns_after| Period { version, leaves_before, returns_after };
    Ok(rows
        .into_iter()
        .map(|row| (row.event_id, period(row.version, row.leaves_before, row.returns_after)))
        .collect())
}

/// From when to when one event keeps what it is lent.
pub async fn period(connection: &mut SqliteConnection, event: EventId) -> Result<Period, sqlx::Error> {
    Ok(periods(connection, &[event]).await?.remove(&event).unwrap_or(Period::USUAL))
}

/// Keeps from when to when an event keeps what it is lent.
pub async fn keep_period(
    connection: &mut SqliteConnection,
    event: EventId,
    period: &Period,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO loan_period (event_id, leaves_before, returns_after) VALUES (?, ?, ?)
        ON CONFLICT (event_id) DO UPDATE SET version = version + 1, leaves_before = excluded.leaves_before,
            returns_after = excluded.returns_after",
        event,
        period.leaves_before,
        period.returns_after
    )
    .execute(connection)
    .await
    .map(drop)
}

/// How these events were counted back, those that were.
pub async fn counts(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<HashMap<EventId, Count>, sqlx::Error> {
    let events = json_list(events);
    let rows = sqlx::query!(
        r#"SELECT event_id AS "event_id: EventId", version, counted_on AS "counted_on: Day", counted_by,
            charged AS "charged: bool", note FROM loan_count WHERE event_id IN (SELECT value FROM json_each(?))"#,
        events
    )
    .fetch_all(&mut *connection)
    .await?;
    let count = |version, on, by, charged, note| Count { version, on, by, charged, note, lines: Vec::new() };
    let mut counts: HashMap<EventId, Count> = rows
        .into_iter()
        .map(|row| (row.event_id, count(row.version, row.counted_on, row.counted_by, row.charged, row.note)))
        .collect();
    let lines = sqlx::query!(
        r#"SELECT event_id AS "event_id: EventId", material_id AS "material_id: MaterialId", taken, back, broken,
            missing, charge_each AS "charge_each: Money" FROM loan_return
        WHERE event_id IN (SELECT value FROM json_each(?)) ORDER BY material_id"#,
        events
    )
    .fetch_all(connection)
    .await?;
    for row in lines {
        if let Some(count) = counts.get_mut(&row.event_id) {
            count.lines.push(CountedLine {
                material: row.material_id,
                taken: row.taken,
                back: row.back,
                broken: row.broken,
                missing: row.missing,
                charge_each: row.charge_each,
            });
        }
    }
    Ok(counts)
}

/// How one event was counted back, if it was.
pub async fn count(connection: &mut SqliteConnection, event: EventId) -> Result<Option<Count>, sqlx::Error> {
    Ok(counts(connection, &[event]).await?.remove(&event))
}

/// Keeps how an event was counted back, in place of an earlier count, and counts the save. What is lost is taken off
/// what is owned, what an earlier count had lost is given back. A material of which fewer are owned is given.
pub async fn keep_count(
    connection: &mut SqliteConnection,
    event: EventId,
    new: &NewCount,
) -> Result<Result<(), MaterialId>, sqlx::Error> {
    let before = count(connection, event).await?;
    if let Err(material) = lower_owned(connection, before.as_ref(), new).await? {
        return Ok(Err(material));
    }
    let charged = new.charged;
    sqlx::query!(
        "INSERT INTO loan_count (event_id, counted_on, counted_by, charged, note) VALUES (?, ?, ?, ?, ?)
        ON CONFLICT (event_id) DO UPDATE SET version = version + 1, counted_on = excluded.counted_on,
            counted_by = excluded.counted_by, charged = excluded.charged, note = excluded.note",
        event,
        new.on,
        new.by,
        charged,
        new.note
    )
    .execute(&mut *connection)
    .await?;
    sqlx::query!("DELETE FROM loan_return WHERE event_id = ?", event).execute(&mut *connection).await?;
    for line in &new.lines {
        sqlx::query!(
            "INSERT INTO loan_return (event_id, material_id, taken, back, broken, missing, charge_each)
            VALUES (?1, ?2, ?3, ?4, ?5, ?6, CASE WHEN ?7
                THEN coalesce((SELECT price FROM loan_charge WHERE material_id = ?2), 0) ELSE 0 END)",
            event,
            line.material,
            line.taken,
            line.back,
            line.broken,
            line.missing,
            charged
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(Ok(()))
}

async fn lower_owned(
    connection: &mut SqliteConnection,
    before: Option<&Count>,
    new: &NewCount,
) -> Result<Result<(), MaterialId>, sqlx::Error> {
    let mut lost: HashMap<MaterialId, i64> = HashMap::new();
    for line in before.iter().flat_map(|count| &count.lines) {
        *lost.entry(line.material).or_default() -= line.lost();
    }
    for line in &new.lines {
        *lost.entry(line.material).or_default() += line.broken + line.missing;
    }
    for (material, by) in lost.into_iter().filter(|(_, by)| *by != 0) {
        if !price_list::store::lower_owned(connection, material, by).await? {
            return Ok(Err(material));
        }
    }
    Ok(Ok(()))
}

/// What a lost piece is charged at, where that was typed.
pub async fn charges(connection: &mut SqliteConnection) -> Result<HashMap<MaterialId, Money>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT material_id AS "material_id: MaterialId", price AS "price!: Money" FROM loan_charge
        WHERE price IS NOT NULL"#
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.material_id, row.price)).collect())
}

/// A number that grows with every change of the charges, so that a stale save is noticed.
pub async fn charges_version(connection: &mut SqliteConnection) -> Result<i64, sqlx::Error> {
    sqlx::query_scalar!(r#"SELECT coalesce(sum(version), 0) AS "version!: i64" FROM loan_charge"#)
        .fetch_one(connection)
        .await
}

/// Keeps what lost pieces are charged at.
pub async fn keep_charges(
    connection: &mut SqliteConnection,
    charges: &[NewCharge],
) -> Result<(), sqlx::Error> {
    for charge in charges {
        sqlx::query!(
            "INSERT INTO loan_charge (material_id, price) VALUES (?, ?)
            ON CONFLICT (material_id) DO UPDATE SET version = version + 1, price = excluded.price",
            charge.material,
            charge.price
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(())
}
