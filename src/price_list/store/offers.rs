//! All SQL that lists and writes offers and their prices. Prices are only ever added.

use sqlx::SqliteConnection;

use super::super::entries::{ListedOffer, NewOffer, NewPrice, PriceEntry};
use crate::ground::dates::{Day, Moment, Season};
use crate::ground::ids::{MaterialId, OfferId, OfferPriceId, SupplierId, json_list};
use crate::ground::money::Money;

/// Which offers are listed.
#[derive(Debug, Clone, Copy)]
pub enum OffersOf {
    /// All suppliers' of one material.
    Material(MaterialId),
    /// One supplier's of all materials.
    Supplier(SupplierId),
    /// This one.
    Offer(OfferId),
    /// All of the list.
    Everyone,
}

/// Offers with their names and the price that holds on a day, in season or not, by material and supplier.
/// Offers of removed suppliers and materials are left out.
pub async fn listed_offers(
    connection: &mut SqliteConnection,
    of: OffersOf,
    on: Day,
) -> Result<Vec<ListedOffer>, sqlx::Error> {
    let (material, supplier, offer) = match of {
        OffersOf::Material(id) => (Some(id), None, None),
        OffersOf::Supplier(id) => (None, Some(id), None),
        OffersOf::Offer(id) => (None, None, Some(id)),
        OffersOf::Everyone => (None, None, None),
    };
    sqlx::query_as!(
        ListedOffer,
        r#"SELECT offer.id AS "id: OfferId", offer.version, supplier_id AS "supplier_id: SupplierId",
            supplier.name AS supplier, material_id AS "material_id: MaterialId", material.name AS material,
            pack_name, pack_size, least_packs, most_packs, season AS "season: Season",
            p.price AS "price?: Money", p.from_day AS "from_day?: Day", p.until_day AS "until_day?: Day"
        FROM offer
        JOIN supplier ON supplier.id = supplier_id AND supplier.removed_at IS NULL
        JOIN material ON material.id = material_id AND material.removed_at IS NULL
        LEFT JOIN offer_price p ON (p.until_day IS NULL OR p.until_day >= ?1) AND p.id = (
            SELECT id FROM offer_price WHERE offer_id = offer.id AND from_day <= ?1
            ORDER BY from_day DESC, id DESC LIMIT 1)
        WHERE offer.removed_at IS NULL AND (?2 IS NULL OR material_id = ?2) AND (?3 IS NULL OR supplier_id = ?3)
            AND (?4 IS NULL OR offer.id = ?4)
        ORDER BY material.name, supplier.name, pack_size, pack_name, offer.id"#,
        on,
        material,
        supplier,
        offer
    )
    .fetch_all(connection)
    .await
}

/// The price history of these offers, the latest first day first.
pub async fn price_history(
    connection: &mut SqliteConnection,
    offers: &[OfferId],
) -> Result<Vec<PriceEntry>, sqlx::Error> {
    let offers = json_list(offers);
    sqlx::query_as!(
        PriceEntry,
        r#"SELECT id AS "id: OfferPriceId", offer_id AS "offer_id: OfferId", from_day AS "from_day: Day",
            until_day AS "until_day: Day", price AS "price: Money", recorded_at AS "recorded_at: Moment"
        FROM offer_price WHERE offer_id IN (SELECT value FROM json_each(?)) ORDER BY from_day DESC, id DESC"#,
        offers
    )
    .fetch_all(connection)
    .await
}

/// The offer of the same pack by the same supplier, if there is one.
pub async fn same_offer(
    connection: &mut SqliteConnection,
    new: &NewOffer,
) -> Result<Option<OfferId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT id AS "id: OfferId" FROM offer
        WHERE supplier_id = ? AND material_id = ? AND pack_name = ? AND pack_size = ? AND removed_at IS NULL"#,
        new.supplier_id,
        new.material_id,
        new.pack_name,
        new.pack_size
    )
    .fetch_optional(connection)
    .await
}

/// Adds an offer; without a price it cannot be bought yet.
pub async fn add_offer(connection: &mut SqliteConnection, new: &NewOffer) -> Result<OfferId, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO offer (supplier_id, material_id, pack_name, pack_size, least_packs, most_packs, season)
        VALUES (?, ?, ?, ?, ?, ?, ?)",
        new.supplier_id,
        new.material_id,
        new.pack_name,
        new.pack_size,
        new.least_packs,
        new.most_packs,
        new.season
    )
    .execute(connection)
    .await?;
    Ok(OfferId(added.last_insert_rowid()))
}

/// Changes an offer's pack, limits and months, and counts the save. Whose it is and of what stays.
pub async fn change_offer(
    connection: &mut SqliteConnection,
    id: OfferId,
    new: &NewOffer,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "UPDATE offer SET version = version + 1, pack_name = ?, pack_size = ?, least_packs = ?, most_packs = ?,
            season = ? WHERE id = ?",
        new.pack_name,
        new.pack_size,
        new.least_packs,
        new.most_packs,
        new.season,
        id
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Adds a price to an offer's history.
pub async fn add_price(
    connection: &mut SqliteConnection,
    offer: OfferId,
    new: &NewPrice,
    now: Moment,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO offer_price (offer_id, from_day, until_day, price, recorded_at) VALUES (?, ?, ?, ?, ?)",
        offer,
        new.from_day,
        new.until_day,
        new.price,
        now
    )
    .execute(connection)
    .await
    .map(drop)
}

/// An offer's supplier, material and names, removed or not: what a removal and its undo speak of.
#[derive(Debug, Clone)]
pub struct OfferName {
    /// Of what.
    pub material_id: MaterialId,
    /// Its name.
    pub material: String,
    /// The supplier's name.
    pub supplier: String,
    /// What the pack is called.
    pub pack_name: String,
    /// How many are in it.
    pub pack_size: i64,
}

/// The names of an offer, removed or not.
pub async fn offer_name(
    connection: &mut SqliteConnection,
    id: OfferId,
) -> Result<Option<OfferName>, sqlx::Error> {
    sqlx::query_as!(
        OfferName,
        r#"SELECT material_id AS "material_id: MaterialId", material.name AS material, supplier.name AS supplier,
            pack_name, pack_size
        FROM offer JOIN supplier ON supplier.id = supplier_id JOIN material ON material.id = material_id
        WHERE offer.id = ?"#,
        id
    )
    .fetch_optional(connection)
    .await
}

/// Removes an offer, or brings it back (`None`). Its price history stays.
pub async fn set_offer_removed(
    connection: &mut SqliteConnection,
    id: OfferId,
    at: Option<Moment>,
) -> Result<bool, sqlx::Error> {
    let done =
        sqlx::query!("UPDATE offer SET removed_at = ? WHERE id = ?", at, id).execute(connection).await?;
    Ok(done.rows_affected() == 1)
}
