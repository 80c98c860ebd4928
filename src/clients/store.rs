//! All SQL for clients.

use sqlx::SqliteConnection;

use super::{Client, NewClient};
use crate::ground::dates::Moment;
use crate::ground::ids::{ClientId, json_list};
use crate::ground::near_names;

/// How many rows a list page holds.
pub const PAGE: i64 = 50;

/// Clients whose name, email or phone holds the words, by name; one more than a page, to tell whether more follow.
pub async fn search(
    connection: &mut SqliteConnection,
    words: &str,
    page: i64,
) -> Result<Vec<Client>, sqlx::Error> {
    let (limit, offset) = (PAGE + 1, page.saturating_mul(PAGE));
    sqlx::query_as!(
        Client,
        r#"SELECT id AS "id: ClientId", version, name, email, phone, address, note FROM client
        WHERE removed_at IS NULL AND (instr(lower(name || ' ' || email || ' ' || phone), lower(?)) > 0)
        ORDER BY name, id LIMIT ? OFFSET ?"#,
        words,
        limit,
        offset
    )
    .fetch_all(connection)
    .await
}

/// One client, unless removed.
pub async fn client(connection: &mut SqliteConnection, id: ClientId) -> Result<Option<Client>, sqlx::Error> {
    sqlx::query_as!(
        Client,
        r#"SELECT id AS "id: ClientId", version, name, email, phone, address, note FROM client
        WHERE id = ? AND removed_at IS NULL"#,
        id
    )
    .fetch_optional(connection)
    .await
}

/// The clients with these identities that are not removed.
pub async fn clients(
    connection: &mut SqliteConnection,
    ids: &[ClientId],
) -> Result<Vec<Client>, sqlx::Error> {
    let ids = json_list(ids);
    sqlx::query_as!(
        Client,
        r#"SELECT id AS "id: ClientId", version, name, email, phone, address, note FROM client
        WHERE id IN (SELECT value FROM json_each(?)) AND removed_at IS NULL"#,
        ids
    )
    .fetch_all(connection)
    .await
}

/// Clients of exactly that name, letter case left aside: two people may share one.
pub async fn named(connection: &mut SqliteConnection, name: &str) -> Result<Vec<Client>, sqlx::Error> {
    sqlx::query_as!(
        Client,
        r#"SELECT id AS "id: ClientId", version, name, email, phone, address, note FROM client
        WHERE removed_at IS NULL AND lower(name) = lower(?) ORDER BY id"#,
        name
    )
    .fetch_all(connection)
    .await
}

/// A few clients whose name is near to this one.
pub async fn near(connection: &mut SqliteConnection, name: &str) -> Result<Vec<Client>, sqlx::Error> {
    let names = sqlx::query_scalar!("SELECT DISTINCT name FROM client WHERE removed_at IS NULL")
        .fetch_all(&mut *connection)
        .await?;
    let near = json_list(&near_names::near(name, names.iter().map(String::as_str), 5));
    sqlx::query_as!(
        Client,
        r#"SELECT id AS "id: ClientId", version, name, email, phone, address, note FROM client
        WHERE removed_at IS NULL AND name IN (SELECT value FROM json_each(?)) ORDER BY name, id LIMIT 5"#,
        near
    )
    .fetch_all(connection)
    .await
}

/// Adds a client.
pub async fn add(connection: &mut SqliteConnection, client: &NewClient) -> Result<ClientId, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO client (name, email, phone, address, note) VALUES (?, ?, ?, ?, ?)",
        client.name,
        client.email,
        client.phone,
        client.address,
        client.note
    )
    .execute(connection)
    .await?;
    Ok(ClientId(added.last_insert_rowid()))
}

/// Changes a client and counts the save.
pub async fn change(
    connection: &mut SqliteConnection,
    id: ClientId,
    client: &NewClient,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "UPDATE client SET version = version + 1, name = ?, email = ?, phone = ?, address = ?, note = ? WHERE id = ?",
        client.name,
        client.email,
        client.phone,
        client.address,
        client.note,
        id
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Removes a client, or brings it back (`None`).
pub async fn set_removed(
    connection: &mut SqliteConnection,
    id: ClientId,
    at: Option<Moment>,
) -> Result<bool, sqlx::Error> {
    let done =
        sqlx::query!("UPDATE client SET removed_at = ? WHERE id = ?", at, id).execute(connection).await?;
    Ok(done.rows_affected() == 1)
}
