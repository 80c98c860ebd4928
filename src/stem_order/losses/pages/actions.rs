//! What the studio may do about a rate with one press: count anew, let the counts speak, write the rate into the price
//! list. Each can be taken back, unless someone saved since.

use axum::extract::State;
use serde::Deserialize;

use super::super::forms::{MOST_LOST, UndoQuery};
use super::super::{LossRule, store};
use super::material_page::{rate, undo};
use crate::ground::ids::MaterialId;
use crate::ground::quantity::Share;
use crate::price_list;
use crate::price_list::entries::NewMaterial;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

/// What was seen when the button was pressed.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Seen {
    version: String,
}

const MEANWHILE: &str = "Someone else changed this meanwhile, so nothing was done. Go back, look at the page again, and decide anew.";

/// Counts from today on.
pub(super) async fn reset(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<MaterialId>,
    Form(seen): Form<Seen>,
) -> Answer {
    let today = visit.today;
    change(&app, visit, id, &seen, "counted anew from today on", |rule| LossRule {
        counted_from: Some(today),
        ..rule
    })
    .await
}

/// Lets the counts speak again.
pub(super) async fn release(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<MaterialId>,
    Form(seen): Form<Seen>,
) -> Answer {
    change(&app, visit, id, &seen, "learned from its counts again", |rule| LossRule {
        overruled: None,
        ..rule
    })
    .await
}

async fn change(
    app: &App,
    mut visit: Visit,
    id: MaterialId,
    seen: &Seen,
    done: &str,
    to: impl Fn(LossRule) -> LossRule,
) -> Answer {
    let name = rate(&mut visit, id).await?.material.name;
    let mut tx = app.book.write().await?;
    let before = store::rule(&mut tx, id).await?;
    if before.version.to_string() != seen.version {
        return Err(Trouble::Conflict(MEANWHILE.into()));
    }
    store::keep_rule(&mut tx, id, &to(before)).await?;
    tx.commit().await?;
    onward_undo(app, format!("/losses/{id}"), format!("The loss of {name} is {done}."), undo(id, &before))
}

/// Takes a change back.
pub(super) async fn restore(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<MaterialId>,
    Query(query): Query<UndoQuery>,
) -> Answer {
    rate(&mut visit, id).await?;
    let before = query.rule().ok_or(Trouble::NotFound("change"))?;
    let mut tx = app.book.write().await?;
    if store::rule(&mut tx, id).await?.version != before.version {
        return Err(Trouble::Conflict(MEANWHILE.into()));
    }
    store::keep_rule(&mut tx, id, &before).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/losses/{id}"), "As it was before.")
}

/// Writes the rate into the price list as the material's usual loss, so that quotes reckon with it.
pub(super) async fn write_to_price_list(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<MaterialId>,
    Form(seen): Form<Seen>,
) -> Answer {
    let rate = rate(&mut visit, id).await?;
    let share = rate.share();
    if share > MOST_LOST {
        let most = visit.studio.formats.share(MOST_LOST);
        return Err(Trouble::Conflict(format!("The price list takes a loss of {most} at most.")));
    }
    let before = keep_loss(&app, id, &seen.version, Some(share)).await?;
    let version = seen.version.parse::<i64>().unwrap_or(0).saturating_add(1);
    let loss = before.map(|loss| loss.raw().to_string()).unwrap_or_default();
    let said = format!(
        "{} is now the usual loss of {} in the price list; new quotes reckon with it.",
        visit.studio.formats.share(share),
        rate.material.name
    );
    let undo = format!("/losses/{id}/price-list/restoration?version={version}&overruled={loss}");
    onward_undo(&app, format!("/losses/{id}"), said, undo)
}

/// Puts the price list's former loss back.
pub(super) async fn restore_price_list(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<MaterialId>,
    Query(query): Query<UndoQuery>,
) -> Answer {
    rate(&mut visit, id).await?;
    let loss = query.overruled().ok_or(Trouble::NotFound("change"))?;
    keep_loss(&app, id, &query.version.to_string(), loss).await?;
    onward_saying(&app, format!("/losses/{id}"), "The price list is as it was before.")
}

/// Keeps a usual loss where the material is still as it was seen; gives the loss before.
async fn keep_loss(
    app: &App,
    id: MaterialId,
    seen: &str,
    loss: Option<Share>,
) -> Result<Option<Share>, Trouble> {
    let mut tx = app.book.write().await?;
    let material = price_list::store::materials(&mut tx, &[id]).await?.remove(&id);
    let material = material.ok_or(Trouble::NotFound("material"))?;
    if material.version.to_string() != seen {
        return Err(Trouble::Conflict(MEANWHILE.into()));
    }
    let changed = NewMaterial { loss, ..NewMaterial::from(&material) };
    price_list::store::change_material(&mut tx, id, &changed).await?;
    tx.commit().await?;
    Ok(material.loss)
}
