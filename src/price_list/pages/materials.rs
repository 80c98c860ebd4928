//! The list of materials, a material's own page, and the names for type-ahead.

use std::collections::HashMap;

use askama::Template;
use axum::http::header;
use axum::response::IntoResponse;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::super::calendar_words::months;
use super::super::entries::{ListedOffer, PriceEntry};
use super::super::price_history::{PriceStanding, standing};
use super::super::stem_cost::good_stem_cost;
use super::super::store::{self, MaterialFilter, MaterialRow, OffersOf};
use super::super::{Care, CareSource, Material, MaterialKind, UnitCost};
use crate::ground::choice::Choice;
use crate::ground::dates::Moment;
use crate::ground::ids::{MaterialId, OfferId};
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::Query;
use crate::web::path::Path;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct ListQuery {
    q: String,
    kind: String,
    supplier: String,
    page: String,
}

impl ListQuery {
    fn filter(&self) -> MaterialFilter {
        MaterialFilter {
            words: self.q.clone(),
            kind: MaterialKind::from_code(&self.kind),
            supplier: self.supplier.parse().ok(),
            unsold: self.supplier == UNSOLD,
        }
    }

    fn asks(&self) -> bool {
        !(self.q.trim().is_empty() && self.kind.is_empty() && self.supplier.is_empty())
    }
}

const UNSOLD: &str = "none";

#[derive(Template)]
#[template(path = "price_list/materials.html")]
struct ListPage {
    shell: Shell,
    query: ListQuery,
    number: i64,
    rows: Vec<MaterialRow>,
    costs: HashMap<MaterialId, UnitCost>,
    suppliers: Vec<(String, String)>,
}

impl ListPage {
    fn path(&self) -> String {
        let asked = [("q", &*self.query.q), ("kind", &*self.query.kind), ("supplier", &*self.query.supplier)];
        self.shell.list_path("/materials", &asked)
    }

    fn kinds(&self) -> Vec<(&'static str, &'static str)> {
        MaterialKind::options()
    }

    fn total(&self) -> i64 {
        self.rows.first().map_or(0, |row| row.total)
    }

    fn more(&self) -> bool {
        self.number * store::PAGE < self.total()
    }

    fn cost(&self, row: &MaterialRow) -> Option<&UnitCost> {
        self.costs.get(&row.id)
    }

    fn working(&self, row: &MaterialRow, cost: &UnitCost) -> Working {
        let fresh = matches!(row.kind, MaterialKind::Flower | MaterialKind::Foliage);
        let loss = if fresh { row.loss.unwrap_or(self.shell.loss) } else { Share::default() };
        Working::of(&self.shell, cost.pack_price, cost.pack_size, loss)
    }
}

pub(super) async fn list(mut visit: Visit, Query(query): Query<ListQuery>) -> Answer {
    let number = query.page.parse::<i64>().unwrap_or(1).max(1);
    let rows = store::search_materials(&mut visit.connection, &query.filter(), number - 1).await?;
    let ids: Vec<MaterialId> = rows.iter().map(|row| row.id).collect();
    let costs = store::unit_costs(&mut visit.connection, &ids, visit.today).await?;
    let suppliers = store::suppliers(&mut visit.connection).await?;
    let suppliers = suppliers.into_iter().map(|s| (s.id.to_string(), s.name)).collect();
    page(&ListPage {
        shell: visit.shell(Section::PriceList, "Price list"),
        query,
        number,
        rows,
        costs,
        suppliers,
    })
}

/// The sum behind the cost of one good stem.
pub(super) struct Working {
    pub(super) each: String,
    pub(super) sum: String,
}

impl Working {
    pub(super) fn of(shell: &Shell, price: Money, size: i64, loss: Share) -> Working {
        let each = shell.formats.unit_cost(good_stem_cost(price, size, loss));
        let pack = format!("{} a pack ÷ {size} in it", shell.formats.money(price));
        let sum = if loss.raw() == 0 {
            format!("{pack} = {each}")
        } else {
            let kept = Share::from_raw(1_000_000 - loss.raw());
            let (loss, kept) = (shell.formats.share(loss), shell.formats.share(kept));
            format!("{pack} ÷ (1 − {loss} lost = {kept} kept) = {each}")
        };
        Working { each, sum }
    }
}

#[derive(Template)]
#[template(path = "price_list/material.html")]
struct MaterialPage {
    shell: Shell,
    material: Material,
    removed: Option<Moment>,
    preferred: Option<String>,
    offers: Vec<ListedOffer>,
    prices: Vec<PriceEntry>,
}

impl MaterialPage {
    fn loss(&self) -> Share {
        self.material.expected_loss(self.shell.loss)
    }

    fn working(&self, offer: &ListedOffer) -> Option<Working> {
        Some(Working::of(&self.shell, offer.price?, offer.pack_size, self.loss()))
    }

    fn is_preferred(&self, offer: &ListedOffer) -> bool {
        self.material.preferred_supplier_id == Some(offer.supplier_id)
    }

    fn in_season(&self, offer: &ListedOffer) -> bool {
        offer.season.has(self.shell.today)
    }

    fn season(&self, offer: &ListedOffer) -> String {
        months(offer.season)
    }

    fn limits(&self, offer: &ListedOffer) -> String {
        limit_words(offer)
    }

    /// Each offer that ever had a price, with its entries.
    fn histories(&self) -> Vec<(&ListedOffer, Vec<HistoryRow>)> {
        let rows = |id: OfferId| history_rows(&self.shell, &self.prices, id);
        let of = self.offers.iter().map(|offer| (offer, rows(offer.id)));
        of.filter(|(_, rows)| !rows.is_empty()).collect()
    }

    fn loan_fee(&self) -> String {
        self.shell.formats.money(self.material.loan_fee)
    }

    /// The measures that are known, by name.
    fn measures(&self) -> Vec<(&'static str, String)> {
        let m = &self.material;
        [
            ("Usable length", m.usable_length),
            ("Inner height", m.inner_height),
            ("Inner diameter", m.inner_diameter),
        ]
        .into_iter()
        .filter_map(|(name, length)| Some((name, self.shell.formats.length(length?))))
        .collect()
    }

    fn pack_price(&self, offer: &ListedOffer) -> String {
        offer.price.map(|price| self.shell.formats.money(price)).unwrap_or_default()
    }

    fn has_care(&self) -> bool {
        self.material.is_fresh() || self.material.care != Care::UNKNOWN
    }

    fn recalled(&self) -> bool {
        self.material.care.source == CareSource::Memory
    }

    fn care_source(&self) -> &'static str {
        self.material.care.source.label()
    }

    fn removed_on(&self, at: &Moment) -> String {
        self.shell.formats.moment(*at, &self.shell.zone)
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<MaterialId>) -> Answer {
    let connection = &mut visit.connection;
    let material =
        store::materials(connection, &[id]).await?.remove(&id).ok_or(Trouble::NotFound("material"))?;
    let removed = store::material_removed(connection, id).await?;
    let mut offers = store::listed_offers(connection, OffersOf::Material(id), visit.today).await?;
    offers.sort_by_key(|offer| {
        offer.price.map_or(Decimal::MAX, |price| price.decimal() / Decimal::from(offer.pack_size))
    });
    let ids: Vec<OfferId> = offers.iter().map(|offer| offer.id).collect();
    let prices = store::price_history(connection, &ids).await?;
    let preferred = match material.preferred_supplier_id {
        Some(supplier) if store::supplier_removed(connection, supplier).await?.is_none() => {
            store::supplier(connection, supplier).await?.map(|s| s.name)
        }
        _ => None,
    };
    let shell = visit.shell(Section::PriceList, material.name.clone());
    page(&MaterialPage { shell, material, removed, preferred, offers, prices })
}

/// An entry of a price history as the page shows it.
pub(super) struct HistoryRow {
    pub(super) price: String,
    pub(super) from: String,
    pub(super) until: String,
    pub(super) recorded: String,
    pub(super) word: &'static str,
    pub(super) shape: &'static str,
}

pub(super) fn history_rows(shell: &Shell, prices: &[PriceEntry], offer: OfferId) -> Vec<HistoryRow> {
    let history: Vec<PriceEntry> = prices.iter().filter(|price| price.offer_id == offer).cloned().collect();
    let row = |entry: &PriceEntry| {
        let (word, shape) = match standing(&history, entry, shell.today) {
            PriceStanding::Holds => ("Holds today", "done"),
            PriceStanding::Announced => ("From then on", "asked"),
            PriceStanding::Past => ("Past", "off"),
            PriceStanding::Corrected => ("Corrected", "off"),
        };
        HistoryRow {
            price: shell.formats.money(entry.price),
            from: shell.formats.day(entry.from_day),
            until: entry.until_day.map_or_else(|| "the next".into(), |until| shell.formats.day(until)),
            recorded: shell.formats.moment(entry.recorded_at, &shell.zone),
            word,
            shape,
        }
    };
    history.iter().map(row).collect()
}

/// Least and most packs in words.
pub(super) fn limit_words(offer: &ListedOffer) -> String {
    match (offer.least_packs, offer.most_packs) {
        (1, None) => "any".into(),
        (least, None) => format!("from {least}"),
        (least, Some(most)) if least == most => format!("{most} only"),
        (least, Some(most)) => format!("{least} to {most}"),
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct NameQuery {
    q: String,
}

#[derive(Serialize)]
struct NameRow {
    name: String,
    note: String,
}

/// `GET /materials/names?q=`: JSON for type-ahead.
pub(super) async fn names(mut visit: Visit, Query(query): Query<NameQuery>) -> Answer {
    let names = store::material_names(&mut visit.connection, &query.q).await?;
    let rows: Vec<NameRow> = names
        .into_iter()
        .map(|row| {
            let words = [row.kind.label().to_lowercase(), row.colour, format!("by the {}", row.unit.code())];
            let note = words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(", ");
            NameRow { name: row.name, note: note.replace("by the each", "by the piece") }
        })
        .collect();
    Ok(([(header::CONTENT_TYPE, "application/json")], serde_json::to_string(&rows)?).into_response())
}
