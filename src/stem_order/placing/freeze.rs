//! From the plan on the page to what is placed: chosen suppliers' deliveries, each line with its price, the words of its
//! need and the stems that are meant for each event.
//!
//! May import `ground` and the stage's own order.

use super::shares::by_line;
use super::{NewDelivery, NewLine, NewOrder, NewPlacement, PlacedShare};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, MaterialId, SupplierId};
use crate::stem_order::order::{NeedLine, OrderDelivery, OrderLine, StemOrder};

/// When and under which key an order is placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placing {
    /// Sent twice, placed once.
    pub once_key: String,
    /// The day.
    pub placed_on: Day,
    /// The moment.
    pub recorded_at: Moment,
    /// What is added in words.
    pub note: String,
}

/// The plan's orders to these suppliers, frozen. Suppliers of whom nothing is bought are left out.
#[must_use]
pub fn placement(order: &StemOrder, suppliers: &[SupplierId], placing: Placing) -> NewPlacement {
    let Placing { once_key, placed_on, recorded_at, note } = placing;
    let planned = order.suppliers().into_iter().filter(|(id, _)| suppliers.contains(id));
    let orders = planned.filter_map(|(id, _)| supplier_order(order, id)).collect();
    NewPlacement { once_key, placed_on, recorded_at, note, orders }
}

/// The plan's orders to all its suppliers, frozen.
#[must_use]
pub fn whole_placement(order: &StemOrder, placing: Placing) -> NewPlacement {
    let suppliers: Vec<SupplierId> = order.suppliers().into_iter().map(|(id, _)| id).collect();
    placement(order, &suppliers, placing)
}

fn supplier_order(order: &StemOrder, id: SupplierId) -> Option<NewOrder> {
    let planned = || order.deliveries.iter().filter(|delivery| delivery.supplier == id);
    let first = planned().next()?;
    let deliveries: Vec<NewDelivery> = planned().map(|delivery| new_delivery(order, delivery)).collect();
    let lines = deliveries.iter().flat_map(|delivery| &delivery.lines);
    let mut events: Vec<EventId> = lines.flat_map(|line| &line.shares).map(|share| share.event_id).collect();
    events.sort_unstable();
    events.dedup();
    Some(NewOrder {
        supplier_id: id,
        supplier: first.name.clone(),
        account: first.account.clone(),
        contact: first.contact.clone(),
        email: first.email.clone(),
        phone: first.phone.clone(),
        events,
        deliveries,
    })
}

fn new_delivery(order: &StemOrder, delivery: &OrderDelivery) -> NewDelivery {
    let mut lines: Vec<NewLine> = delivery.lines.iter().map(|line| new_line(order, line)).collect();
    for at in 0..lines.len() {
        let material = lines[at].material_id;
        let of_material = |line: &NewLine| line.material_id == material;
        if lines.iter().position(of_material) == Some(at) {
            tell_apart(&mut lines, material);
        }
    }
    NewDelivery {
        day: delivery.day,
        order_by_day: delivery.order_by_day,
        order_by_time: delivery.order_by_time,
        fee: delivery.fee,
        lines,
    }
}

/// The plan says what each event takes of a material from a delivery, all pack sizes together; here each line gets its part.
fn tell_apart(lines: &mut [NewLine], material: MaterialId) {
    let mut lines: Vec<&mut NewLine> = lines.iter_mut().filter(|line| line.material_id == material).collect();
    // Who takes any of a material is named at each of its lines.
    let Some(first) = lines.first() else { return };
    let (events, taken): (Vec<EventId>, Vec<i64>) =
        first.shares.iter().map(|share| (share.event_id, share.stems)).unzip();
    let on_lines: Vec<i64> = lines.iter().map(|line| line.packs.saturating_mul(line.pack_size)).collect();
    for (line, row) in lines.iter_mut().zip(by_line(&on_lines, &taken)) {
        for (event, stems) in events.iter().zip(row) {
            if let Some(share) = line.shares.iter_mut().find(|share| share.event_id == *event) {
                share.stems = stems;
            }
        }
        line.shares.retain(|share| share.stems > 0 || !share.goods.is_zero());
    }
}

fn new_line(order: &StemOrder, line: &OrderLine) -> NewLine {
    let shares = line.by_event.iter().filter_map(|share| {
        let event_id = order.events.get(share.event)?.id;
        Some(PlacedShare { event_id, stems: share.stems, goods: share.goods })
    });
    NewLine {
        offer_id: line.offer,
        material_id: line.material,
        name: line.name.clone(),
        looks: line.looks(),
        pack_name: line.pack_name.clone(),
        pack_size: line.pack_size,
        packs: line.packs,
        price: line.price,
        working: working(order, line),
        shares: shares.collect(),
    }
}

/// Why so many: the need for the material with its spares, or what it stands in for; and what comes with whole packs.
fn working(order: &StemOrder, line: &OrderLine) -> String {
    let own = order.needs.iter().find(|need| need.material == line.material);
    let mut words: Vec<String> = own.map_or(Vec::new(), |need| vec![need.working.clone(), from_hand(need)]);
    words.extend(order.needs.iter().filter(|need| stands_in(need, &line.name)).map(instead_of));
    if line.left_over > 0 {
        words.push(format!("{} over, since packs are whole", line.left_over));
    }
    words.retain(|words| !words.is_empty());
    words.join("; ")
}

fn from_hand(need: &NeedLine) -> String {
    if need.from_hand > 0 { format!("{} of them on hand", need.from_hand) } else { String::new() }
}

fn stands_in(need: &NeedLine, name: &str) -> bool {
    let mut substitutes = need.parts.iter().flat_map(|part| &part.substitutes);
    need.served_working.contains(name) && substitutes.any(|substitute| substitute == name)
}

fn instead_of(need: &NeedLine) -> String {
    format!("stands in for {}: {}", need.name, need.served_working)
}
