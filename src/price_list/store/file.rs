//! All SQL of taking a file in: the list as it is, the file between preview and taking in, the writes.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::super::entries::{NewMaterial, NewOffer, NewSupplier, PriceEntry};
use super::super::file::{KnownList, KnownOffer, Writes, key};
use super::{
    OffersOf, add_material, add_offer, add_price, add_supplier, change_material, change_offer,
    change_supplier, listed_offers, materials, suppliers,
};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{MaterialId, OfferId, OfferPriceId, SupplierId};
use crate::ground::money::Money;

/// The whole price list, without what is removed.
pub async fn known_list(connection: &mut SqliteConnection, today: Day) -> Result<KnownList, sqlx::Error> {
    let ids = sqlx::query_scalar!(r#"SELECT id AS "id: MaterialId" FROM material WHERE removed_at IS NULL"#)
        .fetch_all(&mut *connection)
        .await?;
    let mut known = KnownList::default();
    for (id, material) in materials(connection, &ids).await? {
        known.materials.insert(key(&material.name), (id, NewMaterial::from(&material)));
    }
    for supplier in suppliers(connection).await? {
        known.suppliers.insert(key(&supplier.name), (supplier.id, NewSupplier::from(&supplier)));
    }
    let mut prices = all_prices(connection).await?;
    for offer in listed_offers(connection, OffersOf::Everyone, today).await? {
        let prices = prices.remove(&offer.id).unwrap_or_default();
        let (id, offer) = (offer.id, NewOffer::from(&offer));
        known.offers.insert(KnownList::offer_key(&offer), KnownOffer { id, offer, prices });
    }
    Ok(known)
}

async fn all_prices(
    connection: &mut SqliteConnection,
) -> Result<HashMap<OfferId, Vec<PriceEntry>>, sqlx::Error> {
    let entries = sqlx::query_as!(
        PriceEntry,
        r#"SELECT id AS "id: OfferPriceId", offer_id AS "offer_id: OfferId", from_day AS "from_day: Day",
            until_day AS "until_day: Day", price AS "price: Money", recorded_at AS "recorded_at: Moment"
        FROM offer_price ORDER BY from_day, id"#
    )
    .fetch_all(connection)
    .await?;
    let mut prices: HashMap<OfferId, Vec<PriceEntry>> = HashMap::new();
    for entry in entries {
        prices.entry(entry.offer_id).or_default().push(entry);
    }
    Ok(prices)
}

/// A file that waits to be taken in.
#[derive(Debug, Clone)]
pub struct Upload {
    /// What the file is called.
    pub file_name: String,
    /// Its text.
    pub content: String,
}

/// Keeps a file between its preview and its taking in; those of more than a day ago go.
pub async fn keep_upload(
    connection: &mut SqliteConnection,
    upload: &Upload,
    now: Moment,
) -> Result<i64, sqlx::Error> {
    sqlx::query!("DELETE FROM price_list_upload WHERE datetime(uploaded_at) < datetime(?, '-1 day')", now)
        .execute(&mut *connection)
        .await?;
    let kept = sqlx::query!(
        "INSERT INTO price_list_upload (file_name, content, uploaded_at) VALUES (?, ?, ?)",
        upload.file_name,
        upload.content,
        now
    )
    .execute(connection)
    .await?;
    Ok(kept.last_insert_rowid())
}

/// A file that waits to be taken in.
pub async fn upload(connection: &mut SqliteConnection, id: i64) -> Result<Option<Upload>, sqlx::Error> {
    sqlx::query_as!(Upload, "SELECT file_name, content FROM price_list_upload WHERE id = ?", id)
        .fetch_optional(connection)
        .await
}

/// Lets a waiting file go.
pub async fn drop_upload(connection: &mut SqliteConnection, id: i64) -> Result<bool, sqlx::Error> {
    let gone = sqlx::query!("DELETE FROM price_list_upload WHERE id = ?", id).execute(connection).await?;
    Ok(gone.rows_affected() == 1)
}

/// Writes all that taking a file in means. The identities below nothing are replaced by the book's.
pub async fn write_all(
    connection: &mut SqliteConnection,
    writes: &Writes,
    now: Moment,
) -> Result<(), sqlx::Error> {
    let suppliers = write_suppliers(connection, writes).await?;
    let materials = write_materials(connection, writes, &suppliers).await?;
    let mut offers: HashMap<OfferId, OfferId> = HashMap::new();
    for (provisional, offer) in &writes.new_offers {
        let offer = NewOffer {
            supplier_id: kept(&suppliers, offer.supplier_id),
            material_id: kept(&materials, offer.material_id),
            ..offer.clone()
        };
        offers.insert(*provisional, add_offer(connection, &offer).await?);
    }
    for (id, offer) in &writes.changed_offers {
        change_offer(connection, *id, offer).await?;
    }
    for (offer, price) in &writes.prices {
        add_price(connection, kept(&offers, *offer), price, now).await?;
    }
    Ok(())
}

async fn write_suppliers(
    connection: &mut SqliteConnection,
    writes: &Writes,
) -> Result<HashMap<SupplierId, SupplierId>, sqlx::Error> {
    let mut ids = HashMap::new();
    for (provisional, supplier) in &writes.new_suppliers {
        ids.insert(*provisional, add_supplier(connection, supplier).await?);
    }
    for (id, supplier) in &writes.changed_suppliers {
        change_supplier(connection, *id, supplier).await?;
    }
    Ok(ids)
}

async fn write_materials(
    connection: &mut SqliteConnection,
    writes: &Writes,
    suppliers: &HashMap<SupplierId, SupplierId>,
) -> Result<HashMap<MaterialId, MaterialId>, sqlx::Error> {
    let with_supplier = |material: &NewMaterial| NewMaterial {
        preferred_supplier_id: material.preferred_supplier_id.map(|id| kept(suppliers, id)),
        ..material.clone()
    };
    let mut ids = HashMap::new();
    for (provisional, material) in &writes.new_materials {
        ids.insert(*provisional, add_material(connection, &with_supplier(material)).await?);
    }
    for (id, material) in &writes.changed_materials {
        change_material(connection, *id, &with_supplier(material)).await?;
    }
    Ok(ids)
}

/// The book's identity for a provisional one; its own stays itself.
fn kept<T: Copy + Eq + std::hash::Hash>(ids: &HashMap<T, T>, id: T) -> T {
    ids.get(&id).copied().unwrap_or(id)
}
