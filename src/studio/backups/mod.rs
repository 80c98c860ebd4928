//! The studio's backups: one a day beside the book, a copy in a second place if she names one, old ones thinned out.
//! The files themselves are `db::backups`' business; this room knows the second place and shows what lies where.

pub mod forms;
pub mod pages;
pub mod store;

use std::path::Path;

use crate::db::{Book, BookError, backups};
use crate::ground::dates::{Day, Moment};

/// Where a second copy of each day's backup goes; an empty folder is none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Counts saves; 0 where nothing was ever saved.
    pub version: i64,
    /// An absolute path, or nothing.
    pub folder: String,
}

/// Makes the day's backup where it is not made yet, and brings the second place up to date.
///
/// # Errors
/// Where a copy cannot be made, checked or named; where the second place is not there. The book is not touched.
pub async fn see_to(book: &Book, now: Moment) -> Result<(), BookError> {
    let reading =
        |error| BookError::Unusable { path: book.path().to_owned(), source: anyhow::Error::from(error) };
    let mut connection = book.read().await.map_err(reading)?;
    let zone = super::store::studio(&mut connection).await.map_err(reading)?.zone;
    let place = store::place(&mut connection).await.map_err(reading)?;
    drop(connection);
    let today = Day(now.0.to_zoned_datetime(zone).date());
    if backups::daily(book, today).await? {
        tracing::info!("The backup of {today} is made and whole.");
    }
    if !place.folder.is_empty() && backups::carry(book, today, Path::new(&place.folder)).await? {
        tracing::info!("The backup of {today} is in {} too.", place.folder);
    }
    Ok(())
}
