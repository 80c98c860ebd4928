//! All SQL of the calendar's own table.

use sqlx::SqliteConnection;

use super::Feed;
use crate::ground::dates::Moment;

/// The calendar's row; none where the calendar was never used.
pub async fn feed(connection: &mut SqliteConnection) -> Result<Option<Feed>, sqlx::Error> {
    let row = sqlx::query!(
        r#"SELECT version, book, token, token_at AS "token_at: Moment", reminder FROM calendar_feed WHERE id = 1"#
    )
    .fetch_optional(connection)
    .await?;
    Ok(row.map(|row| Feed {
        version: row.version,
        book: row.book,
        token: row.token.zip(row.token_at),
        reminder: row.reminder,
    }))
}

/// Makes the row, unless it is there.
pub async fn begin(connection: &mut SqliteConnection, book: &str) -> Result<(), sqlx::Error> {
    sqlx::query!("INSERT INTO calendar_feed (id, book) VALUES (1, ?) ON CONFLICT (id) DO NOTHING", book)
        .execute(connection)
        .await
        .map(drop)
}

/// Opens a feed at a new address, which ends an earlier one; or ends it (`None`).
pub async fn set_token(
    connection: &mut SqliteConnection,
    token: Option<(&str, Moment)>,
) -> Result<(), sqlx::Error> {
    let (token, at) = token.unzip();
    sqlx::query!("UPDATE calendar_feed SET token = ?, token_at = ? WHERE id = 1", token, at)
        .execute(connection)
        .await
        .map(drop)
}

/// Sets how long before orders close the reader's calendar rings, and counts the save.
pub async fn set_reminder(
    connection: &mut SqliteConnection,
    minutes: Option<i64>,
) -> Result<(), sqlx::Error> {
    sqlx::query!("UPDATE calendar_feed SET version = version + 1, reminder = ? WHERE id = 1", minutes)
        .execute(connection)
        .await
        .map(drop)
}
