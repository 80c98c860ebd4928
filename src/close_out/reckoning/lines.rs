//! The cost lines: materials, what was lent and broke, wholesalers' fees, what was typed.
//!
//! May import: `rust_decimal`, plain values of the stages before and of this room.

use std::collections::{BTreeSet, HashMap};

use rust_decimal::Decimal;

use super::{Part, Read};
use crate::close_out::figures::Line;
use crate::close_out::materials::{Called, FromStock, fee_part};
use crate::close_out::variance::Amount;
use crate::close_out::{Kind, OtherCost};
use crate::ground::choice::Choice;
use crate::ground::ids::{EventId, MaterialId};
use crate::ground::money::Money;
use crate::price_list::UnitCost;
use crate::pull_list::loans;
use crate::stem_order::placing::{PlacedDelivery, PlacedOrder};

impl Read<'_> {
    pub(super) fn material_lines(&self, parts: &[Part], [quoted, planned, now]: [&Called; 3]) -> Vec<Line> {
        let ids: BTreeSet<MaterialId> = parts
            .iter()
            .map(|part| part.material)
            .chain(self.stock.iter().map(|used| used.material))
            .chain([quoted, planned].iter().flat_map(|called| called.materials.keys().copied()))
            .collect();
        let mut lines: Vec<(String, Line)> = Vec::new();
        for id in ids {
            let Some(material) = self.material(id) else { continue };
            let own: Vec<&Part> = parts.iter().filter(|part| part.material == id).collect();
            let stock: Vec<&FromStock> = self.stock.iter().filter(|used| used.material == id).collect();
            let of = |called: &Called| called.materials.get(&id).copied().unwrap_or_default();
            let (from_book, mut working) = self.bought_or_taken(&own, &stock);
            let from_book = from_book.map(|held| {
                let Some(share) = self.unheld_share(id, parts, now) else { return held };
                working.push_str(" No order or stock holds the rest: it stands as the recipes call for.");
                (held.0.and(of(planned).part(share)), held.1.and(of(now).part(share)))
            });
            let (was_planned, was_actual) = from_book.unwrap_or_else(|| {
                working = "No order holds it: planned and actual are what the recipes call for, at the price of the \
                    quote's day and of the event's."
                    .into();
                (of(planned), of(now))
            });
            let line = Line {
                kind: Kind::of(material),
                what: material.name.clone(),
                unit: material.unit.code().to_owned(),
                quoted: of(quoted),
                planned: was_planned,
                actual: was_actual,
                working,
            };
            lines.push((material.name.to_lowercase(), line));
        }
        lines.sort_by(|a, b| (a.1.kind, &a.0).cmp(&(b.1.kind, &b.0)));
        lines.into_iter().map(|(_, line)| line).collect()
    }

    /// What was bought and taken from stock, planned and actual, with its working; nothing where neither is.
    fn bought_or_taken(&self, parts: &[&Part], stock: &[&FromStock]) -> (Option<(Amount, Amount)>, String) {
        let mut said = Vec::new();
        let (mut planned, mut actual) = (Amount::NONE, Amount::NONE);
        for part in parts {
            planned = planned.and(part.bought.planned);
            actual = actual.and(part.bought.actual);
            said.push(self.part_words(part));
        }
        for used in stock {
            let usual = |costs: &HashMap<MaterialId, UnitCost>| costs.get(&used.material).map(UnitCost::each);
            let paid = used.paid.map(|(price, size)| price.decimal() / Decimal::from(size.max(1)));
            let each = paid.or_else(|| usual(&self.costs[1])).unwrap_or_default();
            let amount = Amount::whole(used.count, Money::rounded(each * Decimal::from(used.count)));
            planned = planned.and(amount);
            actual = actual.and(amount);
            let at = if paid.is_some() { "at what was paid for it" } else { "at the price list's price" };
            said.push(format!("{} from stock, {at}.", used.count));
        }
        ((!said.is_empty()).then_some((planned, actual)), said.join(" "))
    }

    fn part_words(&self, part: &Part) -> String {
        let formats = self.studio.formats;
        let Part { line, became, bought, .. } = part;
        let placed = format!(
            "{}: its part of {} × {} at {}",
            part.order,
            line.packs,
            line.pack_name,
            formats.money(line.price)
        );
        let answered = line
            .answer
            .as_ref()
            .map(|answer| format!(", {} confirmed at {}", answer.packs, formats.money(answer.price)));
        let came = match became.counted {
            Some((good, lost)) => format!("; {good} came good, {lost} lost"),
            None => "; not counted in, it stands as confirmed".into(),
        };
        let left = match became.left {
            Some((stocked, thrown)) => format!("; left over: {stocked} into stock, {thrown} thrown away"),
            None if self.is_fresh(part.material) && became.counted.is_some() => {
                "; nobody said what was left over".into()
            }
            None => String::new(),
        };
        let answered = answered.unwrap_or_default();
        let own = formats.quantity(bought.actual.quantity);
        format!("{placed}{answered}{came}{left}. Its part: {own}.")
    }

    /// What was lent and did not come back whole, at what one costs.
    pub(super) fn breakage(&self) -> Vec<Line> {
        let lines = self.loans.iter().flat_map(|count| &count.lines).filter(|line| line.lost() > 0);
        let line = |line: &loans::CountedLine| {
            let material = self.material(line.material)?;
            let each = self.costs[1].get(&line.material).map(UnitCost::each).unwrap_or_default();
            Some(Line {
                kind: Kind::Hire,
                what: format!("{}, broken or missing", material.name),
                unit: material.unit.code().to_owned(),
                quoted: Amount::NONE,
                planned: Amount::NONE,
                actual: Amount::whole(line.lost(), Money::rounded(each * Decimal::from(line.lost()))),
                working: format!(
                    "{} broken, {} missing, at the price of a new one on the event's day. What the client is charged for it is income.",
                    line.broken, line.missing
                ),
            })
        };
        lines.filter_map(line).collect()
    }

    /// Its part of what suppliers take for delivering.
    pub(super) fn fees(&self) -> Vec<Line> {
        let deliveries = self
            .orders
            .iter()
            .flat_map(|order| order.deliveries.iter().map(move |delivery| (order, delivery)));
        let line = |(order, delivery): (&PlacedOrder, &PlacedDelivery)| {
            let goods = |expected: bool| -> Vec<(EventId, Money)> {
                let of = |event: &EventId| {
                    let shares = delivery
                        .lines
                        .iter()
                        .flat_map(|line| if expected { line.expected_shares() } else { line.shares.clone() });
                    let own = shares.filter(|share| share.event_id == *event).map(|share| share.goods);
                    (*event, own.sum())
                };
                order.events.iter().map(of).collect()
            };
            let planned = fee_part(delivery.fee, &goods(false), self.event.id);
            let actual = fee_part(delivery.expected_fee(), &goods(true), self.event.id);
            let count = |fee: Money| i64::from(!fee.is_zero());
            (planned + actual > Money::ZERO).then(|| Line {
                kind: Kind::Wholesale,
                what: format!("{}, {}", delivery.supplier, self.studio.formats.weekday(delivery.day)),
                unit: String::new(),
                quoted: Amount::NONE,
                planned: Amount::whole(count(planned), planned),
                actual: Amount::whole(count(actual), actual),
                working: format!(
                    "{}: its part of {}, by what each event of the order pays of the goods.",
                    order.name(),
                    self.studio.formats.money(delivery.fee)
                ),
            })
        };
        deliveries.filter_map(line).collect()
    }

    pub(super) fn typed_costs(&self) -> Vec<Line> {
        let count = |amount: Money| i64::from(!amount.is_zero());
        let line = |cost: &OtherCost| Line {
            kind: cost.kind.kind(),
            what: cost.what.clone(),
            unit: String::new(),
            quoted: Amount::NONE,
            planned: Amount::whole(count(cost.planned), cost.planned),
            actual: Amount::whole(count(cost.amount), cost.amount),
            working: "As typed.".into(),
        };
        self.typed.costs.iter().map(line).collect()
    }
}
