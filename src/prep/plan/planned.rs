//! Deliveries of the stem order, told by the pieces they serve: as it is planned, or, once orders are placed, as they come.

mod placed;

pub use placed::placed;

use super::{Delivery, OrderedPlan, Pack, Serves, StockTaken, Unmet};
use crate::ground::dates::Day;
use crate::ground::ids::MaterialId;
use crate::stem_order::order::{OrderDelivery, OrderLine, StemOrder};
use crate::stem_order::weekend::{NeedPart, Weekend};

/// What an order has delivered of fresh material, line by line, whole packs; and what it could not have.
#[must_use]
pub fn ordered(order: &StemOrder, weekend: &Weekend) -> OrderedPlan {
    let lines =
        order.deliveries.iter().flat_map(|delivery| delivery.lines.iter().map(move |line| (delivery, line)));
    let deliveries = lines.map(|(delivery, line)| delivered(weekend, delivery, line)).collect();
    let unmet = order.unmet.iter().map(|unmet| Unmet {
        material: unmet.material,
        event: unmet.event,
        stems: unmet.stems,
        sentence: format!("{} of {}: {} {}", unmet.stems, unmet.name, unmet.why, unmet.mend),
    });
    let from_stock = order.from_stock.lines.iter().map(|line| StockTaken {
        lot: line.lot,
        material: line.material,
        arrived: line.arrived_on,
        stems: line.count,
        serves: served(weekend, line.event, line.material, line.arrived_on),
    });
    let from_stock = from_stock.collect();
    OrderedPlan { deliveries, unmet: unmet.collect(), from_stock, open: Vec::new() }
}

fn delivered(weekend: &Weekend, delivery: &OrderDelivery, line: &OrderLine) -> Delivery {
    let pack = Pack { name: line.pack_name.clone(), size: line.pack_size };
    let taking = line.by_event.iter().filter(|share| share.stems > 0);
    Delivery {
        material: line.material,
        day: delivery.day,
        stems: line.stems,
        over: line.left_over.clamp(0, line.stems),
        packs: Some((line.packs, pack)),
        supplier: Some(delivery.name.clone()),
        serves: taking.flat_map(|share| served(weekend, share.event, line.material, delivery.day)).collect(),
        note: String::new(),
    }
}

/// The parts of an event's need that a delivery of the material on the day may serve: those whose window it keeps,
/// or all of them if it keeps none.
fn served(weekend: &Weekend, event: usize, material: MaterialId, day: Day) -> Vec<Serves> {
    let needs =
        weekend.needs.iter().flat_map(|need| need.parts.iter().map(move |part| (need.material, part)));
    let parts: Vec<(MaterialId, &NeedPart)> = needs
        .filter(|(wanted, part)| {
            part.event == event && (*wanted == material || part.substitutes.contains(&material))
        })
        .collect();
    let in_window = |part: &NeedPart| part.window.as_ref().is_ok_and(|window| window.holds(day));
    let any = parts.iter().any(|(_, part)| in_window(part));
    let fitting = parts.into_iter().filter(|(_, part)| !any || in_window(part));
    fitting.map(|(wanted, part)| Serves::part(wanted, part)).collect()
}
