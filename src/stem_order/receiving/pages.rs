//! The pages of this room: what comes when, a delivery to count in, its sheet, and losses at the bench.

mod bench;
mod delivery;
mod figures;
mod list;
mod saving;
mod sheet;
mod trouble_cards;

use axum::Router;
use axum::routing::{get, post};

use super::Receipt;
use super::store;
use crate::ground::ids::{PlacedDeliveryId, PlacedLineId};
use crate::stem_order::placing::{self, PlacedDelivery};
use crate::studio::visit::Visit;
use crate::web::answer::Trouble;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/receiving", get(list::show))
        .route("/receiving/{delivery}", get(delivery::show).post(saving::save))
        .route("/receiving/{delivery}/figures", post(figures::figures))
        .route("/receiving/{delivery}/restoration", post(saving::restore))
        .route("/receiving/{delivery}/sheet", get(sheet::show))
        .route("/bench-losses", get(bench::show).post(bench::book))
        .route("/bench-losses/{loss}/removal", post(bench::remove))
        .route("/bench-losses/{loss}/restoration", post(bench::restore))
}

/// A delivery with what is counted of it.
async fn counted(visit: &mut Visit, id: PlacedDeliveryId) -> Result<(PlacedDelivery, Vec<Receipt>), Trouble> {
    let delivery = placing::store::delivery(&mut visit.connection, id).await?;
    let delivery = delivery.ok_or(Trouble::NotFound("delivery"))?;
    let receipts = store::receipts(&mut visit.connection, &lines_of(&delivery)).await?;
    Ok((delivery, receipts))
}

fn lines_of(delivery: &PlacedDelivery) -> Vec<PlacedLineId> {
    delivery.lines.iter().map(|line| line.id).collect()
}
