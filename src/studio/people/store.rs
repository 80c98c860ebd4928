//! All SQL of people, passphrases and sessions.

use sqlx::SqliteConnection;

use super::{Caller, NewPerson, Person, Role, Session, Signed, name_key};
use crate::ground::dates::Moment;
use crate::ground::ids::PersonId;

/// A session with the person whose it is.
#[derive(Debug)]
pub struct Found {
    /// Who.
    pub caller: Caller,
    /// When it was last used.
    pub seen_at: Moment,
    /// When it ends.
    pub ends_at: Moment,
}

/// Everybody who may come in, owners first, by name.
pub async fn people(connection: &mut SqliteConnection) -> Result<Vec<Person>, sqlx::Error> {
    sqlx::query_as!(
        Person,
        r#"SELECT id AS "id: PersonId", version, name, role AS "role: Role",
            EXISTS (SELECT 1 FROM passphrase WHERE person_id = person.id) AS "has_passphrase: bool"
        FROM person WHERE removed_at IS NULL
        ORDER BY CASE role WHEN 'owner' THEN 0 WHEN 'desk' THEN 1 ELSE 2 END, name_key"#
    )
    .fetch_all(connection)
    .await
}

/// Someone who may come in.
pub async fn person(connection: &mut SqliteConnection, id: PersonId) -> Result<Option<Person>, sqlx::Error> {
    Ok(people(connection).await?.into_iter().find(|person| person.id == id))
}

/// The name of someone who was removed.
pub async fn removed_name(
    connection: &mut SqliteConnection,
    id: PersonId,
) -> Result<Option<String>, sqlx::Error> {
    sqlx::query_scalar!("SELECT name FROM person WHERE id = ? AND removed_at IS NOT NULL", id)
        .fetch_optional(connection)
        .await
}

/// Whether somebody else has the name.
pub async fn is_taken(
    connection: &mut SqliteConnection,
    name: &str,
    but: Option<PersonId>,
) -> Result<bool, sqlx::Error> {
    let people = people(connection).await?;
    Ok(people.iter().any(|person| Some(person.id) != but && name_key(&person.name) == name_key(name)))
}

/// Who has the name, and the hash of their passphrase.
pub async fn by_name(
    connection: &mut SqliteConnection,
    name: &str,
) -> Result<Option<(PersonId, String)>, sqlx::Error> {
    let key = name_key(name);
    let row = sqlx::query!(
        r#"SELECT p.id AS "id: PersonId", s.hash FROM person p JOIN passphrase s ON s.person_id = p.id
        WHERE p.name_key = ? AND p.removed_at IS NULL"#,
        key
    )
    .fetch_optional(connection)
    .await?;
    Ok(row.map(|row| (row.id, row.hash)))
}

/// The hash of someone's passphrase.
pub async fn hash_of(connection: &mut SqliteConnection, id: PersonId) -> Result<Option<String>, sqlx::Error> {
    sqlx::query_scalar!("SELECT hash FROM passphrase WHERE person_id = ?", id)
        .fetch_optional(connection)
        .await
}

/// How many owners can log in, leaving one aside.
pub async fn owners_but(
    connection: &mut SqliteConnection,
    but: Option<PersonId>,
) -> Result<usize, sqlx::Error> {
    let people = people(connection).await?;
    let counts =
        |person: &&Person| person.role == Role::Owner && person.has_passphrase && Some(person.id) != but;
    Ok(people.iter().filter(counts).count())
}

/// Lets someone in.
pub async fn add(connection: &mut SqliteConnection, new: &NewPerson) -> Result<PersonId, sqlx::Error> {
    let key = name_key(&new.name);
    let id =
        sqlx::query!("INSERT INTO person (name, name_key, role) VALUES (?, ?, ?)", new.name, key, new.role)
            .execute(connection)
            .await?
            .last_insert_rowid();
    Ok(PersonId(id))
}

/// Changes a name and a role.
pub async fn change(
    connection: &mut SqliteConnection,
    id: PersonId,
    new: &NewPerson,
) -> Result<(), sqlx::Error> {
    let key = name_key(&new.name);
    sqlx::query!(
        "UPDATE person SET version = version + 1, name = ?, name_key = ?, role = ? WHERE id = ?",
        new.name,
        key,
        new.role,
        id
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Keeps the hash of a passphrase.
pub async fn keep_hash(
    connection: &mut SqliteConnection,
    id: PersonId,
    hash: &str,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO passphrase (person_id, hash) VALUES (?, ?)
        ON CONFLICT (person_id) DO UPDATE SET hash = excluded.hash",
        id,
        hash
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Shuts someone out, or lets them in again. Whether there was such a one.
pub async fn set_removed(
    connection: &mut SqliteConnection,
    id: PersonId,
    removed: Option<Moment>,
) -> Result<bool, sqlx::Error> {
    let done = sqlx::query!(
        "UPDATE person SET version = version + 1, removed_at = ?1 WHERE id = ?2 AND (removed_at IS NULL) = (?1 IS NOT NULL)",
        removed,
        id
    )
    .execute(connection)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Begins a session.
pub async fn begin(
    connection: &mut SqliteConnection,
    person: PersonId,
    session: &Session,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO session (token_hash, person_id, device, begun_at, seen_at, ends_at) VALUES (?, ?, ?, ?, ?, ?)",
        session.token_hash,
        person,
        session.device,
        session.begun_at,
        session.seen_at,
        session.ends_at
    )
    .execute(connection)
    .await
    .map(drop)
}

/// The session of a token, by the token's hash.
pub async fn find(connection: &mut SqliteConnection, token_hash: &str) -> Result<Option<Found>, sqlx::Error> {
    let row = sqlx::query!(
        r#"SELECT p.id AS "id: PersonId", p.name, p.role AS "role: Role",
            s.seen_at AS "seen_at: Moment", s.ends_at AS "ends_at: Moment"
        FROM session s JOIN person p ON p.id = s.person_id
        WHERE s.token_hash = ? AND p.removed_at IS NULL"#,
        token_hash
    )
    .fetch_optional(connection)
    .await?;
    Ok(row.map(|row| Found {
        caller: Caller {
            name: row.name,
            role: row.role,
            signed: Some(Signed { person: row.id, token_hash: token_hash.to_owned() }),
        },
        seen_at: row.seen_at,
        ends_at: row.ends_at,
    }))
}

/// Notes that a session was used.
pub async fn note_use(
    connection: &mut SqliteConnection,
    token_hash: &str,
    now: Moment,
) -> Result<(), sqlx::Error> {
    sqlx::query!("UPDATE session SET seen_at = ? WHERE token_hash = ?", now, token_hash)
        .execute(connection)
        .await
        .map(drop)
}

/// Someone's sessions that still hold, the latest used first.
pub async fn sessions(
    connection: &mut SqliteConnection,
    person: PersonId,
    (now, idle_since): (Moment, Moment),
) -> Result<Vec<Session>, sqlx::Error> {
    sqlx::query_as!(
        Session,
        r#"SELECT token_hash, device, begun_at AS "begun_at: Moment", seen_at AS "seen_at: Moment",
            ends_at AS "ends_at: Moment"
        FROM session WHERE person_id = ? AND ends_at > ? AND seen_at > ? ORDER BY seen_at DESC, token_hash"#,
        person,
        now,
        idle_since
    )
    .fetch_all(connection)
    .await
}

/// Ends one session.
pub async fn end(connection: &mut SqliteConnection, token_hash: &str) -> Result<(), sqlx::Error> {
    sqlx::query!("DELETE FROM session WHERE token_hash = ?", token_hash).execute(connection).await.map(drop)
}

/// Ends all sessions of someone but one. How many.
pub async fn end_all(
    connection: &mut SqliteConnection,
    person: PersonId,
    but: Option<&str>,
) -> Result<u64, sqlx::Error> {
    let but = but.unwrap_or_default();
    let done = sqlx::query!("DELETE FROM session WHERE person_id = ? AND token_hash <> ?", person, but)
        .execute(connection)
        .await?;
    Ok(done.rows_affected())
}

/// Removes what is over.
pub async fn sweep(
    connection: &mut SqliteConnection,
    (now, idle_since): (Moment, Moment),
) -> Result<(), sqlx::Error> {
    sqlx::query!("DELETE FROM session WHERE ends_at <= ? OR seen_at <= ?", now, idle_since)
        .execute(connection)
        .await
        .map(drop)
}
