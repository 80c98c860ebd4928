//! All SQL for events, places and pieces.

mod placing;
mod sets;
mod state;

pub use placing::{copy_pieces, keep_pieces, recipe_names};
pub use sets::{add_set, begin_with, beginning, offer_beginnings, set_set_removed, sets};
#[cfg(test)]
pub(crate) use state::assert_tables;
pub use state::{BEYOND_PIECES, state};

use sqlx::SqliteConnection;

use super::{CountRule, Ending, Event, NewEvent, Piece};
use crate::ground::dates::{Day, Moment, TimeOfDay};
use crate::ground::ids::{ClientId, EventId, PieceId, PlaceId, RecipeId, json_list};
use crate::ground::money::Money;
use crate::ground::quantity::Quantity;

/// The events with these identities that are not removed, by day and start.
pub async fn events(connection: &mut SqliteConnection, ids: &[EventId]) -> Result<Vec<Event>, sqlx::Error> {
    let ids = json_list(ids);
    let rows = sqlx::query!(
        r#"SELECT event.id AS "id: EventId", event.version, client_id AS "client_id: ClientId",
            client.name AS client_name, event.name, day AS "day: Day", set_up_time AS "set_up_time: TimeOfDay",
            start_time AS "start_time: TimeOfDay", end_time AS "end_time: TimeOfDay",
            strike_time AS "strike_time: TimeOfDay", venue, venue_address, venue_contact, guests, tables, seats,
            budget AS "budget: Money", event.note, enquired_on AS "enquired_on: Day", ended_on AS "ended_on: Day",
            ending AS "ending: Ending"
        FROM event JOIN client ON client.id = client_id
        WHERE event.id IN (SELECT value FROM json_each(?)) AND event.removed_at IS NULL
        ORDER BY day, start_time, event.id"#,
        ids
    )
    .fetch_all(connection)
    .await?;
    let events = rows.into_iter().map(|row| Event {
        id: row.id,
        version: row.version,
        client_id: row.client_id,
        client_name: row.client_name,
        name: row.name,
        day: row.day,
        set_up_time: row.set_up_time,
        start_time: row.start_time,
        end_time: row.end_time,
        strike_time: row.strike_time,
        venue: row.venue,
        venue_address: row.venue_address,
        venue_contact: row.venue_contact,
        guests: row.guests,
        tables: row.tables,
        seats: row.seats,
        budget: row.budget,
        note: row.note,
        enquired_on: row.enquired_on,
        ended: row.ended_on.zip(row.ending),
    });
    Ok(events.collect())
}

/// One event, unless removed.
pub async fn event(connection: &mut SqliteConnection, id: EventId) -> Result<Option<Event>, sqlx::Error> {
    Ok(events(connection, &[id]).await?.pop())
}

/// The events of some days, both ends included, that were not lost or cancelled.
pub async fn open_between(
    connection: &mut SqliteConnection,
    from: Day,
    to: Day,
) -> Result<Vec<Event>, sqlx::Error> {
    let ids = sqlx::query_scalar!(
        r#"SELECT id AS "id: EventId" FROM event
        WHERE day BETWEEN ? AND ? AND removed_at IS NULL AND (ending IS NULL OR ending = 'closed')"#,
        from,
        to
    )
    .fetch_all(&mut *connection)
    .await?;
    events(connection, &ids).await
}

/// The events of some days, both ends included, that were lost or called off since a day.
pub async fn called_off_between(
    connection: &mut SqliteConnection,
    from: Day,
    to: Day,
    since: Day,
) -> Result<Vec<Event>, sqlx::Error> {
    let ids = sqlx::query_scalar!(
        r#"SELECT id AS "id: EventId" FROM event
        WHERE day BETWEEN ? AND ? AND removed_at IS NULL AND ending IN ('lost', 'cancelled') AND ended_on >= ?"#,
        from,
        to,
        since
    )
    .fetch_all(&mut *connection)
    .await?;
    events(connection, &ids).await
}

/// All pieces of these events, by event, place and order of entry.
pub async fn pieces(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<Vec<Piece>, sqlx::Error> {
    let events = json_list(events);
    sqlx::query_as!(
        Piece,
        r#"SELECT piece.id AS "id: PieceId", piece.event_id AS "event_id: EventId", place_id AS "place_id: PlaceId",
            place.name AS place, recipe_id AS "recipe_id: RecipeId", recipe.name AS recipe,
            count_rule AS "rule: CountRule", count AS "count: Quantity", piece.note
        FROM piece JOIN place ON place.id = place_id JOIN recipe ON recipe.id = recipe_id
        WHERE piece.event_id IN (SELECT value FROM json_each(?))
        ORDER BY piece.event_id, place.position, place.id, piece.position, piece.id"#,
        events
    )
    .fetch_all(connection)
    .await
}

/// How many rows a list page holds.
pub const PAGE: i64 = 50;

/// Which events a list shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// From today on, neither lost nor cancelled; the next first.
    Coming,
    /// Before today; the latest first.
    Past,
    /// All of them, the latest first.
    All,
}

/// The events in whose name, client, venue or day every word is found; one more than a page, to tell whether more follow.
pub async fn search(
    connection: &mut SqliteConnection,
    when: When,
    words: &str,
    today: Day,
    page: i64,
) -> Result<Vec<Event>, sqlx::Error> {
    let words = json_list(&words.split_whitespace().collect::<Vec<_>>());
    let (limit, offset) = (PAGE + 1, page.saturating_mul(PAGE));
    let (coming, past) = (when == When::Coming, when == When::Past);
    let ids = sqlx::query_scalar!(
        r#"SELECT event.id AS "id: EventId" FROM event JOIN client ON client.id = client_id
        WHERE event.removed_at IS NULL
            AND (NOT ? OR day >= ? AND (ending IS NULL OR ending = 'closed'))
            AND (NOT ? OR day < ?)
            AND NOT EXISTS (SELECT 1 FROM json_each(?) word WHERE instr(
                lower(event.name || ' ' || client.name || ' ' || venue || ' ' || day), lower(word.value)) = 0)
        ORDER BY CASE WHEN ? THEN day END, CASE WHEN NOT ? THEN day END DESC, start_time, event.id
        LIMIT ? OFFSET ?"#,
        coming,
        today,
        past,
        today,
        words,
        coming,
        coming,
        limit,
        offset
    )
    .fetch_all(&mut *connection)
    .await?;
    let mut found = events(connection, &ids).await?;
    found.sort_by_key(|event| ids.iter().position(|id| *id == event.id));
    Ok(found)
}

/// Adds an event.
pub async fn add(
    connection: &mut SqliteConnection,
    client: ClientId,
    event: &NewEvent,
    enquired_on: Day,
) -> Result<EventId, sqlx::Error> {
    let NewEvent { name, day, hours, venue, venue_address, venue_contact, party, budget, note } = event;
    let added = sqlx::query!(
        "INSERT INTO event (client_id, name, day, set_up_time, start_time, end_time, strike_time, venue, venue_address,
            venue_contact, guests, tables, seats, budget, note, enquired_on)
        VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        client,
        name,
        day,
        hours.set_up,
        hours.start,
        hours.end,
        hours.strike,
        venue,
        venue_address,
        venue_contact,
        party.guests,
        party.tables,
        party.seats,
        budget,
        note,
        enquired_on
    )
    .execute(connection)
    .await?;
    Ok(EventId(added.last_insert_rowid()))
}

/// Changes an event and counts the save.
pub async fn change(
    connection: &mut SqliteConnection,
    id: EventId,
    client: ClientId,
    event: &NewEvent,
) -> Result<(), sqlx::Error> {
    let NewEvent { name, day, hours, venue, venue_address, venue_contact, party, budget, note } = event;
    sqlx::query!(
        "UPDATE event SET version = version + 1, client_id = ?, name = ?, day = ?, set_up_time = ?, start_time = ?,
            end_time = ?, strike_time = ?, venue = ?, venue_address = ?, venue_contact = ?, guests = ?, tables = ?,
            seats = ?, budget = ?, note = ? WHERE id = ?",
        client,
        name,
        day,
        hours.set_up,
        hours.start,
        hours.end,
        hours.strike,
        venue,
        venue_address,
        venue_contact,
        party.guests,
        party.tables,
        party.seats,
        budget,
        note,
        id
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Ends an event, or opens it again (`None`). It counts as a save.
pub async fn set_ended(
    connection: &mut SqliteConnection,
    id: EventId,
    ended: Option<(Day, Ending)>,
) -> Result<(), sqlx::Error> {
    let (day, ending) = ended.unzip();
    sqlx::query!(
        "UPDATE event SET version = version + 1, ended_on = ?, ending = ? WHERE id = ?",
        day,
        ending,
        id
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Removes an event, or brings it back (`None`).
pub async fn set_removed(
    connection: &mut SqliteConnection,
    id: EventId,
    at: Option<Moment>,
) -> Result<bool, sqlx::Error> {
    let done =
        sqlx::query!("UPDATE event SET removed_at = ? WHERE id = ?", at, id).execute(connection).await?;
    Ok(done.rows_affected() == 1)
}
