//! What can be bought for an order: suppliers, their offers on each delivery day, and who sells a material at all.

use std::collections::BTreeSet;

use sqlx::SqliteConnection;

use crate::ground::dates::{Day, Season};
use crate::ground::ids::{MaterialId, SupplierId, json_list};
use crate::price_list;
use crate::price_list::Supplier;
use crate::stem_order::calendar::delivers;
use crate::stem_order::closed_days::ClosedDays;
use crate::stem_order::order::Sold;
use crate::stem_order::posed::Market;

/// The offers for some materials on some delivery days, with the price and in the season of each day.
pub(super) async fn market(
    connection: &mut SqliteConnection,
    (suppliers, closed): (Vec<Supplier>, ClosedDays),
    materials: &[MaterialId],
    days: BTreeSet<Day>,
) -> Result<Market, sqlx::Error> {
    let mut offers = price_list::store::offers_on(connection, materials, &days).await?;
    for (day, offers) in &mut offers {
        offers.retain(|offer| {
            let supplier = suppliers.iter().find(|supplier| supplier.id == offer.supplier_id);
            supplier.is_some_and(|supplier| delivers(supplier, *day, &closed))
        });
    }
    Ok(Market { suppliers, offers, closed })
}

/// Who sells these materials at all, whatever the day and the price.
pub(super) async fn sold(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
) -> Result<Vec<Sold>, sqlx::Error> {
    let materials = json_list(materials);
    sqlx::query_as!(
        Sold,
        r#"SELECT material_id AS "material: MaterialId", supplier_id AS "supplier: SupplierId",
            season AS "season: Season"
        FROM offer JOIN supplier ON supplier.id = supplier_id AND supplier.removed_at IS NULL
        WHERE material_id IN (SELECT value FROM json_each(?)) AND offer.removed_at IS NULL
        ORDER BY supplier.name, offer.id"#,
        materials
    )
    .fetch_all(connection)
    .await
}
