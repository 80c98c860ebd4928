//! All placed orders, the latest first.

use askama::Template;
use serde::Deserialize;

use super::EventNames;
use crate::ground::ids::SupplierId;
use crate::ground::money::Money;
use crate::price_list;
use crate::stem_order::calendar::LocalTime;
use crate::stem_order::placing::standing::Standing;
use crate::stem_order::placing::store::{self, Listed, PAGE};
use crate::stem_order::placing::{PlacedDelivery, PlacedOrder};
use crate::stem_order::store::planning::local;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::Query;

/// What is asked of the list.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct ListQuery {
    /// `all`, or only those that still come.
    which: String,
    /// One supplier's.
    supplier: String,
    /// From 1.
    page: String,
}

#[derive(Template)]
#[template(path = "stem_order/placing_list.html")]
struct ListPage {
    shell: Shell,
    orders: Vec<PlacedOrder>,
    names: EventNames,
    now: LocalTime,
    /// Whether orders of the past are shown too.
    all: bool,
    supplier: Option<price_list::Supplier>,
    number: i64,
    more: bool,
    any: bool,
}

pub(super) async fn show(mut visit: Visit, Query(query): Query<ListQuery>) -> Answer {
    let number = query.page.parse().unwrap_or(1).max(1);
    let all = query.which == "all";
    let supplier = supplier(&mut visit, &query.supplier).await?;
    let listed = Listed {
        coming_from: (!all).then_some(visit.today),
        supplier: supplier.as_ref().map(|supplier| supplier.id),
    };
    let mut orders = store::recent(&mut visit.connection, listed, number - 1).await?;
    let page_length = usize::try_from(PAGE).unwrap_or(usize::MAX);
    let more = orders.len() > page_length;
    orders.truncate(page_length);
    let names = EventNames::of(&mut visit.connection, &orders).await?;
    let any = store::any(&mut visit.connection).await?;
    let now = local(visit.now, &visit.studio);
    let shell = visit.shell(Section::StemOrder, "Placed orders");
    page(&ListPage { shell, orders, names, now, all, supplier, number, more, any })
}

async fn supplier(visit: &mut Visit, typed: &str) -> Result<Option<price_list::Supplier>, Trouble> {
    if typed.is_empty() {
        return Ok(None);
    }
    let id: SupplierId = typed.parse().map_err(|_| Trouble::NotFound("supplier"))?;
    let suppliers = price_list::store::suppliers(&mut visit.connection).await?;
    suppliers.into_iter().find(|supplier| supplier.id == id).map(Some).ok_or(Trouble::NotFound("supplier"))
}

impl ListPage {
    fn path(&self) -> String {
        let supplier = self.supplier.as_ref().map_or(String::new(), |supplier| supplier.id.to_string());
        let which = if self.all { "all" } else { "" };
        self.shell.list_path("/orders", &[("which", which), ("supplier", &supplier)])
    }

    fn supplier_id(&self) -> String {
        self.supplier.as_ref().map_or(String::new(), |supplier| supplier.id.to_string())
    }

    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    fn standing(&self, order: &PlacedOrder) -> Standing {
        Standing::of_order(order)
    }

    fn events(&self, order: &PlacedOrder) -> String {
        let known = self.names.known(&order.events);
        known.into_iter().map(|(_, name, _)| name).collect::<Vec<_>>().join(", ")
    }

    fn days(&self, order: &PlacedOrder) -> String {
        order
            .deliveries
            .iter()
            .map(|delivery| self.shell.weekday(delivery.day))
            .collect::<Vec<_>>()
            .join(", ")
    }

    /// Until when something can still be changed; none where all cut-offs have passed.
    fn open_until(&self, order: &PlacedOrder) -> Option<String> {
        let open = order.deliveries.iter().map(PlacedDelivery::order_by).filter(|by| *by >= self.now);
        let by = open.min()?;
        Some(format!("{} {}", self.shell.weekday(by.day), by.time))
    }
}
