//! Taking packs back: it asks first, since it leaves the house; what is left of a line becomes a row of its own.

use askama::Template;
use axum::extract::State;

use super::{last_of, order_or_trouble};
use crate::ground::ids::{PlacedOrderId, SupplierId};
use crate::ground::money::Money;
use crate::price_list;
use crate::stem_order::calendar::LocalTime;
use crate::stem_order::placing::forms::CancelForm;
use crate::stem_order::placing::{PlacedDelivery, PlacedLine, PlacedOrder, store};
use crate::stem_order::store::planning::local;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_undo;
use crate::web::forms::{FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "stem_order/placing_cancel.html")]
struct CancelPage {
    shell: Shell,
    order: PlacedOrder,
    least_order: Option<Money>,
    now: LocalTime,
    seen: i64,
    form: CancelForm,
    errors: FieldErrors,
    overtaken: bool,
}

/// Packs of a line, before something is typed: as the address says (`line=…&packs=…`), or all of them (`all=1`).
#[derive(Debug, Default, serde::Deserialize)]
#[serde(default)]
pub(super) struct CancelQuery {
    all: String,
    line: Vec<String>,
    packs: Vec<String>,
}

/// A line of which something still comes.
struct Row<'a> {
    at: usize,
    line: &'a PlacedLine,
    typed: String,
}

pub(super) async fn show(
    mut visit: Visit,
    Path(id): Path<PlacedOrderId>,
    Query(query): Query<CancelQuery>,
) -> Answer {
    let mut shown = CancelPage::new(&mut visit, id).await?;
    shown.form = CancelForm { line: query.line, packs: query.packs, ..CancelForm::default() };
    if !query.all.is_empty() {
        let lines = || shown.order.lines().filter(|line| line.expected_packs() > 0);
        shown.form = CancelForm {
            line: lines().map(|line| line.id.to_string()).collect(),
            packs: lines().map(|line| line.expected_packs().to_string()).collect(),
            ..CancelForm::default()
        };
    }
    page(&shown)
}

pub(super) async fn cancel(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<PlacedOrderId>,
    Form(form): Form<CancelForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let order = order_or_trouble(&mut tx, id).await?;
    let before = last_of(store::history(&mut tx, id).await?.iter());
    let now = local(visit.now, &visit.studio);
    let parsed = form.parse(&order, now, &visit.studio.formats).ok_or(Trouble::NotFound("line"))?;
    let overtaken = form.seen.trim().parse() != Ok(before);
    let (answers, note) = match parsed {
        Ok(parsed) if !overtaken => parsed,
        other => {
            drop(tx);
            let errors = other.err().filter(|_| !overtaken).unwrap_or_default();
            let shown = CancelPage::new(&mut visit, id).await?;
            let shown = CancelPage { form, errors, overtaken, ..shown };
            return if overtaken { stale(&shown) } else { refused(&shown) };
        }
    };
    store::answer(&mut tx, &answers, &note, visit.now).await?;
    let last = last_of(store::history(&mut tx, id).await?.iter());
    tx.commit().await?;
    let saying =
        format!("Taken back from {}. Tell {}: the message below says what.", order.name(), order.supplier);
    onward_undo(&app, format!("/orders/{id}"), saying, format!("/orders/{id}/restoration/{before}/{last}"))
}

impl CancelPage {
    async fn new(visit: &mut Visit, id: PlacedOrderId) -> Result<CancelPage, Trouble> {
        let order = order_or_trouble(&mut visit.connection, id).await?;
        let seen = last_of(store::history(&mut visit.connection, id).await?.iter());
        let least_order = least_order(visit, order.supplier_id).await?;
        let now = local(visit.now, &visit.studio);
        let shell = visit.shell(Section::StemOrder, format!("Take packs of {} back", order.name()));
        let (form, errors) = (CancelForm::default(), FieldErrors::default());
        Ok(CancelPage { shell, order, least_order, now, seen, form, errors, overtaken: false })
    }

    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    fn order_by(&self, delivery: &PlacedDelivery) -> String {
        format!("{} {}", self.shell.weekday(delivery.order_by_day), delivery.order_by_time)
    }

    fn closed(&self, delivery: &PlacedDelivery) -> bool {
        delivery.order_by() < self.now
    }

    fn any_closed(&self) -> bool {
        self.order.deliveries.iter().any(|delivery| self.closed(delivery) && delivery.comes())
    }

    fn anything(&self) -> bool {
        self.order.deliveries.iter().any(PlacedDelivery::comes)
    }

    /// The deliveries of which something still comes, with their lines, numbered through as the form posts them.
    fn deliveries(&self) -> Vec<(&PlacedDelivery, Vec<Row<'_>>)> {
        let mut at = 0;
        let mut deliveries = Vec::new();
        for delivery in self.order.deliveries.iter().filter(|delivery| delivery.comes()) {
            let mut rows = Vec::new();
            for line in delivery.lines.iter().filter(|line| line.expected_packs() > 0) {
                rows.push(Row { at, line, typed: self.typed(line) });
                at += 1;
            }
            deliveries.push((delivery, rows));
        }
        deliveries
    }

    fn typed(&self, line: &PlacedLine) -> String {
        let row = self.form.line.iter().position(|id| *id == line.id.to_string());
        row.and_then(|row| self.form.packs.get(row)).cloned().unwrap_or_default()
    }
}

/// What the supplier delivers at least, if anything and if they are still on the price list.
async fn least_order(visit: &mut Visit, id: SupplierId) -> Result<Option<Money>, sqlx::Error> {
    let suppliers = price_list::store::suppliers(&mut visit.connection).await?;
    let supplier = suppliers.into_iter().find(|supplier| supplier.id == id);
    Ok(supplier.map(|supplier| supplier.least_order).filter(|least| !least.is_zero()))
}
