//! The order of some events: what is needed, what is bought, who pays what, and the working of every figure.

use askama::Template;

use super::choice::{Week, around, choose};
use super::pictures::{Picture, picture};
use super::stock::once_key;
use super::{asked, planned};
use crate::ground::caution::Caution;
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, SupplierId};
use crate::ground::money::Money;
use crate::price_list::MaterialKind;
use crate::stem_order::calendar::Deliveries;
use crate::stem_order::change::figures::Row;
use crate::stem_order::change::shown::Changed;
use crate::stem_order::choices::one_fewer::{FewerSuppliers, NoFewer};
use crate::stem_order::choices::pages::{fewer_words, why_path};
use crate::stem_order::choices::pinned::{Pinned, PinnedChoice};
use crate::stem_order::choices::pins::Pins;
use crate::stem_order::forms::{OrderQuery, address};
use crate::stem_order::order::{
    CutPattern, CuttingLine, NeedCell, NeedLine, OrderDelivery, OrderLine, StemOrder, StockLine,
};
use crate::stem_order::store::planning::{Asked, Ordered};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::{FieldErrors, Query};

#[derive(Template)]
#[template(path = "stem_order/order.html")]
pub(super) struct OrderPage {
    shell: Shell,
    asked: Asked,
    day: String,
    weeks: Vec<Week>,
    order: StemOrder,
    pinned: Pinned,
    fewer: Result<FewerSuppliers, NoFewer>,
    changed: Option<Changed>,
    errors: FieldErrors,
}

pub(super) async fn show(mut visit: Visit, Query(query): Query<OrderQuery>) -> Answer {
    let (asked, errors) = asked(&visit, &query)?;
    if asked.events.is_empty() {
        return choose(&mut visit).await;
    }
    let (mut visit, ordered) = planned(visit, &asked).await?;
    let day = query.day.clone();
    let shown = OrderPage::new(&mut visit, &asked, ordered, errors).await?;
    page(&OrderPage { day, ..shown })
}

impl OrderPage {
    pub(super) async fn new(
        visit: &mut Visit,
        asked: &Asked,
        ordered: Ordered,
        errors: FieldErrors,
    ) -> Result<OrderPage, Trouble> {
        let days: Vec<Day> = ordered.order.events.iter().map(|event| event.day).collect();
        let weeks = around(visit, &asked.events, &days).await?;
        let day = match asked.deliveries {
            Deliveries::On(day) => day.to_string(),
            Deliveries::ByCalendar => String::new(),
        };
        let shell = visit.shell(Section::StemOrder, "Stem order");
        let Ordered { order, pinned, fewer, changed, .. } = ordered;
        Ok(OrderPage { shell, asked: asked.clone(), day, weeks, order, pinned, fewer, changed, errors })
    }

    fn day_error(&self) -> &str {
        self.errors.of("day").unwrap_or_default()
    }

    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    /// The one event of the order, if it is only one: its page has a place among that event's pages.
    fn single(&self) -> Option<EventId> {
        let [event] = self.order.events.as_slice() else { return None };
        Some(event.id)
    }

    fn event_lines(&self) -> Vec<(EventId, String)> {
        let events = self.order.events.iter();
        events.map(|event| (event.id, format!("{}, {}", event.name, self.shell.weekday(event.day)))).collect()
    }

    fn event(&self, at: usize) -> &str {
        self.order.events.get(at).map_or("", |event| event.name.as_str())
    }

    fn csv_path(&self) -> String {
        address("/stem-order.csv", &self.asked)
    }

    fn placing_path(&self) -> String {
        address("/stem-order/placing", &self.asked)
    }

    fn supplier_path(&self, id: SupplierId) -> String {
        address(&format!("/stem-order/suppliers/{id}"), &self.asked)
    }

    fn supplier_csv_path(&self, id: SupplierId) -> String {
        address(&format!("/stem-order/suppliers/{id}.csv"), &self.asked)
    }

    fn order_by(&self, delivery: &OrderDelivery) -> String {
        format!("{} {}", self.shell.weekday(delivery.order_by_day), delivery.order_by_time)
    }

    /// The delivery that must be ordered first, of those that still can be.
    fn next(&self) -> Option<&OrderDelivery> {
        let open = self.order.deliveries.iter().filter(|delivery| !delivery.cutoff_passed);
        open.min_by_key(|delivery| delivery.order_by())
    }

    fn proof(&self) -> String {
        if self.order.proven {
            let ties = if self.order.ties_settled {
                "Of those that cost the same it leaves the fewest stems over, then comes latest, then from the fewest suppliers."
            } else {
                "Others that cost the same were not all looked at: one may leave fewer stems over, come later or from fewer suppliers."
            };
            return format!("No order for these stems and delivery days costs less. {ties}");
        }
        let (gap, total) = (self.order.gap(), self.order.total);
        let share = (gap.decimal() * rust_decimal::Decimal::ONE_HUNDRED)
            .checked_div(total.decimal())
            .unwrap_or_default();
        format!(
            "At most {} ({} %) above the least possible, {}. The search was stopped after {}, the time limit in the settings.",
            self.money(gap),
            self.shell.formats.number(share, 2),
            self.money(self.order.at_least),
            count(usize::try_from(self.shell.plan_seconds).unwrap_or(0), "second", "seconds"),
        )
    }

    fn total_working(&self) -> String {
        let order = &self.order;
        let (goods, fees) = (self.money(order.goods), self.money(order.fees));
        let deliveries = count(order.deliveries.len(), "delivery", "deliveries");
        format!("{} = goods {goods} + fees {fees} of {deliveries}", self.money(order.total))
    }

    /// Needs by kind of material.
    fn needs(&self) -> Vec<(&'static str, Vec<&NeedLine>)> {
        let kinds = MaterialKind::ALL.iter().map(|kind| {
            let lines: Vec<&NeedLine> = self.order.needs.iter().filter(|need| need.kind == *kind).collect();
            (kind.label(), lines)
        });
        kinds.filter(|(_, lines)| !lines.is_empty()).collect()
    }

    fn cells(&self, need: &NeedLine) -> String {
        let mut by_event: Vec<(usize, i64)> = Vec::new();
        for part in &need.parts {
            match by_event.last_mut().filter(|(event, _)| *event == part.event) {
                Some((_, stems)) => *stems += part.stems,
                None => by_event.push((part.event, part.stems)),
            }
        }
        let words = by_event.iter().map(|(event, stems)| format!("{} {stems}", self.event(*event)));
        words.collect::<Vec<_>>().join(", ")
    }

    fn stands_in(&self, cell: &NeedCell) -> String {
        if cell.substitutes.is_empty() {
            return String::new();
        }
        format!(" May be replaced by {}.", cell.substitutes.join(" or "))
    }

    fn line_shares(&self, line: &OrderLine) -> String {
        let shares = line.by_event.iter().map(|share| {
            format!("{} {} ({} stems)", self.event(share.event), self.money(share.goods), share.stems)
        });
        format!(
            "{} = {} × {}; {}",
            self.money(line.goods),
            line.packs,
            self.money(line.price),
            shares.collect::<Vec<_>>().join(", ")
        )
    }

    /// Need and spares of what a line's stems serve, with each event's window.
    fn line_needs(&self, line: &OrderLine) -> Vec<String> {
        let own = self.order.needs.iter().filter(|need| {
            need.material == line.material
                || need.parts.iter().any(|part| part.substitutes.contains(&line.name))
        });
        own.map(|need| {
            let windows =
                need.parts.iter().map(|cell| format!("{}: it {}", self.event(cell.event), cell.window));
            format!("{}: {}. {}.", need.name, need.working, windows.collect::<Vec<_>>().join("; "))
        })
        .collect()
    }

    fn why_path(&self, line: &OrderLine, delivery: &OrderDelivery) -> String {
        why_path(&self.asked, line.offer, delivery.day)
    }

    fn pins(&self) -> Vec<String> {
        self.asked.pins.list.iter().map(ToString::to_string).collect()
    }

    fn let_go_path(&self, choice: &PinnedChoice) -> String {
        address("/stem-order", &Asked { pins: self.asked.pins.but(choice.pin), ..self.asked.clone() })
    }

    fn free_path(&self) -> String {
        address("/stem-order", &Asked { pins: Pins::default(), ..self.asked.clone() })
    }

    fn let_go(&self, choice: &PinnedChoice) -> String {
        choice.let_go.words(&self.shell.formats)
    }

    /// What all choices made by hand cost.
    fn pinned_sentence(&self) -> String {
        let missing = self.order.missing();
        let sentence = self.pinned.sentence(missing, self.order.proven, &self.shell.formats);
        sentence.unwrap_or_default()
    }

    fn covered(&self) -> bool {
        self.changed.as_ref().is_some_and(|changed| changed.covered)
    }

    /// What the top-up costs once waived fees are taken off.
    fn top_up(&self) -> Money {
        self.order.total - self.changed.as_ref().map_or(Money::ZERO, |changed| changed.waived)
    }

    fn differing(&self) -> Vec<&Row> {
        self.changed.iter().flat_map(|changed| &changed.rows).filter(|row| row.differs()).collect()
    }

    fn as_ordered(&self) -> Vec<&Row> {
        self.changed.iter().flat_map(|changed| &changed.rows).filter(|row| !row.differs()).collect()
    }

    fn as_ordered_words(&self) -> String {
        count(self.as_ordered().len(), "material is as it was ordered", "materials are as they were ordered")
    }

    fn fewer(&self) -> String {
        fewer_words(&self.fewer, |amount| self.money(amount))
    }

    fn fewer_path(&self) -> String {
        address("/stem-order/one-fewer", &self.asked)
    }

    fn picture(&self, line: &CuttingLine) -> Picture {
        picture(line, self.shell.formats)
    }

    fn pattern(&self, pattern: &CutPattern) -> String {
        pattern.words(&self.shell.formats)
    }

    fn waste(&self, pattern: &CutPattern) -> String {
        self.shell.formats.length(pattern.waste)
    }

    /// What ordering together saves, in a sentence; none where it cannot be told.
    fn saving(&self) -> Option<String> {
        let pooling = &self.order.pooling;
        if !pooling.comparable() {
            return None;
        }
        let sure =
            if pooling.alone.iter().all(|alone| alone.proven) && self.order.proven { "" } else { "about " };
        let packs = pooling.packs() - self.order.packs();
        let fees = pooling.fees() - self.order.fees;
        Some(format!(
            "Ordering together saves {sure}{}: the same stems ordered event by event would cost {}, with {} in fees. That is {} and {} in fees.",
            self.money(self.order.saved()),
            self.money(pooling.total()),
            self.money(pooling.fees()),
            difference(packs),
            if fees < Money::ZERO {
                format!("{} more", self.money(-fees))
            } else {
                format!("{} less", self.money(fees))
            },
        ))
    }

    /// How the best order from one supplier compares.
    fn one_supplier(&self) -> String {
        let Some(single) = &self.order.pooling.single else { return self.order.pooling.no_single.clone() };
        let more = single.total - self.order.total;
        let most = if single.proven { "" } else { "at most " };
        if more.is_zero() {
            return format!("All from one supplier, {}: nothing is cheaper.", single.name);
        }
        format!(
            "All from one supplier, {}, would cost {most}{}, {} more.",
            single.name,
            self.money(single.total),
            self.money(more)
        )
    }

    fn cautions(&self) -> Vec<Caution> {
        self.order.cautions().list()
    }

    fn short_loans(&self) -> bool {
        self.order.loans.iter().any(|loan| loan.shortfall > 0)
    }

    fn keeps_until(&self, line: &StockLine) -> String {
        line.keeps_until.map(|day| self.shell.weekday(day)).unwrap_or_default()
    }

    /// Where what this order needs is counted.
    fn count_path(&self) -> String {
        address("/stock/count", &self.asked)
    }

    /// Once for exactly what the page shows.
    fn stock_key(&self) -> String {
        once_key(&self.order)
    }
}

fn count(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

fn difference(packs: i64) -> String {
    match packs {
        0 => "as many packs".into(),
        1 => "1 pack fewer".into(),
        -1 => "1 pack more".into(),
        fewer if fewer > 0 => format!("{fewer} packs fewer"),
        more => format!("{} packs more", -more),
    }
}
