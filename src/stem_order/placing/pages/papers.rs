//! A placed order as it leaves the house: to print, as CSV, as a spreadsheet, as text for a message. All as placed.

use askama::Template;

use super::order_or_trouble;
use crate::ground::ids::PlacedOrderId;
use crate::ground::money::Money;
use crate::stem_order::placing::message::message;
use crate::stem_order::placing::table::csv;
use crate::stem_order::placing::workbook::workbook;
use crate::stem_order::placing::{PlacedDelivery, PlacedLine, PlacedOrder};
use crate::studio::Paper;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, download, page};
use crate::web::path::Path;

#[derive(Template)]
#[template(path = "stem_order/placing_paper.html")]
struct PaperPage {
    shell: Shell,
    order: PlacedOrder,
}

impl PaperPage {
    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    fn total_of(&self, delivery: &PlacedDelivery) -> Money {
        delivery.goods() + delivery.fee
    }

    fn address_lines(&self) -> Vec<&str> {
        let (email, phone) = (self.shell.email.as_str(), self.shell.phone.as_str());
        self.shell.address.lines().chain([phone, email]).filter(|line| !line.trim().is_empty()).collect()
    }

    /// Lines of which the studio took packs back since, with what is left.
    fn taken_back(&self) -> Vec<(&PlacedLine, i64)> {
        self.order.lines().filter_map(|line| Some((line, line.left_after_taking_back()?))).collect()
    }
}

pub(super) async fn paper(mut visit: Visit, Path(id): Path<PlacedOrderId>) -> Answer {
    let order = order_or_trouble(&mut visit.connection, id).await?;
    let shell = visit.shell(Section::StemOrder, format!("Order {} to {}", order.number, order.supplier));
    page(&PaperPage { shell, order })
}

/// An order as a file, by the ending of its address.
pub(super) async fn file(visit: &mut Visit, id: &str, ending: &str) -> Answer {
    let id: PlacedOrderId = id.parse().map_err(|_| Trouble::NotFound("order"))?;
    let order = order_or_trouble(&mut visit.connection, id).await?;
    let formats = visit.studio.formats;
    let name = format!("order-{}-{}.{ending}", order.number, order.supplier);
    match ending {
        "csv" => download(&name, "text/csv; charset=utf-8", csv(&order, formats)?),
        "txt" => download(&name, "text/plain; charset=utf-8", message(&order, formats)),
        "xlsx" => {
            let letter = visit.studio.paper == Paper::Letter;
            let media_type = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
            download(&name, media_type, workbook(&order, formats, letter)?)
        }
        _ => Err(Trouble::NotFound("page")),
    }
}
