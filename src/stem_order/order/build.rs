//! From a plan to the order: numbers become materials, suppliers, days and words, and costs are shared out.

use std::collections::BTreeMap;

use super::cutting_line::cutting_lines;
use super::from_stock::{from_stock, hand_working};
use super::pooling::pooling;
use super::reasons::{Reasons, Sold};
use super::shares::{event_shares, line_shares};
use super::warnings::warnings;
use super::{LoanLine, NeedCell, NeedLine, OrderDelivery, OrderEvent, OrderLine, StemOrder, UnmetNeed};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::ground::money::Money;
use crate::price_list::Supplier;
use crate::stem_order::buying_plan::{Plan, PlannedDelivery, Problem, Source};
use crate::stem_order::calendar::{Deliveries, LocalTime, moves_cut_off, order_by};
use crate::stem_order::posed::{Market, Posed, day};
use crate::stem_order::weekend::{MaterialNeed, NeedPart, Weekend};

/// Everything an order is told from, beside the plan.
#[derive(Debug, Clone, Copy)]
pub struct Planned<'a> {
    /// The need.
    pub weekend: &'a Weekend,
    /// What could be bought.
    pub market: &'a Market,
    /// Who sells the materials at all, whatever the day.
    pub sold: &'a [Sold],
    /// Which deliveries might be used.
    pub asked: Deliveries,
    /// When it was planned.
    pub now: LocalTime,
    /// How the studio writes.
    pub formats: &'a Formats,
}

/// The order of a plan. `solve` plans the comparisons: each event by itself, each supplier by itself.
#[must_use]
pub fn order(
    planned: &Planned<'_>,
    posed: &Posed,
    plan: &Plan,
    solve: &mut dyn FnMut(&Problem) -> Plan,
) -> StemOrder {
    let events = planned.weekend.events.iter().map(|booked| OrderEvent {
        id: booked.event.id,
        name: booked.event.name.clone(),
        day: booked.event.day,
        client: booked.event.client_name.clone(),
    });
    let events: Vec<OrderEvent> = events.collect();
    let builder = Builder { planned, posed, plan, taken: taken(planned, posed, plan) };
    let deliveries: Vec<OrderDelivery> = plan.deliveries.iter().filter_map(|d| builder.delivery(d)).collect();
    let shares = event_shares(events.len(), &deliveries);
    let (needs, loans) = (builder.needs(), builder.loans());
    let fees = deliveries.iter().map(|delivery| delivery.fee).sum();
    let total: Money = deliveries.iter().map(|delivery| delivery.total).sum();
    let mut order = StemOrder {
        currency: planned.formats.currency.code(),
        goods: deliveries.iter().map(|delivery| delivery.goods).sum(),
        fees,
        total,
        at_least: total - Money::from_minor(plan.cost - plan.lower_bound),
        proven: plan.proven,
        ties_settled: plan.ties_settled,
        unmet: builder.unmet(),
        warnings: warnings(planned, posed, plan.fault.as_deref(), &deliveries),
        pooling: super::Pooling::default(),
        cutting: cutting_lines(planned.weekend, planned.formats),
        from_stock: from_stock(planned, posed, plan),
        events,
        needs,
        loans,
        deliveries,
        shares,
    };
    // A top-up is ordered as it stands: what it would be by itself says nothing.
    if !posed.tops_up() {
        order.pooling = pooling(planned, posed, plan, order.total, solve);
    }
    order
}

/// Stems that each event takes, by delivery (supplier's place, day) and material.
type Taken = BTreeMap<(usize, Day, MaterialId), Vec<i64>>;

fn taken(planned: &Planned<'_>, posed: &Posed, plan: &Plan) -> Taken {
    let mut taken = Taken::new();
    for share in &plan.allocation {
        let Source::Delivery(supplier, date) = share.source else { continue };
        let Some(material) = posed.materials.get(&share.material) else { continue };
        let want = &posed.wants[share.requirement];
        let event = planned.weekend.needs[want.need].parts[want.part].event;
        let by_event = taken
            .entry((supplier, day(date), *material))
            .or_insert_with(|| vec![0; planned.weekend.events.len()]);
        by_event[event] += share.stems;
    }
    taken
}

struct Builder<'a> {
    planned: &'a Planned<'a>,
    posed: &'a Posed,
    plan: &'a Plan,
    taken: Taken,
}

impl Builder<'_> {
    fn formats(&self) -> &Formats {
        self.planned.formats
    }

    fn supplier(&self, at: usize) -> Option<&Supplier> {
        self.planned.market.suppliers.get(at)
    }

    fn delivery(&self, planned: &PlannedDelivery) -> Option<OrderDelivery> {
        let supplier = self.supplier(planned.supplier)?;
        let comes = day(planned.date);
        let by = order_by(supplier, comes, &self.planned.market.closed);
        let terms = self.posed.problem.suppliers.get(planned.supplier)?;
        let beside = terms.committed.iter().any(|committed| committed.date == planned.date);
        let lines = self.lines(planned, comes);
        if beside && lines.is_empty() {
            return None;
        }
        let goods = Money::from_minor(planned.goods);
        let fee = if beside { Money::ZERO } else { Money::from_minor(planned.fee) };
        let fee_working = if beside {
            "None: it comes with what was ordered before for that day.".to_owned()
        } else {
            self.fee_working(supplier, goods)
        };
        Some(OrderDelivery {
            supplier: supplier.id,
            name: supplier.name.clone(),
            account: supplier.account.clone(),
            contact: supplier.contact.clone(),
            email: supplier.email.clone(),
            phone: supplier.phone.clone(),
            day: comes,
            order_by_day: by.day,
            order_by_time: by.time,
            order_by_note: self.order_by_note(supplier, comes),
            cutoff_passed: by < self.planned.now,
            lines,
            goods,
            fee,
            fee_working,
            total: goods + fee,
            // What comes anyway has come to the least order.
            least_order: if beside { Money::ZERO } else { supplier.least_order },
        })
    }

    /// `closed on Thu 14 May 2026: Ascension Day`, where that moves the cut-off.
    fn order_by_note(&self, supplier: &Supplier, comes: Day) -> String {
        let closed = moves_cut_off(supplier, comes, &self.planned.market.closed);
        closed.map_or(String::new(), |closed| {
            format!("earlier than usual, closed {}: {}", closed.days(self.formats()), closed.name)
        })
    }

    fn fee_working(&self, supplier: &Supplier, goods: Money) -> String {
        let money = |amount| self.formats().money(amount);
        match supplier.fee_waived_over {
            Some(over) if goods >= over => {
                format!("{} is waived: goods of {} or more", money(supplier.delivery_fee), money(over))
            }
            Some(over) => {
                format!("{} a delivery, waived from {} of goods", money(supplier.delivery_fee), money(over))
            }
            None => format!("{} a delivery", money(supplier.delivery_fee)),
        }
    }

    fn lines(&self, delivery: &PlannedDelivery, comes: Day) -> Vec<OrderLine> {
        let id = self.supplier(delivery.supplier).map(|supplier| supplier.id);
        let packs = self.plan.packs.iter().filter(|line| line.date == delivery.date);
        let mut lines: Vec<OrderLine> = packs
            .filter(|line| Some(self.posed.offers[line.offer].supplier_id) == id)
            .filter_map(|line| self.line(delivery.supplier, comes, line.offer, line.packs))
            .collect();
        lines.sort_by_cached_key(|line| (line.name.to_lowercase(), line.pack_size, line.price));
        let mut seen = Vec::new();
        for at in 0..lines.len() {
            let material = lines[at].material;
            if seen.contains(&material) {
                continue;
            }
            seen.push(material);
            let bought: i64 =
                lines.iter().filter(|line| line.material == material).map(|line| line.stems).sum();
            let used: i64 = self.taken(delivery.supplier, comes, material).iter().sum();
            lines[at].left_over = bought - used;
        }
        lines
    }

    fn taken(&self, supplier: usize, comes: Day, material: MaterialId) -> Vec<i64> {
        let none = || vec![0; self.planned.weekend.events.len()];
        self.taken.get(&(supplier, comes, material)).cloned().unwrap_or_else(none)
    }

    fn line(&self, supplier: usize, comes: Day, offer: usize, packs: i64) -> Option<OrderLine> {
        let offer = &self.posed.offers[offer];
        let material = self.planned.weekend.material(offer.material_id)?;
        let goods = offer.price.times(packs);
        let taken = self.taken(supplier, comes, material.id);
        Some(OrderLine {
            offer: offer.id,
            material: material.id,
            name: material.name.clone(),
            colour: material.colour.clone(),
            grade: material.grade.clone(),
            unit: material.unit,
            pack_name: offer.pack_name.clone(),
            pack_size: offer.pack_size,
            packs,
            stems: packs.saturating_mul(offer.pack_size),
            price: offer.price,
            goods,
            by_event: line_shares(goods, &taken, &self.wanted(material.id)),
            left_over: 0,
            cautions: material.cautions,
        })
    }

    /// Stems that each event would take of a material.
    fn wanted(&self, material: MaterialId) -> Vec<i64> {
        let mut wanted = vec![0; self.planned.weekend.events.len()];
        for want in &self.posed.wants {
            if want.accepts.iter().any(|(accepted, _)| *accepted == material) {
                wanted[self.planned.weekend.needs[want.need].parts[want.part].event] += want.stems;
            }
        }
        wanted
    }

    fn needs(&self) -> Vec<NeedLine> {
        let weekend = self.planned.weekend;
        let needs = weekend.needs.iter().enumerate();
        needs.filter_map(|(at, need)| self.need(at, need)).collect()
    }

    fn need(&self, at: usize, need: &MaterialNeed) -> Option<NeedLine> {
        let material = self.planned.weekend.material(need.material).filter(|material| !material.loaned)?;
        let served = self.served(at);
        let sum = |which: &dyn Fn(&Source) -> bool| -> i64 {
            served.iter().filter(|((source, _), _)| which(source)).map(|(_, stems)| stems).sum()
        };
        let placed = |source: &Source| matches!(source, Source::Stock(at) if *at >= self.posed.placed_from);
        let from_placed = sum(&placed);
        let from_hand = sum(&|source| matches!(source, Source::Stock(_)) && !placed(source));
        let from_packs = sum(&|source| matches!(source, Source::Delivery(..)));
        let missing = need.total() - from_hand - from_placed - from_packs;
        Some(NeedLine {
            material: material.id,
            name: material.name.clone(),
            kind: material.kind,
            unit: material.unit,
            need: need.need,
            spare: need.spare.count,
            from_hand,
            from_placed,
            from_packs,
            missing,
            need_working: need.need_working(material, self.formats()),
            working: need.working(self.formats()),
            hand_working: hand_working(self.planned, need),
            served_working: self.served_working(&served, missing),
            parts: need.parts.iter().map(|part| self.cell(part)).collect(),
            cautions: material.cautions,
        })
    }

    /// Where the stems of a need come from, and of which material.
    fn served(&self, need: usize) -> BTreeMap<(Source, MaterialId), i64> {
        let mut served = BTreeMap::new();
        for share in &self.plan.allocation {
            if let (true, Some(material)) =
                (self.posed.wants[share.requirement].need == need, self.posed.materials.get(&share.material))
            {
                *served.entry((share.source, *material)).or_default() += share.stems;
            }
        }
        served
    }

    fn served_working(&self, served: &BTreeMap<(Source, MaterialId), i64>, missing: i64) -> String {
        let mut words: Vec<String> = served
            .iter()
            .map(|((source, material), stems)| {
                let name = self.planned.weekend.material(*material).map_or("?", |material| &material.name);
                let from = match source {
                    Source::Stock(at) => self.posed.placed_lot(*at).map_or("on hand".to_owned(), |lot| {
                        format!("ordered from {}, {}", lot.from, self.formats().weekday(lot.day))
                    }),
                    Source::Delivery(supplier, date) => {
                        let supplier = self.supplier(*supplier).map_or("?", |supplier| &supplier.name);
                        format!("from {supplier}, {}", self.formats().weekday(day(*date)))
                    }
                };
                format!("{stems} {name} {from}")
            })
            .collect();
        if missing > 0 {
            words.push(format!("{missing} not to be had"));
        }
        words.join("; ")
    }

    fn cell(&self, part: &NeedPart) -> NeedCell {
        let weekend = self.planned.weekend;
        let names = part.substitutes.iter().filter_map(|id| weekend.material(*id));
        NeedCell {
            event: part.event,
            stems: part.stems,
            working: part.working(&weekend.book, self.formats()),
            window: match &part.window {
                Ok(window) => window.working(self.formats()),
                Err(empty) => empty.sentence(self.formats()),
            },
            substitutes: names.map(|material| material.name.clone()).collect(),
        }
    }

    fn loans(&self) -> Vec<LoanLine> {
        let weekend = self.planned.weekend;
        let loaned = weekend.needs.iter().filter_map(|need| {
            let material = weekend.material(need.material).filter(|material| material.loaned)?;
            Some(LoanLine {
                material: material.id,
                name: material.name.clone(),
                need: need.need,
                owned: material.owned,
                shortfall: need.shortfall(material),
            })
        });
        loaned.collect()
    }

    fn unmet(&self) -> Vec<UnmetNeed> {
        let Planned { weekend, market, sold, asked, now, formats } = *self.planned;
        let reasons = Reasons { weekend, market, sold, asked, now, formats };
        let left_out =
            self.posed.left_out.iter().map(|left| reasons.left_out(left.need, left.part, &left.cause));
        let unmet = self.plan.unmet.iter().map(|unmet| {
            let told = reasons.of(&self.posed.wants[unmet.requirement], &unmet.reason);
            UnmetNeed { stems: unmet.stems, ..told }
        });
        let mut unmet: Vec<UnmetNeed> = left_out.chain(unmet).collect();
        unmet.sort_by_key(|unmet| unmet.event);
        unmet
    }
}
