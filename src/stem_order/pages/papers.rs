//! What leaves the house: one order a supplier, to print or as CSV, and the whole order as CSV.

use askama::Template;

use super::{asked, planned};
use crate::ground::caution::Caution;
use crate::ground::ids::SupplierId;
use crate::ground::money::Money;
use crate::price_list;
use crate::stem_order::forms::{OrderQuery, address};
use crate::stem_order::order::{OrderDelivery, StemOrder};
use crate::stem_order::order_csv::csv;
use crate::stem_order::store::planning::Asked;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, download, page};
use crate::web::forms::Query;
use crate::web::path::Path;

const CSV: &str = "text/csv; charset=utf-8";

#[derive(Template)]
#[template(path = "stem_order/supplier.html")]
struct SupplierPage {
    shell: Shell,
    supplier: price_list::Supplier,
    asked: Asked,
    deliveries: Vec<OrderDelivery>,
}

impl SupplierPage {
    fn order_path(&self) -> String {
        address("/stem-order", &self.asked)
    }

    fn csv_path(&self) -> String {
        address(&format!("/stem-order/suppliers/{}.csv", self.supplier.id), &self.asked)
    }

    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    fn order_by(&self, delivery: &OrderDelivery) -> String {
        format!("{} {}", self.shell.weekday(delivery.order_by_day), delivery.order_by_time)
    }

    fn total(&self) -> Money {
        self.deliveries.iter().map(|delivery| delivery.total).sum()
    }

    /// The cautions of what is on the paper, for whoever unpacks it.
    fn cautions(&self) -> Vec<Caution> {
        let lines = self.deliveries.iter().flat_map(|delivery| &delivery.lines);
        lines.fold(crate::ground::caution::Cautions::default(), |all, line| all.and(line.cautions)).list()
    }

    fn address_lines(&self) -> Vec<&str> {
        let (email, phone) = (self.shell.email.as_str(), self.shell.phone.as_str());
        self.shell.address.lines().chain([phone, email]).filter(|line| !line.trim().is_empty()).collect()
    }
}

/// A supplier's order: `{id}` to read and print, `{id}.csv` to keep.
pub(super) async fn supplier(
    mut visit: Visit,
    Path(paper): Path<String>,
    Query(query): Query<OrderQuery>,
) -> Answer {
    let (id, as_csv) = paper.strip_suffix(".csv").map_or((paper.as_str(), false), |id| (id, true));
    let id: SupplierId = id.parse().map_err(|_| Trouble::NotFound("supplier"))?;
    let suppliers = price_list::store::suppliers(&mut visit.connection).await?;
    let supplier = suppliers.into_iter().find(|supplier| supplier.id == id);
    let supplier = supplier.ok_or(Trouble::NotFound("supplier"))?;
    let (visit, asked, order) = order(visit, &query).await?;
    if as_csv {
        let name = format!("order-{}.csv", supplier.name);
        return download(&name, CSV, csv(&order, &visit.studio.formats, Some(id))?);
    }
    let deliveries = order.deliveries.into_iter().filter(|delivery| delivery.supplier == id).collect();
    let shell = visit.shell(Section::StemOrder, format!("Order to {}", supplier.name));
    page(&SupplierPage { shell, supplier, asked, deliveries })
}

/// The whole order.
pub(super) async fn whole_csv(visit: Visit, Query(query): Query<OrderQuery>) -> Answer {
    let (visit, _, order) = order(visit, &query).await?;
    download("stem-order.csv", CSV, csv(&order, &visit.studio.formats, None)?)
}

async fn order(visit: Visit, query: &OrderQuery) -> Result<(Visit, Asked, StemOrder), Trouble> {
    let (asked, errors) = asked(&visit, query)?;
    if let Some((_, message)) = errors.list().first() {
        return Err(Trouble::Conflict(format!("The delivery day cannot be read. {message}")));
    }
    if asked.events.is_empty() {
        return Err(Trouble::Conflict("Choose events for the order first.".into()));
    }
    let (visit, ordered) = planned(visit, &asked).await?;
    Ok((visit, asked, ordered.order))
}
