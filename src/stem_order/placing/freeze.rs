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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::money::Money;
    use crate::stem_order::order::tests::{example, ordered};
    use crate::stem_order::samples::{book, event, flower, offer, piece, recipe, stems, supplier};

    fn placing() -> Placing {
        Placing {
            once_key: "key".into(),
            placed_on: "2026-05-04".parse().unwrap(),
            recorded_at: "2026-05-04T09:00:00Z".parse().unwrap(),
            note: String::new(),
        }
    }

    /// Goods of the frozen lines, and the stems they promise an event.
    fn goods(new: &NewPlacement) -> Money {
        lines(new).map(|line| line.price.times(line.packs)).sum()
    }

    fn lines(new: &NewPlacement) -> impl Iterator<Item = &NewLine> {
        new.orders.iter().flat_map(|order| &order.deliveries).flat_map(|delivery| &delivery.lines)
    }

    fn promised(new: &NewPlacement, event: i64) -> i64 {
        let shares = lines(new).flat_map(|line| &line.shares);
        shares.filter(|share| share.event_id == EventId(event)).map(|share| share.stems).sum()
    }

    #[test]
    fn the_whole_plan_is_frozen_with_its_money_and_shares() {
        let order = example();
        let new = whole_placement(&order, placing());
        let [only] = new.orders.as_slice() else { panic!("{new:?}") };
        assert_eq!(
            (only.supplier.as_str(), only.events.as_slice()),
            ("B", [EventId(1), EventId(2)].as_slice())
        );
        assert_eq!((goods(&new), only.deliveries[0].fee), (order.goods, order.fees));
        assert_eq!((promised(&new, 1), promised(&new, 2)), (61 + 33, 92 + 44 + 57));
        for line in lines(&new) {
            assert_eq!(
                line.shares.iter().map(|share| share.goods).sum::<Money>(),
                line.price.times(line.packs)
            );
        }
        let rose = lines(&new).find(|line| line.name == "Rose").unwrap();
        assert_eq!(
            rose.working,
            "153 = need 153 + 0 spare (95\u{a0}% sure that enough are good, 0\u{a0}% lost usually); 3 over, since packs are whole"
        );
    }

    #[test]
    fn only_the_chosen_suppliers_orders_are_frozen() {
        let order = example();
        assert_eq!(placement(&order, &[SupplierId(1)], placing()).orders, []);
        assert_eq!(
            placement(&order, &[SupplierId(2), SupplierId(9)], placing()),
            whole_placement(&order, placing())
        );
    }

    #[test]
    fn packs_of_two_sizes_share_what_the_events_take() {
        let (one, other) = (recipe(1, "Low", &[stems(1, 20_000)]), recipe(2, "Tall", &[stems(1, 13_000)]));
        let order = ordered(
            vec![
                (event(1, "Friday", "2026-05-15"), vec![piece(1, 1)]),
                (event(2, "Saturday", "2026-05-16"), vec![piece(2, 1)]),
            ],
            book(vec![one, other], vec![flower(1, "Rose")]),
            vec![supplier(1, "A")],
            vec![offer(1, 1, 1, 25, 2_000), offer(2, 1, 1, 10, 900)],
        );
        let new = whole_placement(&order, placing());
        let packs: Vec<(i64, i64)> = lines(&new).map(|line| (line.pack_size, line.packs)).collect();
        assert_eq!(packs, [(10, 1), (25, 1)]);
        assert_eq!((promised(&new, 1), promised(&new, 2)), (20, 13));
        assert!(lines(&new).all(|line| {
            line.shares.iter().map(|share| share.stems).sum::<i64>() <= line.packs * line.pack_size
        }));
    }
}
