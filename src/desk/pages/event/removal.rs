//! Taking an event out of the book. What clients, suppliers and accounts hold papers of is not taken out: it ends.

use axum::extract::State;
use sqlx::SqliteConnection;

use crate::accounts::store::{invoices, payments::ledger_of};
use crate::events::pages::event_or_trouble;
use crate::events::{self, Event};
use crate::ground::ids::EventId;
use crate::quotes;
use crate::stem_order::placing;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble};
use crate::web::flash::onward_undo;
use crate::web::path::Path;
use crate::web::state::App;

pub(in crate::desk) async fn remove(State(app): State<App>, visit: Visit, Path(id): Path<EventId>) -> Answer {
    let mut tx = app.book.write().await?;
    let event = event_or_trouble(&mut tx, id).await?;
    if let Some(why) = held(&mut tx, &event, &visit).await? {
        return Err(Trouble::Conflict(format!(
            "{} was not removed. {why} If it does not take place, say on its page that they called it off.",
            event.name
        )));
    }
    events::store::set_removed(&mut tx, id, Some(visit.now)).await?;
    tx.commit().await?;
    onward_undo(&app, "/events", format!("{} removed.", event.name), format!("/events/{id}/restoration"))
}

/// Why an event stays in the book, if it must: in the order of what weighs most.
async fn held(
    connection: &mut SqliteConnection,
    event: &Event,
    visit: &Visit,
) -> Result<Option<&'static str>, Trouble> {
    if !invoices::of_event(connection, event.id).await?.is_empty() {
        return Ok(Some("There are invoices for it, and they stay in the accounts."));
    }
    let ledger = ledger_of(connection, event.client_id).await?;
    if !ledger.of_event(event.id, visit.today).paid.is_zero() {
        return Ok(Some("There are payments for it, and they stay in the accounts."));
    }
    if !placing::store::orders_of_events(connection, &[event.id]).await?.is_empty() {
        return Ok(Some("Stems are ordered for it."));
    }
    let standing = quotes::store::standing(connection, &[event.id]).await?.remove(&event.id);
    let accepted = standing.is_some_and(|standing| standing.accepted.is_some());
    Ok(accepted.then_some("Its quote was accepted."))
}
