//! Pictures and signs: each is a picture, as large as it says, and belongs to something.

use std::collections::BTreeSet;
use std::io::Cursor;

use futures_util::TryStreamExt;
use image::ImageReader;
use sqlx::SqliteConnection;

use super::Finding;

pub(super) async fn findings(connection: &mut SqliteConnection) -> Result<Vec<Finding>, sqlx::Error> {
    let mut unread = Vec::new();
    let mut pictures =
        sqlx::query!("SELECT id, width, height, full, small FROM picture").fetch(&mut *connection);
    while let Some(row) = pictures.try_next().await? {
        if size(&row.full) != Some((row.width, row.height)) || size(&row.small).is_none() {
            unread.push(format!("picture {}", row.id));
        }
    }
    drop(pictures);
    let mut signs = sqlx::query!("SELECT id, width, height, image FROM logo").fetch(&mut *connection);
    while let Some(row) = signs.try_next().await? {
        if size(&row.image) != Some((row.width, row.height)) {
            unread.push(format!("sign {}", row.id));
        }
    }
    drop(signs);
    let found = [
        Finding::wrong("A picture cannot be read, or is not as large as it says", unread),
        Finding::wrong("A paper that was sent shows a picture that is not there", missing(connection).await?),
        Finding::note(
            "A picture that no recipe shows now; it is kept for an undo",
            unused(connection).await?,
        ),
    ];
    Ok(found.into_iter().flatten().collect())
}

/// Read from its first bytes: the whole of it was decoded when it was taken in.
fn size(bytes: &[u8]) -> Option<(i64, i64)> {
    let reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format().ok()?;
    let (width, height) = reader.into_dimensions().ok()?;
    Some((width.into(), height.into()))
}

async fn missing(connection: &mut SqliteConnection) -> Result<Vec<String>, sqlx::Error> {
    let named: Vec<(i64, Option<i64>)> = sqlx::query_as(
        "SELECT quote_version.id, json_extract(member.value, '$.picture') FROM quote_version,
            json_each(document, '$.document.places') AS place, json_each(place.value, '$.lines') AS member
        WHERE json_extract(member.value, '$.picture') IS NOT NULL",
    )
    .fetch_all(&mut *connection)
    .await?;
    let there: Vec<i64> = sqlx::query_scalar("SELECT id FROM picture").fetch_all(connection).await?;
    let there: BTreeSet<i64> = there.into_iter().collect();
    let missing = named.into_iter().filter_map(|(version, picture)| {
        let picture = picture.filter(|picture| !there.contains(picture))?;
        Some(format!("picture {picture} in version row {version}"))
    });
    Ok(missing.collect())
}

async fn unused(connection: &mut SqliteConnection) -> Result<Vec<String>, sqlx::Error> {
    let unused: Vec<i64> = sqlx::query_scalar(
        "SELECT id FROM picture WHERE id NOT IN (SELECT picture_id FROM recipe WHERE picture_id IS NOT NULL)
            AND id NOT IN (SELECT json_extract(member.value, '$.picture') FROM quote_version,
                json_each(document, '$.document.places') AS place, json_each(place.value, '$.lines') AS member
                WHERE json_extract(member.value, '$.picture') IS NOT NULL)",
    )
    .fetch_all(connection)
    .await?;
    Ok(unused.into_iter().map(|id| format!("picture {id}")).collect())
}
