//! Deliveries of the stem order, told by the pieces they serve: as it is planned, or, once orders are placed, as they come.

mod placed;

pub use placed::placed;

use std::collections::BTreeMap;

use super::{Delivery, OrderedPlan, Pack, Serves, StockTaken, Unmet};
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::stem_order::change::arriving::{Arriving, UseFrom};
use crate::stem_order::order::{OrderDelivery, OrderLine};
use crate::stem_order::weekend::{NeedPart, Weekend};

/// What an order has delivered, line by line, whole packs, each for the pieces that its plan gives them to; what it takes
/// from stock; and what it could not have.
#[must_use]
pub fn ordered(arriving: &Arriving) -> OrderedPlan {
    let order = &arriving.order;
    let lines =
        order.deliveries.iter().flat_map(|delivery| delivery.lines.iter().map(move |line| (delivery, line)));
    let unmet = order.unmet.iter().map(|unmet| Unmet {
        material: unmet.material,
        event: unmet.event,
        stems: unmet.stems,
        sentence: format!("{} of {}: {} {}", unmet.stems, unmet.name, unmet.why, unmet.mend),
    });
    let from_stock = order.from_stock.lines.iter().map(|line| {
        let mut serves = serves(arriving, line.material, UseFrom::OnHand);
        serves.retain(|one| one.event == line.event);
        StockTaken {
            lot: line.lot,
            material: line.material,
            arrived: line.arrived_on,
            stems: line.count,
            serves,
        }
    });
    OrderedPlan {
        deliveries: lines.map(|(delivery, line)| delivered(arriving, delivery, line)).collect(),
        unmet: unmet.collect(),
        from_stock: from_stock.collect(),
        open: Vec::new(),
    }
}

fn delivered(arriving: &Arriving, delivery: &OrderDelivery, line: &OrderLine) -> Delivery {
    let pack = Pack { name: line.pack_name.clone(), size: line.pack_size };
    Delivery {
        material: line.material,
        day: delivery.day,
        stems: line.stems,
        over: line.left_over.clamp(0, line.stems),
        packs: Some((line.packs, pack)),
        supplier: Some(delivery.name.clone()),
        supplier_id: Some(delivery.supplier),
        open: false,
        serves: serves(arriving, line.material, UseFrom::Planned(delivery.supplier, delivery.day)),
        note: String::new(),
    }
}

/// The pieces that stems of a material from somewhere serve, each once.
fn serves(arriving: &Arriving, material: MaterialId, from: UseFrom) -> Vec<Serves> {
    let mut own: BTreeMap<(usize, MaterialId, Vec<RecipeId>), Serves> = BTreeMap::new();
    for (wanted, part) in arriving.served_by(material, from) {
        let one = Serves::part(wanted, part);
        own.entry((one.event, one.material, one.recipes.clone())).or_insert(one);
    }
    own.into_values().collect()
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
