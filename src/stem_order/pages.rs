//! The pages of this room: choose events, the order, the suppliers' papers, reserving its stock.

mod choice;
mod order_page;
mod papers;
mod pictures;
mod stock;

use axum::Router;
use axum::routing::{get, post};

use super::choices::pins::Pins;
use super::forms::OrderQuery;
use super::store::LoadError;
use super::store::planning::{Asked, OrderError, Ordered, plan_order, time_limit};
use crate::events::{self, Event};
use crate::studio::visit::Visit;
use crate::web::answer::Trouble;
use crate::web::forms::FieldErrors;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/stem-order", get(order_page::show))
        .route("/stem-order.csv", get(papers::whole_csv))
        .route("/stem-order/stock", post(stock::keep))
        .route("/stem-order/suppliers/{paper}", get(papers::supplier))
        .merge(super::choices::pages::routes())
        .merge(super::closed_days::pages::routes())
        .merge(super::stock::pages::routes())
        .merge(super::losses::pages::routes())
        .merge(super::placing::pages::routes())
        .merge(super::receiving::pages::routes())
}

/// What a query asks for, with the message where the day cannot be read: the order is then planned by the calendar.
pub(super) fn asked(visit: &Visit, query: &OrderQuery) -> Result<(Asked, FieldErrors), Trouble> {
    let events = query.events().ok_or(Trouble::NotFound("event"))?;
    let (deliveries, errors) = match query.deliveries(&visit.studio.formats) {
        Ok(deliveries) => (deliveries, FieldErrors::default()),
        Err(errors) => (super::calendar::Deliveries::ByCalendar, errors),
    };
    Ok((Asked { events, deliveries, pins: Pins::read(&query.pin), anew: false }, errors))
}

/// Plans an order. Unknown events are not found; those that were called off are left out, with a warning.
pub(super) async fn planned(mut visit: Visit, asked: &Asked) -> Result<(Visit, Ordered), Trouble> {
    let known = known_events(&mut visit, asked).await?;
    let (book, studio, now) = (visit.app.book.clone(), std::sync::Arc::clone(&visit.studio), visit.now);
    let limit = time_limit(&studio);
    let (visit, ordered) = visit.apart(plan_order(&book, &studio, asked, now, limit)).await?;
    let mut ordered = ordered.map_err(no_order)?;
    let off = known.iter().filter(|event| !event.is_open());
    let off = off.map(|event| format!("{} was called off: it is not in this order.", event.name));
    ordered.order.warnings.splice(0..0, off);
    Ok((visit, ordered))
}

/// The events that are asked for, each of which must be known.
pub(super) async fn known_events(visit: &mut Visit, asked: &Asked) -> Result<Vec<Event>, Trouble> {
    let known = events::store::events(&mut visit.connection, &asked.events).await?;
    if known.len() < asked.events.len() { Err(Trouble::NotFound("event")) } else { Ok(known) }
}

/// What is said where there is no order.
pub(super) fn no_order(error: OrderError) -> Trouble {
    match error {
        OrderError::Load(LoadError::Weekend(cause)) => Trouble::Conflict(cause.to_string()),
        other => Trouble::from(other),
    }
}
