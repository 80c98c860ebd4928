//! Gathers what the calendar is made of: the rooms' own reads, a handful of queries however many events there are.

use sqlx::SqliteConnection;

use super::entries::{Known, entries};
use super::{Covered, Entry, Feed, store};
use crate::db::Book;
use crate::desk::outlook::{Desk, outlooks};
use crate::events;
use crate::ground::ids::EventId;
use crate::prep::event_work;
use crate::pull_list::loans::bookings::Span;
use crate::pull_list::loans::store::{self as loan_store, LoansError, MOST_DAYS};
use crate::stem_order::placing;
use crate::stem_order::store::planning::OrderError;
use crate::web::chance::secret;

/// Flowers are ordered at most so long before their event: the longest cut-off, and a holding life behind it.
const FARTHEST: i64 = 75;
/// An event that was called off so many days ago is still told of.
const CALLED_OFF_DAYS: i64 = 30;

/// Every entry of some days.
pub async fn gather(
    connection: &mut SqliteConnection,
    desk: &Desk<'_>,
    covered: Covered,
) -> Result<Vec<Entry>, OrderError> {
    // Loans come back, strikes end and quotes hold after their event.
    let from = covered.from.plus(-MOST_DAYS);
    let open = events::store::open_between(connection, from, covered.to.plus(FARTHEST)).await?;
    let since = desk.now.day.plus(-CALLED_OFF_DAYS);
    let called_off = events::store::called_off_between(connection, from, covered.to, since).await?;
    let ids: Vec<EventId> = open.iter().map(|event| event.id).collect();
    let work = event_work::store::event_works(connection, &ids).await?;
    let outlooks = outlooks(connection, desk, open).await?;
    let deliveries = placing::store::deliveries_between(connection, covered.from, covered.to).await?;
    let span = Span { from: covered.from, to: covered.to };
    let formats = desk.studio.formats;
    let loans = match loan_store::booked(connection, span, &formats).await {
        Err(LoansError::Recipes(_)) => None,
        Err(LoansError::Book(error)) => return Err(error.into()),
        Ok(loans) => Some(loans),
    };
    let known = Known {
        outlooks: &outlooks,
        called_off: &called_off,
        deliveries: &deliveries,
        loans: loans.as_deref(),
        work: &work,
        formats,
    };
    Ok(entries(&known, covered))
}

/// The calendar's row, made where it is not there yet.
pub async fn feed_or_begun(book: &Book, connection: &mut SqliteConnection) -> Result<Feed, anyhow::Error> {
    if let Some(feed) = store::feed(connection).await? {
        return Ok(feed);
    }
    let mut tx = book.write().await?;
    store::begin(&mut tx, &secret()?).await?;
    let feed = store::feed(&mut tx).await?;
    tx.commit().await?;
    feed.ok_or_else(|| anyhow::anyhow!("the calendar's row is not there after it was made"))
}
