//! What was ordered for an event and arrives when: derived from the placed orders, so far as anything still comes.

use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId, PlacedOrderId, SupplierId};
use crate::stem_order::placing::{PlacedDelivery, PlacedLine, PlacedOrder};

/// A delivery with stems for an event.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arrival {
    /// Of which order.
    pub order_id: PlacedOrderId,
    /// Its number, as on the paper: `N° 12`.
    pub order: String,
    /// From whom.
    pub supplier_id: SupplierId,
    /// Their name.
    pub supplier: String,
    /// When it comes.
    pub day: Day,
    /// What comes with it for the event.
    pub materials: Vec<MaterialId>,
}

/// What was ordered for an event, by day.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Arrivals(pub Vec<Arrival>);

impl Arrivals {
    /// What these orders bring for an event.
    #[must_use]
    pub fn of(event: EventId, orders: &[PlacedOrder]) -> Arrivals {
        let mut arrivals: Vec<Arrival> = Vec::new();
        for order in orders {
            let deliveries = order.deliveries.iter().map(|delivery| (delivery, materials(event, delivery)));
            for (delivery, materials) in deliveries.filter(|(_, materials)| !materials.is_empty()) {
                arrivals.push(Arrival {
                    order_id: order.id,
                    order: order.name(),
                    supplier_id: order.supplier_id,
                    supplier: order.supplier.clone(),
                    day: delivery.day,
                    materials,
                });
            }
        }
        arrivals.sort_by_key(|arrival| arrival.day);
        Arrivals(arrivals)
    }

    /// Whether a material need not be ordered from a supplier any more: it comes, or an order was placed with them.
    #[must_use]
    pub fn cover(&self, material: MaterialId, supplier: Option<SupplierId>) -> bool {
        let covers = |arrival: &Arrival| {
            Some(arrival.supplier_id) == supplier || arrival.materials.contains(&material)
        };
        self.0.iter().any(covers)
    }

    /// The first that is still to come.
    #[must_use]
    pub fn next(&self, today: Day) -> Option<&Arrival> {
        self.0.iter().find(|arrival| arrival.day >= today)
    }
}

/// What a delivery brings for an event.
fn materials(event: EventId, delivery: &PlacedDelivery) -> Vec<MaterialId> {
    let brings = |line: &&PlacedLine| {
        line.expected_shares().iter().any(|share| share.event_id == event && share.stems > 0)
    };
    delivery.lines.iter().filter(brings).map(|line| line.material_id).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stem_order::placing::AnswerKind;
    use crate::stem_order::samples::{answered, placed_line, placed_order};

    #[test]
    fn an_event_gets_what_is_shared_with_it_and_still_comes() {
        let order = placed_order(vec![placed_line(10, &[(1, 60)])]);
        let arrivals = Arrivals::of(EventId(1), std::slice::from_ref(&order));
        let day = "2026-05-14".parse().unwrap();
        assert_eq!(arrivals.next(day).map(|arrival| arrival.order.as_str()), Some("N°\u{a0}12"));
        assert_eq!(arrivals.next(day.plus(1)), None);
        assert!(arrivals.cover(MaterialId(1), None) && arrivals.cover(MaterialId(7), Some(SupplierId(1))));
        assert!(!arrivals.cover(MaterialId(7), Some(SupplierId(2))));
        assert_eq!(Arrivals::of(EventId(2), &[order]), Arrivals::default());
        let gone = placed_order(vec![answered(placed_line(10, &[(1, 60)]), AnswerKind::Cancelled, 0, 500)]);
        assert_eq!(Arrivals::of(EventId(1), &[gone]), Arrivals::default());
    }
}
