//! All SQL for materials, suppliers, offers and prices: here what later rooms read, in the parts what the pages list
//! and everything that writes.

mod file;
mod materials;
mod offers;
mod owned;
mod suppliers;

pub use file::*;
pub use materials::*;
pub use offers::*;
pub use owned::*;
pub use suppliers::*;

use std::collections::{BTreeMap, BTreeSet, HashMap};

use sqlx::SqliteConnection;

use super::{Care, CareSource, HeadClass, Material, MaterialKind, Offer, Supplier, Unit, UnitCost};
use crate::ground::caution::Cautions;
use crate::ground::dates::{Day, Season, TimeOfDay, Weekdays};
use crate::ground::ids::{MaterialId, OfferId, SupplierId, json_list};
use crate::ground::money::Money;
use crate::ground::quantity::{Length, Share};

/// The materials with these identities, removed ones too: old recipes still name them.
pub async fn materials(
    connection: &mut SqliteConnection,
    ids: &[MaterialId],
) -> Result<HashMap<MaterialId, Material>, sqlx::Error> {
    let ids = json_list(ids);
    let rows = sqlx::query!(
        r#"SELECT id AS "id: MaterialId", version, name, kind AS "kind: MaterialKind", colour, grade,
            unit AS "unit: Unit", head_class AS "head_class: HeadClass", usable_length AS "usable_length: Length",
            loss AS "loss: Share", preferred_supplier_id AS "preferred_supplier_id: SupplierId",
            inner_height AS "inner_height: Length", inner_diameter AS "inner_diameter: Length",
            loaned AS "loaned: bool", owned, loan_fee AS "loan_fee: Money", spare_per, conditioning_minutes,
            hydrate_hours, opening_days, holding_days, storage_celsius, vase_days, cut_keeps_hours,
            care_source AS "care_source: CareSource", cautions AS "cautions: Cautions", note
        FROM material WHERE id IN (SELECT value FROM json_each(?))"#,
        ids
    )
    .fetch_all(connection)
    .await?;
    let materials = rows.into_iter().map(|row| Material {
        id: row.id,
        version: row.version,
        name: row.name,
        kind: row.kind,
        colour: row.colour,
        grade: row.grade,
        unit: row.unit,
        head_class: row.head_class,
        usable_length: row.usable_length,
        loss: row.loss,
        preferred_supplier_id: row.preferred_supplier_id,
        inner_height: row.inner_height,
        inner_diameter: row.inner_diameter,
        loaned: row.loaned,
        owned: row.owned,
        loan_fee: row.loan_fee,
        spare_per: row.spare_per,
        care: Care {
            conditioning_minutes: row.conditioning_minutes,
            hydrate_hours: row.hydrate_hours,
            opening_days: row.opening_days,
            holding_days: row.holding_days,
            storage_celsius: row.storage_celsius,
            vase_days: row.vase_days,
            cut_keeps_hours: row.cut_keeps_hours,
            source: row.care_source,
        },
        cautions: row.cautions,
        note: row.note,
    });
    Ok(materials.map(|material| (material.id, material)).collect())
}

/// The material with a name, unless removed; letter case does not matter.
pub async fn material_named(
    connection: &mut SqliteConnection,
    name: &str,
) -> Result<Option<MaterialId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT id AS "id: MaterialId" FROM material WHERE name = ? AND removed_at IS NULL"#,
        name
    )
    .fetch_optional(connection)
    .await
}

/// What can be had of these materials on a day, each pack with the price that holds then, by material and price.
pub async fn offers(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    on: Day,
) -> Result<Vec<Offer>, sqlx::Error> {
    let mut offers = offers_on(connection, materials, &BTreeSet::from([on])).await?;
    Ok(offers.remove(&on).unwrap_or_default())
}

/// The same for several days, in one read: most prices hold on all of them.
/// A price holds from its first day until the next begins, or until its last day.
pub async fn offers_on(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    days: &BTreeSet<Day>,
) -> Result<BTreeMap<Day, Vec<Offer>>, sqlx::Error> {
    let (Some(first), Some(last)) = (days.first(), days.last()) else { return Ok(BTreeMap::new()) };
    let materials = json_list(materials);
    // Of each offer the price of the first day, and those that begin later.
    let prices = sqlx::query_as!(
        PricedOffer,
        r#"SELECT offer.id AS "id!: OfferId", supplier_id AS "supplier_id: SupplierId",
            material_id AS "material_id: MaterialId", pack_name, pack_size, least_packs, most_packs,
            season AS "season: Season", p.price AS "price: Money", p.from_day AS "from_day: Day",
            p.until_day AS "until_day: Day"
        FROM offer
        JOIN supplier ON supplier.id = supplier_id AND supplier.removed_at IS NULL
        JOIN offer_price p ON p.offer_id = offer.id AND p.from_day <= ? AND p.from_day >= coalesce(
            (SELECT max(from_day) FROM offer_price WHERE offer_id = offer.id AND from_day <= ?), '')
        WHERE material_id IN (SELECT value FROM json_each(?)) AND offer.removed_at IS NULL
        ORDER BY offer.id, p.from_day DESC, p.id DESC"#,
        last,
        first,
        materials
    )
    .fetch_all(connection)
    .await?;
    Ok(days.iter().map(|day| (*day, on_day(&prices, *day))).collect())
}

/// What can be had on a day, of prices that stand by offer, each offer's latest first.
fn on_day(prices: &[PricedOffer], day: Day) -> Vec<Offer> {
    let by_offer = prices.chunk_by(|one, next| one.id == next.id);
    let holds = by_offer.filter_map(|prices| prices.iter().find(|price| price.from_day <= day));
    let had = holds.filter(|price| price.until_day.is_none_or(|until| until >= day) && price.season.has(day));
    let mut offers: Vec<Offer> = had.map(PricedOffer::offer).collect();
    offers.sort_by_key(|offer| (offer.material_id, offer.price, offer.id));
    offers
}

/// An offer with one of its prices.
struct PricedOffer {
    id: OfferId,
    supplier_id: SupplierId,
    material_id: MaterialId,
    pack_name: String,
    pack_size: i64,
    least_packs: i64,
    most_packs: Option<i64>,
    season: Season,
    price: Money,
    from_day: Day,
    until_day: Option<Day>,
}

impl PricedOffer {
    fn offer(&self) -> Offer {
        Offer {
            id: self.id,
            supplier_id: self.supplier_id,
            material_id: self.material_id,
            pack_name: self.pack_name.clone(),
            pack_size: self.pack_size,
            least_packs: self.least_packs,
            most_packs: self.most_packs,
            season: self.season,
            price: self.price,
            from_day: self.from_day,
        }
    }
}

/// What one of each material costs on a day: from the preferred supplier where it has an offer that day,
/// else where one costs least. Materials that nobody offers that day are left out.
pub async fn unit_costs(
    connection: &mut SqliteConnection,
    ids: &[MaterialId],
    on: Day,
) -> Result<HashMap<MaterialId, UnitCost>, sqlx::Error> {
    let offers = offers(connection, ids, on).await?;
    let preferred = preferred_suppliers(connection, ids).await?;
    let names = supplier_names(connection).await?;
    let mut costs: HashMap<MaterialId, UnitCost> = HashMap::new();
    for offer in offers {
        let cost = UnitCost {
            offer_id: offer.id,
            supplier_id: offer.supplier_id,
            supplier_name: names.get(&offer.supplier_id).cloned().unwrap_or_default(),
            pack_name: offer.pack_name,
            pack_size: offer.pack_size,
            pack_price: offer.price,
            from_day: offer.from_day,
        };
        let first_choice = preferred.get(&offer.material_id);
        let rank = |cost: &UnitCost| (first_choice != Some(&cost.supplier_id), cost.each());
        let better = costs.get(&offer.material_id).is_none_or(|known| rank(&cost) < rank(known));
        if better {
            costs.insert(offer.material_id, cost);
        }
    }
    Ok(costs)
}

async fn preferred_suppliers(
    connection: &mut SqliteConnection,
    ids: &[MaterialId],
) -> Result<HashMap<MaterialId, SupplierId>, sqlx::Error> {
    let ids = json_list(ids);
    let rows = sqlx::query!(
        r#"SELECT id AS "id: MaterialId", preferred_supplier_id AS "supplier!: SupplierId" FROM material
        WHERE id IN (SELECT value FROM json_each(?)) AND preferred_supplier_id IS NOT NULL"#,
        ids
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.supplier)).collect())
}

async fn supplier_names(
    connection: &mut SqliteConnection,
) -> Result<HashMap<SupplierId, String>, sqlx::Error> {
    let rows =
        sqlx::query!(r#"SELECT id AS "id: SupplierId", name FROM supplier"#).fetch_all(connection).await?;
    Ok(rows.into_iter().map(|row| (row.id, row.name)).collect())
}

/// All suppliers that are not removed, by name.
pub async fn suppliers(connection: &mut SqliteConnection) -> Result<Vec<Supplier>, sqlx::Error> {
    sqlx::query_as!(
        Supplier,
        r#"SELECT id AS "id: SupplierId", version, name, contact, email, phone, account,
            delivery_weekdays AS "delivery_weekdays: Weekdays", cutoff_days, cutoff_time AS "cutoff_time: TimeOfDay",
            delivery_fee AS "delivery_fee: Money", fee_waived_over AS "fee_waived_over: Money",
            least_order AS "least_order: Money", note
        FROM supplier WHERE removed_at IS NULL ORDER BY name"#
    )
    .fetch_all(connection)
    .await
}
