//! The pages of the stock: what lies on hand, the count sheet on screen and on paper, a lot, left-overs of deliveries.

mod count;
mod left_overs;
mod list;
mod lot;

use std::collections::HashMap;

use axum::Router;
use axum::routing::{get, post};

use super::holding::Holding;
use crate::ground::ids::MaterialId;
use crate::price_list::{self, Material};
use crate::studio::visit::Visit;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/stock", get(list::list))
        .route("/stock/count", get(count::show).post(count::save))
        .route("/stock/sheet", get(list::sheet))
        .route("/stock/{lot}", get(lot::show).post(lot::save))
        .route("/stock/{lot}/write-off", post(lot::write_off))
        .route("/stock/write-offs/{change}/undo", post(lot::undo_write_off))
        .route("/left-overs", get(left_overs::show).post(left_overs::save))
        .route("/left-overs/{line}/undo", post(left_overs::undo))
        .route("/stock/reservations/{id}/release", post(lot::release))
        .route("/stock/reservations/{id}/restoration", post(lot::restore))
}

/// The materials of some lots, removed ones too.
async fn materials_of(
    visit: &mut Visit,
    holdings: &[Holding],
) -> Result<HashMap<MaterialId, Material>, sqlx::Error> {
    let mut ids: Vec<MaterialId> = holdings.iter().map(|holding| holding.lot.material).collect();
    ids.sort_unstable();
    ids.dedup();
    price_list::store::materials(&mut visit.connection, &ids).await
}

/// Lots with their materials: by kind, name and age.
fn sorted<'a>(
    holdings: &'a [Holding],
    materials: &'a HashMap<MaterialId, Material>,
) -> Vec<(&'a Holding, &'a Material)> {
    let known = holdings.iter().filter_map(|holding| Some((holding, materials.get(&holding.lot.material)?)));
    let mut known: Vec<_> = known.collect();
    known.sort_by_cached_key(|(holding, material)| {
        (material.kind, material.name.to_lowercase(), holding.lot.arrived_on, holding.lot.id)
    });
    known
}
