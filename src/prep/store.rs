//! Reads all that the prep plan is computed from. This room has no tables of its own.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::plan::{Pack, PrepInputs};
use crate::events;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId};
use crate::price_list::{self, Material};
use crate::stem_order::store::{LoadError, load_weekend};
use crate::studio::Studio;

/// Everything the prep plan of some events is computed from; packs as they are sold on a day.
pub async fn load(
    connection: &mut SqliteConnection,
    studio: &Studio,
    events: &[EventId],
    today: Day,
) -> Result<PrepInputs, LoadError> {
    let weekend = load_weekend(connection, studio, events).await?;
    let ids: Vec<EventId> = weekend.events.iter().map(|event| event.event.id).collect();
    let pieces = events::store::pieces(connection, &ids).await?;
    let fresh: Vec<MaterialId> = weekend
        .book
        .materials
        .values()
        .filter(|material| material.is_fresh())
        .map(|material: &Material| material.id)
        .collect();
    let packs = packs(connection, &fresh, today).await?;
    Ok(PrepInputs { weekend, pieces, packs, deliveries: Vec::new() })
}

/// The pack in which each material is bought by preference.
async fn packs(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    on: Day,
) -> Result<HashMap<MaterialId, Pack>, sqlx::Error> {
    let costs = price_list::store::unit_costs(connection, materials, on).await?;
    let pack = |cost: price_list::UnitCost| Pack { name: cost.pack_name, size: cost.pack_size };
    Ok(costs.into_iter().map(|(material, cost)| (material, pack(cost))).collect())
}
