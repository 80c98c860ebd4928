//! All SQL for events, places and pieces.

use sqlx::SqliteConnection;

use super::{CountRule, Ending, Event, Piece};
use crate::ground::dates::{Day, TimeOfDay};
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
