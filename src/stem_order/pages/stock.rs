//! Reserving what an order takes from stock, where that is not done by placing it.

use std::collections::BTreeSet;

use axum::extract::State;
use serde::Deserialize;

use super::{asked, planned};
use crate::ground::ids::EventId;
use crate::stem_order::forms::{OrderQuery, address};
use crate::stem_order::order::StemOrder;
use crate::stem_order::stock::store::{Reserving, reserve};
use crate::stem_order::store::planning::Ordered;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble};
use crate::web::flash::onward_saying;
use crate::web::forms::Form;
use crate::web::state::App;

/// The order whose stock is reserved, as hidden fields.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct ReserveForm {
    event: Vec<String>,
    day: String,
    pin: Vec<String>,
    /// What the page showed.
    once_key: String,
}

/// Once for exactly these pieces.
pub(super) fn once_key(order: &StemOrder) -> String {
    let uses: Vec<String> = order
        .from_stock
        .uses()
        .iter()
        .map(|one| format!("{}.{}.{}", one.lot, one.event, one.count))
        .collect();
    format!("stock {}", uses.join(" "))
}

pub(super) async fn keep(State(app): State<App>, visit: Visit, Form(form): Form<ReserveForm>) -> Answer {
    let query = OrderQuery { event: form.event, day: form.day, pin: form.pin };
    let (asked, _) = asked(&visit, &query)?;
    let (visit, Ordered { order, .. }) = planned(visit, &asked).await?;
    if once_key(&order) != form.once_key {
        return Err(Trouble::Conflict(
            "The order takes other pieces from stock now than the page showed. Look at it again, then reserve.".into(),
        ));
    }
    let events: BTreeSet<EventId> = order.events.iter().map(|event| event.id).collect();
    let events: Vec<EventId> = events.into_iter().collect();
    let mut tx = app.book.write().await?;
    let key = format!("{} {}", form.once_key, visit.now);
    let done = reserve(&mut tx, &key, (&events, &order.from_stock.uses()), (visit.today, visit.now)).await?;
    let said = match done {
        Reserving::Done => "Reserved: no other order takes it.",
        Reserving::Already => "It was reserved already.",
        Reserving::Short(_) => {
            return Err(Trouble::Conflict(
                "Another order took some of this stock meanwhile. Look at the order again.".into(),
            ));
        }
    };
    tx.commit().await?;
    onward_saying(&app, address("/stem-order", &asked), said)
}
