//! The pages of placed orders: placing (it asks first), the list, an order with what was said of it, its papers.

mod answering;
mod asking;
mod cancelling;
mod list;
mod order_page;
mod papers;

use std::collections::HashMap;

use axum::Router;
use axum::routing::{get, post};
use sqlx::SqliteConnection;

use super::{PlacedOrder, Said, store};
use crate::events;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, PlacedOrderId};
use crate::web::answer::Trouble;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/stem-order/placing", get(asking::show).post(asking::place))
        .route("/orders", get(list::show))
        .route("/orders/{id}", get(order_page::show))
        .route("/orders/{id}/paper", get(papers::paper))
        .route("/orders/{id}/deliveries/{delivery}/answer", post(answering::answer))
        .route("/orders/{id}/deliveries/{delivery}/confirmation", post(answering::confirm))
        .route("/orders/{id}/restoration/{upto}/{seen}", post(answering::restore))
        .route("/orders/{id}/cancellation", get(cancelling::show).post(cancelling::cancel))
}

/// What events are called, for orders that name them.
struct EventNames(HashMap<EventId, (String, Day)>);

impl EventNames {
    async fn of(
        connection: &mut SqliteConnection,
        orders: &[PlacedOrder],
    ) -> Result<EventNames, sqlx::Error> {
        let mut ids: Vec<EventId> = orders.iter().flat_map(|order| order.events.iter().copied()).collect();
        ids.sort_unstable();
        ids.dedup();
        let events = events::store::events(connection, &ids).await?;
        Ok(EventNames(events.into_iter().map(|event| (event.id, (event.name, event.day))).collect()))
    }

    fn name(&self, id: EventId) -> &str {
        self.0.get(&id).map_or("an event that was removed", |(name, _)| name)
    }

    /// Those that are still in the book, by day.
    fn known(&self, ids: &[EventId]) -> Vec<(EventId, &str, Day)> {
        let known = ids.iter().filter_map(|id| self.0.get(id).map(|(name, day)| (*id, name.as_str(), *day)));
        let mut known: Vec<(EventId, &str, Day)> = known.collect();
        known.sort_by_key(|(id, _, day)| (*day, *id));
        known
    }
}

async fn order_or_trouble(
    connection: &mut SqliteConnection,
    id: PlacedOrderId,
) -> Result<PlacedOrder, Trouble> {
    store::order(connection, id).await?.ok_or(Trouble::NotFound("order"))
}

/// The last thing that is known of some rows of a history; 0 where nothing is.
fn last_of<'a>(said: impl Iterator<Item = &'a Said>) -> i64 {
    said.map(|said| said.id).max().unwrap_or(0)
}

/// `1 stem`, `8 stems`.
fn stems(count: i64) -> String {
    if count == 1 { "1 stem".into() } else { format!("{count} stems") }
}

/// `1 pack`, `8 packs`.
fn packs(count: i64) -> String {
    if count == 1 { "1 pack".into() } else { format!("{count} packs") }
}
