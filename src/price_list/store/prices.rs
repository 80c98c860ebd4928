//! What can be had on which day and what it costs: every offer of some materials with its prices over a span of days, read
//! once, then asked for any of these days.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use serde::Deserialize;
use sqlx::SqliteConnection;

use super::super::{Offer, UnitCost};
use crate::db::remembered::{Remembered, State};
use crate::ground::dates::{Day, Season};
use crate::ground::ids::{MaterialId, OfferId, SupplierId, json_list};
use crate::ground::money::Money;

/// What can be had of these materials on a day, each pack with the price that holds then, by material and price.
pub async fn offers(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    on: Day,
) -> Result<Vec<Offer>, sqlx::Error> {
    let mut offers = offers_on(connection, materials, &BTreeSet::from([on])).await?;
    Ok(offers.remove(&on).unwrap_or_default())
}

/// The same for several days.
pub async fn offers_on(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    days: &BTreeSet<Day>,
) -> Result<BTreeMap<Day, Vec<Offer>>, sqlx::Error> {
    let offered = offered(connection, materials, days).await?;
    let on = |day: Day| {
        let offers = offered.iter().flat_map(move |material| material.on(day).map(Had::offer));
        let mut offers: Vec<Offer> = offers.collect();
        offers.sort_by_key(|offer| (offer.material_id, offer.price, offer.id));
        offers
    };
    Ok(days.iter().map(|day| (*day, on(*day))).collect())
}

/// What one of each material costs on a day: from the preferred supplier where it has an offer that day,
/// else where one costs least. Materials that nobody offers that day are left out.
pub async fn unit_costs(
    connection: &mut SqliteConnection,
    ids: &[MaterialId],
    on: Day,
) -> Result<HashMap<MaterialId, UnitCost>, sqlx::Error> {
    let mut costs = unit_costs_on(connection, &BTreeMap::from([(on, ids.iter().copied().collect())])).await?;
    Ok(costs.remove(&on).unwrap_or_default())
}

/// The same for several days, each with the materials that are asked for on it.
pub async fn unit_costs_on(
    connection: &mut SqliteConnection,
    asked: &BTreeMap<Day, BTreeSet<MaterialId>>,
) -> Result<HashMap<Day, HashMap<MaterialId, UnitCost>>, sqlx::Error> {
    let all: BTreeSet<MaterialId> = asked.values().flatten().copied().collect();
    let all: Vec<MaterialId> = all.into_iter().collect();
    let offered = offered(connection, &all, &asked.keys().copied().collect()).await?;
    let names = supplier_names(connection).await?;
    let cost = |had: &Had<'_>| had.cost(names.get(&had.pack.supplier).cloned().unwrap_or_default());
    let on = |day: Day, ids: &BTreeSet<MaterialId>| {
        let wanted = offered.iter().filter(|material| ids.contains(&material.id));
        let best = wanted.filter_map(|material| Some((material.id, material.best(day)?)));
        best.map(|(material, had)| (material, cost(&had))).collect()
    };
    Ok(asked.iter().map(|(day, ids)| (*day, on(*day, ids))).collect())
}

/// What is offered of one material.
struct Offered {
    id: MaterialId,
    preferred: Option<SupplierId>,
    packs: Vec<Pack>,
}

/// An offer with its prices, the latest first.
#[derive(Deserialize)]
struct Pack {
    id: OfferId,
    supplier: SupplierId,
    name: String,
    size: i64,
    least: i64,
    most: Option<i64>,
    season: Season,
    prices: Vec<Price>,
}

/// A price holds from its first day until the next begins, or until its last day.
#[derive(Deserialize)]
struct Price {
    from: Day,
    pack: Money,
    until: Option<Day>,
}

/// A pack that can be had on a day, at the price that holds then.
#[derive(Clone, Copy)]
struct Had<'a> {
    material: MaterialId,
    pack: &'a Pack,
    price: &'a Price,
}

impl Offered {
    fn on(&self, day: Day) -> impl Iterator<Item = Had<'_>> {
        self.packs.iter().filter_map(move |pack| {
            let price = pack.prices.iter().find(|price| price.from <= day)?;
            let had = price.until.is_none_or(|until| until >= day) && pack.season.has(day);
            had.then_some(Had { material: self.id, pack, price })
        })
    }

    fn best(&self, day: Day) -> Option<Had<'_>> {
        let first_choice = |had: &Had<'_>| Some(had.pack.supplier) == self.preferred;
        self.on(day).reduce(|best, had| {
            let better = first_choice(&had)
                .cmp(&first_choice(&best))
                .then_with(|| best.per_pack_of_the_other(&had).cmp(&had.per_pack_of_the_other(&best)))
                .then_with(|| (best.price.pack, best.pack.id).cmp(&(had.price.pack, had.pack.id)));
            if better.is_gt() { had } else { best }
        })
    }
}

impl Had<'_> {
    /// What one costs, times both packs' sizes: so two prices of one are compared in whole numbers.
    fn per_pack_of_the_other(&self, other: &Had<'_>) -> i128 {
        i128::from(self.price.pack.minor()) * i128::from(other.pack.size.max(1))
    }

    fn offer(self) -> Offer {
        let Had { material, pack, price } = self;
        Offer {
            id: pack.id,
            supplier_id: pack.supplier,
            material_id: material,
            pack_name: pack.name.clone(),
            pack_size: pack.size,
            least_packs: pack.least,
            most_packs: pack.most,
            season: pack.season,
            price: price.pack,
            from_day: price.from,
        }
    }

    fn cost(&self, supplier_name: String) -> UnitCost {
        let Had { pack, price, .. } = *self;
        UnitCost {
            offer_id: pack.id,
            supplier_id: pack.supplier,
            supplier_name,
            pack_name: pack.name.clone(),
            pack_size: pack.size,
            pack_price: price.pack,
            from_day: price.from,
        }
    }
}

/// What was asked of the price list, and its state.
#[derive(PartialEq)]
struct Key {
    state: State,
    materials: Vec<MaterialId>,
    days: (Day, Day),
}

/// Every offer of some materials with its prices on these days, remembered while none changes.
async fn offered(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    days: &BTreeSet<Day>,
) -> Result<Arc<Vec<Offered>>, sqlx::Error> {
    static ASKED: Remembered<Key, Vec<Offered>> =
        Remembered::new(6, |new, old| new.state.of_one_book(&old.state) && new.state != old.state);
    let (Some(first), Some(last)) = (days.first(), days.last()) else { return Ok(Arc::default()) };
    let mut materials = materials.to_vec();
    materials.sort_unstable();
    let days = (*first, *last);
    let state = State::of(connection, &["material", "offer", "offer_price", "supplier"]).await?;
    let key = state.map(|state| Key { state, materials: materials.clone(), days });
    ASKED.or_read(key, read_offered(connection, &materials, days)).await
}

/// Of each offer the price of the first day, and those that begin later.
/// A row a material, its offers as JSON: rows one by one cost more than all that stands in them.
async fn read_offered(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    (first, last): (Day, Day),
) -> Result<Vec<Offered>, sqlx::Error> {
    let materials = json_list(materials);
    let rows = sqlx::query!(
        r#"SELECT id AS "id: MaterialId", preferred_supplier_id AS "preferred: SupplierId",
            (SELECT json_group_array(json_object('id', offer.id, 'supplier', supplier_id, 'name', pack_name,
                'size', pack_size, 'least', least_packs, 'most', most_packs, 'season', season, 'prices',
                (SELECT json_group_array(json_object('from', from_day, 'pack', price, 'until', until_day))
                    FROM (SELECT from_day, price, until_day FROM offer_price p
                        WHERE p.offer_id = offer.id AND p.from_day <= ? AND p.from_day >= coalesce(
                            (SELECT max(from_day) FROM offer_price WHERE offer_id = offer.id AND from_day <= ?), '')
                        ORDER BY p.from_day DESC, p.id DESC))))
                FROM offer JOIN supplier ON supplier.id = supplier_id AND supplier.removed_at IS NULL
                WHERE material_id = material.id AND offer.removed_at IS NULL) AS "packs!: String"
        FROM material WHERE id IN (SELECT value FROM json_each(?))"#,
        last,
        first,
        materials
    )
    .fetch_all(connection)
    .await?;
    let offered = rows.into_iter().map(|row| {
        let packs = serde_json::from_str(&row.packs).map_err(|error| sqlx::Error::Decode(error.into()))?;
        Ok(Offered { id: row.id, preferred: row.preferred, packs })
    });
    offered.collect()
}

async fn supplier_names(
    connection: &mut SqliteConnection,
) -> Result<HashMap<SupplierId, String>, sqlx::Error> {
    let rows =
        sqlx::query!(r#"SELECT id AS "id: SupplierId", name FROM supplier"#).fetch_all(connection).await?;
    Ok(rows.into_iter().map(|row| (row.id, row.name)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pack(id: i64, supplier: i64, size: i64, prices: &[(&str, i64, Option<&str>)]) -> Pack {
        let price = |(from, price, until): &(&str, i64, Option<&str>)| Price {
            from: from.parse().unwrap(),
            pack: Money::from_minor(*price),
            until: until.map(|day| day.parse().unwrap()),
        };
        Pack {
            id: OfferId(id),
            supplier: SupplierId(supplier),
            name: "bunch".into(),
            size,
            least: 1,
            most: None,
            season: Season::ALL_YEAR,
            prices: prices.iter().map(price).collect(),
        }
    }

    fn best(preferred: Option<i64>, packs: Vec<Pack>, day: &str) -> Option<(i64, i64)> {
        let offered = Offered { id: MaterialId(1), preferred: preferred.map(SupplierId), packs };
        let had = offered.best(day.parse().unwrap())?;
        Some((had.pack.id.0, had.price.pack.minor()))
    }

    #[test]
    fn a_price_holds_until_the_next_begins_or_it_ends() {
        let packs =
            || vec![pack(1, 1, 10, &[("2026-06-01", 1100, Some("2026-06-30")), ("2026-05-01", 900, None)])];
        for (day, price) in [
            ("2026-04-30", None),
            ("2026-05-01", Some((1, 900))),
            ("2026-05-31", Some((1, 900))),
            ("2026-06-30", Some((1, 1100))),
            ("2026-07-01", None),
        ] {
            assert_eq!(best(None, packs(), day), price, "{day}");
        }
    }

    #[test]
    fn the_preferred_supplier_comes_first_then_what_costs_least_a_stem() {
        let always = |price| [("2026-01-01", price, None)];
        let packs = || {
            vec![
                pack(1, 1, 10, &always(1000)),
                pack(2, 2, 25, &always(2000)),
                pack(3, 2, 50, &always(4000)),
                pack(4, 3, 1, &always(120)),
            ]
        };
        // 0.80 a stem twice: the pack that costs less.
        assert_eq!(best(None, packs(), "2026-05-01"), Some((2, 2000)));
        assert_eq!(best(Some(3), packs(), "2026-05-01"), Some((4, 120)));
        assert_eq!(best(Some(9), packs(), "2026-05-01"), Some((2, 2000)));
        assert_eq!(best(None, Vec::new(), "2026-05-01"), None);
    }
}
