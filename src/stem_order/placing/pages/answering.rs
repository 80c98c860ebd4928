//! Writing down what a supplier answers, and taking the last word back: rows are added, none is changed.

use axum::extract::State;
use serde::Deserialize;

use super::order_page::OrderPage;
use super::{last_of, order_or_trouble, packs};
use crate::ground::ids::{PlacedDeliveryId, PlacedOrderId};
use crate::stem_order::placing::forms::{AnswerForm, as_placed};
use crate::stem_order::placing::store::{self, NewAnswer};
use crate::stem_order::placing::{PlacedDelivery, PlacedLine, PlacedOrder, Said};
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::Form;
use crate::web::path::Path;
use crate::web::state::App;

/// A row a line: packs and prices as the supplier confirms them.
pub(super) async fn answer(
    State(app): State<App>,
    mut visit: Visit,
    Path((id, delivery)): Path<(PlacedOrderId, PlacedDeliveryId)>,
    Form(form): Form<AnswerForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let (order, history) = known(&mut tx, id).await?;
    let of = delivery_of(&order, delivery)?;
    let parsed = form.parse(of, &visit.studio.formats).ok_or(Trouble::NotFound("line"))?;
    let overtaken = is_overtaken(&history, delivery, &form.seen);
    let (answers, note) = match parsed {
        Ok(parsed) if !overtaken => parsed,
        other => {
            drop(tx);
            let errors = other.err().unwrap_or_default();
            let mut shown = OrderPage::new(&mut visit, id).await?;
            (shown.form, shown.errors, shown.overtaken) = (Some((delivery, form)), errors, overtaken);
            return if overtaken { stale(&shown) } else { refused(&shown) };
        }
    };
    store::answer(&mut tx, &answers, &note, visit.now).await?;
    let last = last_of(store::history(&mut tx, id).await?.iter());
    tx.commit().await?;
    written(&app, &order, (last_of(history.iter()), last), &answers)
}

/// What is posted to confirm a delivery as it was placed.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct ConfirmForm {
    seen: String,
}

/// All of a delivery comes as placed.
pub(super) async fn confirm(
    State(app): State<App>,
    mut visit: Visit,
    Path((id, delivery)): Path<(PlacedOrderId, PlacedDeliveryId)>,
    Form(form): Form<ConfirmForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let (order, history) = known(&mut tx, id).await?;
    let answers = as_placed(delivery_of(&order, delivery)?);
    if is_overtaken(&history, delivery, &form.seen) {
        drop(tx);
        let mut shown = OrderPage::new(&mut visit, id).await?;
        shown.overtaken = true;
        return stale(&shown);
    }
    store::answer(&mut tx, &answers, "", visit.now).await?;
    let last = last_of(store::history(&mut tx, id).await?.iter());
    tx.commit().await?;
    written(&app, &order, (last_of(history.iter()), last), &answers)
}

/// Everything that was written down after `upto` is taken back, by rows that say what was known then. `seen` is the
/// last row there was: where another came since, or the press came twice, nothing is done.
pub(super) async fn restore(
    State(app): State<App>,
    visit: Visit,
    Path((id, upto, seen)): Path<(PlacedOrderId, i64, i64)>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let (order, history) = known(&mut tx, id).await?;
    let path = format!("/orders/{id}");
    if last_of(history.iter()) != seen {
        return onward_saying(&app, path, "Nothing was taken back: something else was written down since.");
    }
    let answers = as_known_at(&order, &history, upto);
    store::answer(&mut tx, &answers, "", visit.now).await?;
    tx.commit().await?;
    onward_saying(&app, path, "Taken back: the lines stand as they did before.")
}

/// For each line of which something was said after a row, what was known then.
fn as_known_at(order: &PlacedOrder, history: &[Said], upto: i64) -> Vec<NewAnswer> {
    let of = |line: &PlacedLine| {
        let mut said = history.iter().filter(|said| said.line_id == line.id);
        let then = said.clone().rev().find(|said| said.id <= upto);
        if !said.any(|said| said.id > upto) {
            return None;
        }
        let (kind, packs, price) =
            then.map_or((None, line.packs, line.price), |said| (said.kind, said.packs, said.price));
        Some(NewAnswer { line_id: line.id, kind, packs, price })
    };
    order.lines().filter_map(of).collect()
}

async fn known(
    connection: &mut sqlx::SqliteConnection,
    id: PlacedOrderId,
) -> Result<(PlacedOrder, Vec<Said>), Trouble> {
    let order = order_or_trouble(connection, id).await?;
    let history = store::history(connection, id).await?;
    Ok((order, history))
}

fn delivery_of(order: &PlacedOrder, id: PlacedDeliveryId) -> Result<&PlacedDelivery, Trouble> {
    order.deliveries.iter().find(|delivery| delivery.id == id).ok_or(Trouble::NotFound("delivery"))
}

/// Whether something was written down of a delivery after the page was made.
fn is_overtaken(history: &[Said], delivery: PlacedDeliveryId, seen: &str) -> bool {
    let last = last_of(history.iter().filter(|said| said.delivery_id == delivery));
    seen.trim().parse() != Ok(last)
}

/// On to the order, with an undo that brings back what was known before.
fn written(app: &App, order: &PlacedOrder, (before, last): (i64, i64), answers: &[NewAnswer]) -> Answer {
    let path = format!("/orders/{}", order.id);
    if answers.is_empty() {
        return onward_saying(app, path, "That was known already: nothing new was written down.");
    }
    let short = |answer: &NewAnswer| {
        let line = order.lines().find(|line| line.id == answer.line_id)?;
        Some((line.packs - answer.packs).max(0))
    };
    let missing: i64 = answers.iter().filter_map(short).sum();
    let saying = match missing {
        0 => format!("Written down: {} confirms.", order.supplier),
        missing => format!("Written down: {} short of what was placed.", packs(missing)),
    };
    onward_undo(app, path, saying, format!("/orders/{}/restoration/{before}/{last}", order.id))
}
